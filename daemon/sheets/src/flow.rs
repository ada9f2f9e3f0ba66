//! The flow sheet: every port over lift, by kind of runner, with its brothers and the stage before.

use askama::Template;
use benchhand_blueprint::Figure;
use benchhand_blueprint::report::{FlowAtLift, FlowReport, Report};
use benchhand_words::chart::{Chart, ChartKind, of_report};
use benchhand_words::digits::{rounded, usual_decimals};
use benchhand_words::over_lift::{kind_of_port, told_flow};
use benchhand_words::stated::{bare, half_width, width_told};

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
    /// What the ± leaves out.
    lacking: Option<&'a str>,
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
    /// The row's heading, e.g. a cylinder's number.
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
        lacking: report.lacking_of_ports(),
        cautions: &report.cautions,
    }
    .render()
}

/// The conditions to which the flows are referred, and those under which they were measured.
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

fn kinds(report: &Report, before: Option<&Report>) -> Vec<Kind> {
    let mut found: Vec<String> = Vec::new();
    for one in &report.flow {
        let kind = kind_of_port(one);
        if !found.contains(&kind) {
            found.push(kind);
        }
    }
    found
        .into_iter()
        .filter_map(|kind| of_kind(report, before, kind))
        .collect()
}

fn of_kind(report: &Report, before: Option<&Report>, name: String) -> Option<Kind> {
    let own: Vec<&FlowReport> = report
        .flow
        .iter()
        .filter(|one| kind_of_port(one) == name)
        .collect();
    let unit = own.iter().find_map(|one| told_flow(one))?.unit;
    let first = own.first()?;
    let (kind, lift_unit) = ((&first.port, &first.runner), first.lift.unit);
    let mut lifts: Vec<f64> = own.iter().map(|one| one.lift.value).collect();
    lifts.sort_by(f64::total_cmp);
    lifts.dedup();
    let mut cylinders: Vec<u32> = own.iter().map(|one| one.cylinder).collect();
    cylinders.sort_unstable();
    cylinders.dedup();
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
            let kind = (&one.port, &one.runner) == kind;
            kind && one.lift.value == lift && one.mean.unit == unit
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
        Some(usual.map_or("?".to_owned(), |usual| width_told(usual, digits)))
    }));
    below.extend(before.into_iter().flat_map(|before| {
        // Of the cylinders that both stages have, or one port would stand beside all.
        let both = |lift: f64| {
            let pairs = cylinders.iter().filter_map(|cylinder| {
                let spot = &at(*cylinder, lift)?.spot;
                let was = before.flow.iter().find(|one| one.spot == *spot)?;
                let (was, is) = (told_flow(was)?, told_flow(at(*cylinder, lift)?)?);
                (was.unit == unit && is.unit == unit).then_some((was.value, is.value))
            });
            let (was, is): (Vec<f64>, Vec<f64>) = pairs.unzip();
            let count = was.len() as f64;
            let sums = (was.iter().sum::<f64>(), is.iter().sum::<f64>());
            (count > 0.0).then(|| (sums.0 / count, sums.1 / count))
        };
        let name = match cylinders.len() {
            1 => "before",
            _ => "average before",
        };
        let rows = [
            over(name, &|lift| Some(rounded(both(lift)?.0, digits))),
            over("change, %", &|lift| {
                let (was, is) = both(lift)?;
                (was > 0.0).then(|| format!("{:+.1}", 100.0 * (is / was - 1.0)))
            }),
        ];
        match lifts.iter().any(|lift| both(*lift).is_some()) {
            true => Vec::from(rows),
            false => Vec::new(),
        }
    }));
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
            area: match area.ends_with("area") {
                true => area,
                false => format!("{area} area"),
            },
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
