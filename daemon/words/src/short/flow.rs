//! Flow at the reference depression: a row a port, a column a lift.

use benchhand_blueprint::report::{FlowAtLift, FlowReport, Report};
use benchhand_blueprint::{Figure, Unit};

use super::averages::unit;
use super::document::FlowRows;
use crate::digits::{decimals_of, rounded, usual_decimals};
use crate::over_lift::kind_of_port;
use crate::stated::half_width;

/// A port, and its kind of runner.
type Port<'a> = (&'a str, Option<&'a str>);

/// Lifts that fit beside each other.
const MOST_LIFTS: usize = 6;

/// The means over the cylinders, and the flow of a port that only one cylinder was measured at.
fn at_lifts(report: &Report) -> Vec<FlowAtLift> {
    let mut all = report.flow_by_lift.clone();
    // Where some ports have a flow and others a ratio of pressures alone, flows are told.
    let has_flow = |one: &&FlowReport| one.flow_at_reference.is_some();
    let (flows, ratios): (Vec<_>, Vec<_>) = report.flow.iter().partition(has_flow);
    for one in flows.into_iter().chain(ratios) {
        let same = |known: &FlowAtLift| {
            (&known.port, &known.runner, known.lift.value)
                == (&one.port, &one.runner, one.lift.value)
        };
        let flow = one.flow_at_reference.as_ref().or(one.area_ratio.as_ref());
        let (Some(flow), false) = (flow, all.iter().any(same)) else {
            continue;
        };
        all.push(FlowAtLift {
            port: one.port.clone(),
            runner: one.runner.clone(),
            lift: one.lift.clone(),
            cylinders: vec![one.cylinder],
            mean: flow.clone(),
            spread: flow.clone(),
        });
    }
    let is_flow = |one: &FlowAtLift| one.mean.unit != Unit::One;
    if all.iter().any(is_flow) {
        all.retain(is_flow);
    }
    all
}

/// The most ports that are told as they were measured, each by itself.
const MOST_MEASURED: usize = 6;

/// Flow as it was measured, where none is known at a reference depression: each port by itself, as
/// each was tested at its own pressure, and what is lacking.
fn measured(report: &Report) -> Option<FlowRows> {
    let all = report.flow.iter();
    let all: Vec<(&FlowReport, &Figure)> = all
        .filter_map(|one| Some((one, one.flow.as_ref()?)))
        .collect();
    let (first, flow) = all.first()?;
    let mut lifts: Vec<f64> = all.iter().map(|(one, _)| one.lift.value).collect();
    lifts.sort_by(f64::total_cmp);
    lifts.dedup();
    let of = lifts.len();
    lifts.drain(..of.saturating_sub(MOST_LIFTS));
    let left_out = match of > MOST_LIFTS {
        true => format!(" of {of},"),
        false => String::new(),
    };
    let several = report.cylinders.len() > 1;
    let name = |one: &FlowReport| match several {
        true => format!("{}, cylinder {}", kind_of_port(one), one.cylinder),
        false => kind_of_port(one),
    };
    let mut ports: Vec<String> = Vec::new();
    for (one, _) in &all {
        if !ports.contains(&name(one)) {
            ports.push(name(one));
        }
    }
    let more = ports.len().saturating_sub(MOST_MEASURED);
    ports.truncate(MOST_MEASURED);
    let cells = |port: &str, get: fn(&FlowReport) -> Option<&Figure>| -> Vec<String> {
        let cell = |lift: &f64| {
            let mut all = all.iter();
            let found = all.find(|(one, _)| name(one) == port && one.lift.value == *lift);
            let figure = found.and_then(|(one, _)| get(one));
            figure.map_or("-".to_owned(), as_fine_as_known)
        };
        lifts.iter().map(cell).collect()
    };
    let test = all.iter().find_map(|(one, _)| one.test_pressure.as_ref());
    let mut told: Vec<(String, Vec<String>)> = Vec::new();
    for port in &ports {
        told.push((port.clone(), cells(port, |one| one.flow.as_ref())));
        if let Some(test) = test {
            let tested = cells(port, |one| one.test_pressure.as_ref());
            told.push((format!("  tested at, {}", test.unit), tested));
        }
    }
    let blank = || vec![String::new(); lifts.len()];
    if more > 0 {
        told.push((
            format!("and {more} ports more, in the long report"),
            blank(),
        ));
    }
    let lacking = match report.inputs.reference_depression {
        None => "at no reference: the engine file states none",
        Some(_) => "at no reference: a test pressure is lacking",
    };
    told.push((lacking.to_owned(), blank()));
    let lift_unit = first.lift.unit.symbol();
    let decimals = usual_decimals(lift_unit) - 1;
    Some(FlowRows {
        name: format!("Flow as measured, {}", flow.unit),
        lift: format!("lift{left_out} {lift_unit}"),
        ports: told,
        lifts: lifts.iter().map(|lift| rounded(*lift, decimals)).collect(),
    })
}

/// A figure in no finer digits than its ± bears.
fn as_fine_as_known(figure: &Figure) -> String {
    let usual = usual_decimals(figure.unit.symbol());
    let width = half_width(figure).filter(|width| *width > 0.0);
    let decimals = width.map_or(usual, |width| decimals_of(width).min(usual + 1));
    rounded(figure.value, decimals)
}

pub(super) fn rows(report: &Report) -> Option<FlowRows> {
    let all = &at_lifts(report);
    let Some(first) = all.first() else {
        return measured(report);
    };
    let mut ports: Vec<Port<'_>> = Vec::new();
    let mut lifts: Vec<f64> = Vec::new();
    for one in all {
        let port = (one.port.as_str(), one.runner.as_deref());
        if !ports.contains(&port) {
            ports.push(port);
        }
        if !lifts.contains(&one.lift.value) {
            lifts.push(one.lift.value);
        }
    }
    lifts.sort_by(f64::total_cmp);
    // The highest lifts are where a port is judged; the long report has all.
    let of = lifts.len();
    lifts.drain(..of.saturating_sub(MOST_LIFTS));
    let left_out = match of > MOST_LIFTS {
        true => format!(" of {of},"),
        false => String::new(),
    };
    let found = |port: Port<'_>, lift: f64| {
        let mut all = all.iter();
        all.find(|one| (one.port.as_str(), one.runner.as_deref()) == port && one.lift.value == lift)
    };
    let at = report.inputs.reference_depression.as_ref();
    let at = at.map_or(String::new(), |at| {
        format!(" at {} {}", rounded(at.value, 0), at.unit.symbol())
    });
    let flow = match unit(first.mean.unit.symbol()).as_str() {
        ":1" => "Flow as a ratio of areas".to_owned(),
        symbol => format!("Flow, {symbol}{at}"),
    };
    let lift_unit = first.lift.unit.symbol();
    let decimals = usual_decimals(lift_unit) - 1;
    let against = ratios(&ports, &lifts, &found);
    let told = ports.into_iter().map(|port| {
        let mut name = match port {
            (port, Some(runner)) => format!("{port} {runner}"),
            (port, None) => port.to_owned(),
        };
        let of_port = all
            .iter()
            .filter(|one| (one.port.as_str(), one.runner.as_deref()) == port);
        let mut measured: Vec<u32> = of_port
            .flat_map(|one| one.cylinders.iter().copied())
            .collect();
        measured.sort_unstable();
        measured.dedup();
        // A mean says nothing of cylinders that were not measured.
        if let ([only], true) = (&measured[..], report.cylinders.len() > 1) {
            name += &format!(", cylinder {only}");
        }
        let cells = lifts.iter().map(|lift| match found(port, *lift) {
            Some(one) => rounded(one.mean.value, usual_decimals(one.mean.unit.symbol())),
            None => "-".to_owned(),
        });
        (name, cells.collect())
    });
    Some(FlowRows {
        name: flow,
        lift: format!("lift{left_out} {lift_unit}"),
        ports: told.chain(against).collect(),
        lifts: lifts.iter().map(|lift| rounded(*lift, decimals)).collect(),
    })
}

/// What the exhaust flows of what the intake does, in percent, lift by lift; `None` where there is
/// no one of each.
fn ratios<'a>(
    ports: &[Port<'a>],
    lifts: &[f64],
    found: &impl Fn(Port<'a>, f64) -> Option<&'a FlowAtLift>,
) -> Option<(String, Vec<String>)> {
    let one_of = |kind: &str| {
        let mut all = ports.iter().filter(|(port, _)| *port == kind);
        all.next().filter(|_| all.next().is_none()).copied()
    };
    let (intake, exhaust) = (one_of("intake")?, one_of("exhaust")?);
    let cells = lifts.iter().map(|lift| {
        let both = found(exhaust, *lift).zip(found(intake, *lift));
        let both = both.filter(|(_, intake)| intake.mean.value > 0.0);
        match both {
            Some((exhaust, intake)) => rounded(100.0 * exhaust.mean.value / intake.mean.value, 0),
            None => "-".to_owned(),
        }
    });
    Some(("exhaust of intake, %".to_owned(), cells.collect()))
}
