//! Flow over lift: the mean of the ports of a kind, of this stage and of the one before.

use benchhand_blueprint::report::{FlowAtLift, Report};

use super::drawing::{chart, range};
use super::plot::{Line, Mark, Plot, Shape, WIDTH};
use super::{Chart, ChartKind};
use crate::digits::{rounded, usual_decimals};

/// The curve of one kind of port.
struct Curve {
    name: String,
    points: Vec<(f64, f64)>,
}

pub(super) fn flow(report: &Report, before: Option<&Report>) -> Option<Chart> {
    let first = report.flow_by_lift.first()?;
    let (lift, unit) = (first.lift.unit.symbol(), first.mean.unit.symbol());
    let now = curves(report, unit);
    let before = before.filter(|one| one.stage != report.stage);
    let earlier = before.map(|one| curves(one, unit)).unwrap_or_default();
    let mut lines = Vec::new();
    let mut marks = Vec::new();
    let mut told = Vec::new();
    let mut key = Vec::new();
    for (curves, stage, dashed) in [
        (&earlier, before.map_or("", |one| one.stage.as_str()), true),
        (&now, report.stage.as_str(), false),
    ] {
        if !curves.is_empty() {
            let how = if dashed { "dashed" } else { "solid" };
            key.push(format!("{how}: {stage}"));
        }
        for curve in curves {
            told.push(curve.told(stage, unit, lift));
            let shape = match (curve.name.starts_with("exhaust"), dashed) {
                (true, _) => Shape::Square,
                (false, true) => Shape::Ring,
                (false, false) => Shape::Dot,
            };
            let last = curve.points.len().saturating_sub(1);
            marks.extend(curve.points.iter().enumerate().map(|(at, point)| Mark {
                at: *point,
                half: None,
                shape,
                // The curve's name stands at its end.
                label: match (at == last, dashed) {
                    (true, false) => format!("{} {}", curve.name, value(point.1, unit)),
                    _ => String::new(),
                },
            }));
            lines.push(Line {
                points: curve.points.clone(),
                dashed,
            });
        }
    }
    let all = || now.iter().chain(&earlier).flat_map(|curve| &curve.points);
    let (_, high) = range(all().map(|point| point.1));
    let mut lifts: Vec<f64> = all().map(|point| point.0).collect();
    lifts.sort_by(f64::total_cmp);
    lifts.dedup();
    let most = lifts.last().copied().unwrap_or(1.0);
    let at = report.inputs.reference_depression.as_ref();
    let at = at.map_or(String::new(), |at| {
        format!(" at {} {}", rounded(at.value, 0), at.unit.symbol())
    });
    let title = format!("Flow over lift{at}, {}", report.stage);
    let digits = usual_decimals(lift) - 1;
    let plot = Plot {
        width: WIDTH,
        title: title.clone(),
        key: key.join("   "),
        x: (0.0, most * 1.12),
        x_ticks: thinned(&lifts)
            .map(|lift| (lift, rounded(lift, digits)))
            .collect(),
        x_name: format!("lift, {lift}"),
        y: (0.0, high.max(1e-9) * 1.05),
        y_name: match unit {
            "1" => "ratio of areas".to_owned(),
            unit => unit.to_owned(),
        },
        lines,
        marks,
        ..Plot::default()
    };
    let description = told.join(" ");
    Some(chart(ChartKind::Flow, title, description, &plot.svg()))
}

fn value(flow: f64, unit: &str) -> String {
    rounded(flow, usual_decimals(unit))
}

/// Lifts whose numbers stand beside each other without touching.
fn thinned(lifts: &[f64]) -> impl Iterator<Item = f64> + '_ {
    let every = lifts.len().div_ceil(9).max(1);
    lifts.iter().rev().step_by(every).copied()
}

/// The curves whose flow has this unit; others cannot stand beside them.
fn curves(report: &Report, unit: &str) -> Vec<Curve> {
    let mut curves: Vec<Curve> = Vec::new();
    for one in &report.flow_by_lift {
        if one.mean.unit.symbol() != unit {
            continue;
        }
        let point = (one.lift.value, one.mean.value);
        match curves.iter_mut().find(|curve| curve.name == name(one)) {
            Some(curve) => curve.points.push(point),
            None => curves.push(Curve {
                name: name(one),
                points: vec![point],
            }),
        }
    }
    for curve in &mut curves {
        curve.points.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    curves
}

fn name(one: &FlowAtLift) -> String {
    match &one.runner {
        Some(runner) => format!("{} {runner}", one.port),
        None => one.port.to_string(),
    }
}

impl Curve {
    fn told(&self, stage: &str, unit: &str, lift: &str) -> String {
        let points = self.points.iter().map(|(at, flow)| {
            format!(
                "{} at {}",
                value(*flow, unit),
                rounded(*at, usual_decimals(lift) - 1)
            )
        });
        let unit = if unit == "1" { "ratio of areas" } else { unit };
        format!(
            "{}, {stage}, {unit} by {lift} of lift: {}.",
            self.name,
            points.collect::<Vec<_>>().join(", ")
        )
    }
}
