//! Flow over lift: the mean of the ports of a kind, of this stage and, of the same cylinders, of the one
//! before.

use benchhand_blueprint::report::Report;

use super::drawing::{chart, range};
use super::plot::{End, HEIGHT, Line, Mark, Plot, Shape, WIDTH};
use super::{Chart, ChartKind};
use crate::digits::{rounded, usual_decimals};
use crate::over_lift::{MeanAtLift, means_over_lift};

/// The curve of one kind of port.
struct Curve {
    name: String,
    /// Whose it is, where that is one cylinder alone.
    of: String,
    points: Vec<(f64, f64)>,
}

pub(super) fn flow(report: &Report, before: Option<&Report>) -> Option<Chart> {
    let means = means_over_lift(report, None);
    let unit = means.first()?.unit.symbol();
    let lift = report.flow.first()?.lift.unit.symbol();
    let now = curves(&means, unit);
    let before = before.filter(|one| one.stage != report.stage);
    let earlier = before.map(|one| {
        let mut all = means_over_lift(one, Some(report));
        // The mean of other cylinders beside it would be taken for a change.
        all.retain(|was| means.iter().any(|now| was.is_of_the_same(now)));
        all
    });
    let earlier = earlier.map_or(Vec::new(), |means| curves(&means, unit));
    let mut lines = Vec::new();
    let mut marks = Vec::new();
    let mut told = Vec::new();
    let mut key = Vec::new();
    let mut ends = Vec::new();
    for (curves, stage, dashed) in [
        (&earlier, before.map_or("", |one| one.stage.as_str()), true),
        (&now, report.stage.as_str(), false),
    ] {
        // One stage alone needs no key.
        if !curves.is_empty() && !earlier.is_empty() {
            let how = if dashed { "dashed, hollow" } else { "solid" };
            key.push(format!("{how}: {stage}"));
        }
        for curve in curves {
            told.push(curve.told(stage, unit, lift));
            let shape = match dashed {
                true => shape_of(&curve.name, &now).hollow(),
                false => shape_of(&curve.name, &now),
            };
            marks.extend(curve.points.iter().map(|point| Mark {
                at: *point,
                half: None,
                shape,
                label: String::new(),
            }));
            // The curve's name stands at its end.
            let last = curve.points.last().filter(|_| !dashed);
            ends.extend(last.map(|point| End {
                at: *point,
                name: format!("{} {}", curve.name, value(point.1, unit)),
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
        width: WIDTH + 100,
        height: HEIGHT,
        title: title.clone(),
        key: key.join("; "),
        x: (0.0, most * 1.04),
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
        ends,
        ..Plot::default()
    };
    let description = told.join(" ");
    Some(chart(ChartKind::Flow, title, description, &plot.svg()))
}

/// The shape of a curve's points: kinds of one port, and intake and exhaust, are told apart by it.
fn shape_of(name: &str, all: &[Curve]) -> Shape {
    let is_exhaust = |name: &str| name.starts_with("exhaust");
    let shapes = match is_exhaust(name) {
        true => [Shape::Square, Shape::Down],
        false => [Shape::Dot, Shape::Up],
    };
    let alike = all.iter().map(|curve| curve.name.as_str());
    let mut alike = alike.filter(|one| is_exhaust(one) == is_exhaust(name));
    match alike.position(|one| one == name) {
        Some(0) => shapes[0],
        Some(1) => shapes[1],
        _ => Shape::Diamond,
    }
}

fn value(flow: f64, unit: &str) -> String {
    rounded(flow, usual_decimals(unit))
}

/// Lifts whose numbers stand beside each other without touching.
fn thinned(lifts: &[f64]) -> impl Iterator<Item = f64> + '_ {
    let every = lifts.len().div_ceil(7).max(1);
    lifts.iter().rev().step_by(every).copied()
}

/// The curves whose flow has this unit; others cannot stand beside them.
fn curves(means: &[MeanAtLift], unit: &str) -> Vec<Curve> {
    let mut curves: Vec<Curve> = Vec::new();
    for one in means.iter().filter(|one| one.unit.symbol() == unit) {
        let point = (one.lift, one.mean);
        match curves.iter_mut().find(|curve| curve.name == one.kind) {
            Some(curve) => curve.points.push(point),
            None => curves.push(Curve {
                name: one.kind.clone(),
                of: match one.cylinders.as_slice() {
                    [alone] => format!(" of cylinder {alone}"),
                    _ => String::new(),
                },
                points: vec![point],
            }),
        }
    }
    curves
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
            "{}{}, {stage}, {unit} by {lift} of lift: {}.",
            self.name,
            self.of,
            points.collect::<Vec<_>>().join(", ")
        )
    }
}
