//! Flow at the reference depression: a row a port, a column a lift.

use benchhand_blueprint::Unit;
use benchhand_blueprint::report::{FlowAtLift, FlowReport, Report};

use super::averages::unit;
use super::document::FlowRows;
use crate::digits::{rounded, usual_decimals};

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

pub(super) fn rows(report: &Report) -> Option<FlowRows> {
    let all = &at_lifts(report);
    let first = all.first()?;
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
