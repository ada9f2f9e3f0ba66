//! The flow sheet: every port over lift, by kind of runner, with its brothers and the stage before.

use askama::Template;
use benchhand_blueprint::Figure;
use benchhand_blueprint::report::{FlowAtLift, FlowReport, Report};
use benchhand_words::chart::{Chart, ChartKind, of_report};
use benchhand_words::digits::{rounded, usual_decimals};
use benchhand_words::stated::{bare, half_width};

use crate::Sheet;
use crate::facts::SheetFacts;
use crate::frame::{STYLE, SheetFrame};

#[derive(Template)]
#[template(path = "flow.html")]
struct FlowSheet<'a> {
    frame: SheetFrame<'a>,
    conditions: Vec<(&'static str, String)>,
    chart: Option<Chart>,
    kinds: Vec<Kind>,
    before: &'a str,
    corrections: Vec<&'a str>,
    cautions: &'a [String],
}

/// The ports of one kind, with one kind of runner.
struct Kind {
    name: String,
    unit: String,
    lift_unit: String,
    lifts: Vec<String>,
    rows: Vec<Row>,
    /// Mean, spread, and the stage before.
    below: Vec<Row>,
    coefficients: Vec<Coefficients>,
}

/// Coefficients by one area.
struct Coefficients {
    area: String,
    rows: Vec<Row>,
}

/// A row of a table over the lifts.
struct Row {
    /// What stands before it, e.g. a cylinder's number.
    name: String,
    /// The cells, each with its name and its text.
    cells: Vec<(String, String)>,
}

/// The flow sheet.
///
/// # Errors
/// A fault of the template.
pub fn flow(facts: &SheetFacts<'_>) -> Sheet {
    let report = facts.report;
    let before = facts.before.filter(|one| one.stage != report.stage);
    let mut corrections: Vec<&str> = Vec::new();
    for one in &report.flow {
        if !one.correction.is_empty() && !corrections.contains(&one.correction.as_str()) {
            corrections.push(&one.correction);
        }
    }
    FlowSheet {
        frame: SheetFrame::new("Flow sheet", facts),
        conditions: conditions(report),
        chart: of_report(ChartKind::Flow, report, before),
        kinds: kinds(report, before),
        before: before.map_or("", |one| &one.stage),
        corrections,
        cautions: &report.cautions,
    }
    .render()
}

/// At what the flows are stated, and what was measured around them.
fn conditions(report: &Report) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    if let Some(reference) = &report.inputs.reference_depression {
        let digits = usual_decimals(reference.unit.symbol());
        let told = format!("{} {}", rounded(reference.value, digits), reference.unit);
        all.push(("Stated at a depression of", told));
    }
    let between = |get: fn(&FlowReport) -> Option<&Figure>| {
        let found: Vec<&Figure> = report.flow.iter().filter_map(get).collect();
        let unit = found.first()?.unit;
        let digits = usual_decimals(unit.symbol());
        let values = || {
            found
                .iter()
                .filter(|one| one.unit == unit)
                .map(|one| one.value)
        };
        let low = rounded(values().fold(f64::INFINITY, f64::min), digits);
        let high = rounded(values().fold(f64::NEG_INFINITY, f64::max), digits);
        Some(match low == high {
            true => format!("{low} {unit}"),
            false => format!("{low} to {high} {unit}"),
        })
    };
    all.extend(between(|one| one.test_pressure.as_ref()).map(|told| ("Tested at", told)));
    let density = between(|one| one.air_density.as_ref());
    all.extend(density.map(|told| ("Density of the air before the port", told)));
    let reference = report
        .flow
        .iter()
        .find_map(|one| one.reference_air.as_ref());
    all.extend(reference.map(|air| ("Reference air", bare(air))));
    all
}

type PortKind<'a> = (&'a str, Option<&'a str>);

fn kind_of(one: &FlowReport) -> PortKind<'_> {
    (one.port.as_str(), one.runner.as_deref())
}

fn kinds(report: &Report, before: Option<&Report>) -> Vec<Kind> {
    let mut found: Vec<PortKind<'_>> = Vec::new();
    for one in &report.flow {
        if !found.contains(&kind_of(one)) {
            found.push(kind_of(one));
        }
    }
    found
        .into_iter()
        .filter_map(|kind| of_kind(report, before, kind))
        .collect()
}

/// Flow at the reference depression; the ratio of the areas where the orifice is not known.
fn told_flow(one: &FlowReport) -> Option<&Figure> {
    one.flow_at_reference.as_ref().or(one.area_ratio.as_ref())
}

fn of_kind(report: &Report, before: Option<&Report>, kind: PortKind<'_>) -> Option<Kind> {
    let own: Vec<&FlowReport> = report
        .flow
        .iter()
        .filter(|one| kind_of(one) == kind)
        .collect();
    let unit = own.iter().find_map(|one| told_flow(one))?.unit;
    let lift_unit = own.first()?.lift.unit;
    let mut lifts: Vec<f64> = own.iter().map(|one| one.lift.value).collect();
    lifts.sort_by(f64::total_cmp);
    lifts.dedup();
    let mut cylinders: Vec<u32> = own.iter().map(|one| one.cylinder).collect();
    cylinders.sort_unstable();
    cylinders.dedup();
    let name = match kind {
        (port, Some(runner)) => format!("{port} {runner}"),
        (port, None) => port.to_owned(),
    };
    let lift_decimals = usual_decimals(lift_unit.symbol()) - 1;
    let told: Vec<String> = lifts
        .iter()
        .map(|lift| rounded(*lift, lift_decimals))
        .collect();
    let at = |cylinder: u32, lift: f64| {
        let mut all = own.iter();
        all.find(|one| one.cylinder == cylinder && one.lift.value == lift)
            .copied()
    };
    let over = |row: &str, text: &dyn Fn(f64) -> Option<String>| Row {
        name: row.to_owned(),
        cells: lifts
            .iter()
            .zip(&told)
            .map(|(lift, told)| {
                let cell = text(*lift).unwrap_or_else(|| "–".to_owned());
                (format!("{name} {row} at {told}"), cell)
            })
            .collect(),
    };
    let digits = usual_decimals(unit.symbol());
    let rows = cylinders.iter().map(|cylinder| {
        over(&cylinder.to_string(), &|lift| {
            let figure = told_flow(at(*cylinder, lift)?)?;
            (figure.unit == unit).then(|| rounded(figure.value, digits))
        })
    });
    let mean_of = |report: &Report, lift: f64| -> Option<FlowAtLift> {
        let mut all = report.flow_by_lift.iter();
        let same = |one: &&FlowAtLift| {
            (one.port.as_str(), one.runner.as_deref()) == kind
                && one.lift.value == lift
                && one.mean.unit == unit
        };
        all.find(same).cloned()
    };
    let mut below = Vec::new();
    if cylinders.len() > 1 {
        below.push(over("average", &|lift| {
            Some(rounded(mean_of(report, lift)?.mean.value, digits))
        }));
        below.push(over("spread", &|lift| {
            Some(rounded(mean_of(report, lift)?.spread.value, digits))
        }));
    }
    below.push(over("±, each", &|lift| {
        let widths = own.iter().filter(|one| one.lift.value == lift);
        let widths = widths.filter_map(|one| half_width(told_flow(one)?));
        let usual = benchhand_words::short::middle(widths.collect());
        Some(usual.map_or("?".to_owned(), |usual| rounded(usual, digits)))
    }));
    if let Some(before) = before {
        below.push(over("average before", &|lift| {
            Some(rounded(mean_of(before, lift)?.mean.value, digits))
        }));
        below.push(over("change, %", &|lift| {
            let (was, is) = (
                mean_of(before, lift)?.mean.value,
                mean_of(report, lift)?.mean.value,
            );
            (was > 0.0).then(|| format!("{:+.1}", 100.0 * (is / was - 1.0)))
        }));
    }
    let mut areas: Vec<String> = Vec::new();
    for area in own.iter().flat_map(|one| &one.coefficients) {
        let named = area.by_area.to_string();
        if !areas.contains(&named) {
            areas.push(named);
        }
    }
    let coefficients = areas.into_iter().map(|area| {
        let rows = cylinders.iter().map(|cylinder| {
            let row = over(&cylinder.to_string(), &|lift| {
                let one = at(*cylinder, lift)?;
                let mut all = one.coefficients.iter();
                let found = all.find(|one| one.by_area.to_string() == area)?;
                Some(rounded(found.coefficient.value, 3))
            });
            let cells = row.cells.into_iter();
            Row {
                cells: cells
                    .map(|(key, text)| (format!("coefficient by {area}, {key}"), text))
                    .collect(),
                name: row.name,
            }
        });
        Coefficients {
            rows: rows.collect(),
            area: area.replace('_', " "),
        }
    });
    Some(Kind {
        unit: match unit.symbol() {
            "1" => "ratio of areas".to_owned(),
            symbol => symbol.to_owned(),
        },
        lift_unit: lift_unit.symbol().to_owned(),
        rows: rows.collect(),
        coefficients: coefficients.collect(),
        lifts: told.clone(),
        below,
        name: name.clone(),
    })
}
