//! A figure by cylinder, against its average, its target and what is allowed.

use benchhand_blueprint::Figure;
use benchhand_blueprint::report::{CylinderReport, FindingKind, Report};

use super::drawing::{chart, range};
use super::plot::{FLAT, Level, Mark, Plot, Shape, WIDTH};
use super::{Chart, ChartKind};
use crate::digits::{rounded, usual_decimals};
use crate::short::middle;
use crate::stated::half_width;

/// A figure of each cylinder, and what it is held against.
struct ByCylinder<'a> {
    kind: ChartKind,
    name: &'a str,
    /// The unit behind a number; empty for a ratio.
    unit: &'a str,
    get: fn(&CylinderReport) -> Option<&Figure>,
    mean: Option<&'a Figure>,
    target: Option<&'a Figure>,
    allowed: Option<&'a Figure>,
    /// The first word of the spots whose findings mark a cylinder; empty: none.
    family: &'a str,
}

pub(super) fn chambers(report: &Report) -> Option<Chart> {
    let of = ByCylinder {
        kind: ChartKind::Chambers,
        name: "Chamber",
        unit: "cc",
        get: |one| one.chamber.as_ref(),
        mean: report.summary.chamber_mean.as_ref(),
        target: None,
        allowed: report.limits.chamber_spread.as_ref(),
        family: "chamber",
    };
    of.drawn(report)
}

pub(super) fn compression(report: &Report) -> Option<Chart> {
    let of = ByCylinder {
        kind: ChartKind::Compression,
        name: "Compression",
        unit: "",
        get: |one| one.compression.as_ref(),
        mean: report.summary.compression_mean.as_ref(),
        target: report.limits.compression_target.as_ref(),
        allowed: report.limits.compression_spread.as_ref(),
        family: "",
    };
    of.drawn(report)
}

/// Where each cylinder stands on the axis, with its number.
pub(super) fn places(report: &Report) -> Vec<(f64, String)> {
    let cylinders = report.cylinders.iter().enumerate();
    cylinders
        .map(|(place, one)| (place as f64, one.cylinder.to_string()))
        .collect()
}

/// The ends of an axis of cylinders, and the plot's width.
pub(super) fn across(report: &Report) -> ((f64, f64), u32) {
    let last = report.cylinders.len().saturating_sub(1);
    let width = 248 + 64 * u32::try_from(report.cylinders.len()).unwrap_or(u32::MAX / 64 - 8);
    ((-0.6, last as f64 + 0.6), width.max(WIDTH))
}

impl ByCylinder<'_> {
    fn drawn(&self, report: &Report) -> Option<Chart> {
        let mean = self.mean?;
        let digits = usual_decimals(mean.unit.symbol());
        let mut marks = Vec::new();
        let mut told = Vec::new();
        for (place, one) in report.cylinders.iter().enumerate() {
            let Some(figure) = (self.get)(one) else {
                continue;
            };
            let odd = self.is_odd(report, one.cylinder);
            let value = rounded(figure.value, digits);
            told.push(format!("cylinder {} {value}", one.cylinder));
            marks.push(Mark {
                at: (place as f64, figure.value),
                half: half_width(figure),
                shape: if odd { Shape::Diamond } else { Shape::Dot },
                label: if odd { format!("{value} !") } else { value },
            });
        }
        let mut levels = vec![Level {
            at: mean.value,
            name: format!("average {}", rounded(mean.value, digits)),
            dashed: false,
        }];
        levels.extend(self.target.map(|target| Level {
            at: target.value,
            name: format!("target {}", rounded(target.value, digits)),
            dashed: true,
        }));
        let band = self.band(report);
        // One bar that is far longer than the others would press all the rest flat.
        let longest =
            3.0 * middle(marks.iter().filter_map(|mark| mark.half).collect()).unwrap_or(0.0);
        let ends = marks.iter().flat_map(|mark| {
            let half = mark.half.unwrap_or(0.0).min(longest);
            [mark.at.1 - half, mark.at.1 + half]
        });
        let ends = ends.chain(levels.iter().map(|level| level.at));
        let ends = ends.chain(band.into_iter().flat_map(|(low, high)| [low, high]));
        let y = range(ends.collect::<Vec<_>>());
        let (x, width) = across(report);
        let title = format!("{} by cylinder, {}", self.name, report.stage);
        let allowed = self.allowed.map(|allowed| rounded(allowed.value, digits));
        let unit = self.unit;
        let description = format!(
            "{}: {}. {}.{}",
            match unit {
                "" => self.name.to_owned(),
                unit => format!("{}, {unit}", self.name),
            },
            told.join(", "),
            levels
                .iter()
                .map(|l| l.name.as_str())
                .collect::<Vec<_>>()
                .join(", "),
            allowed.as_ref().map_or(String::new(), |one| {
                format!(" They may differ by {one} {unit}")
                    .trim_end()
                    .to_owned()
                    + "."
            }),
        );
        let mut key = "bars: ±, 95 %".to_owned();
        if let Some(allowed) = allowed {
            key += format!("; grey: {allowed} {unit} allowed").trim_end();
        }
        if marks.iter().any(|mark| mark.shape == Shape::Diamond) {
            key += "; ◆ !: out of line";
        }
        let plot = Plot {
            width,
            height: FLAT,
            title: title.clone(),
            key,
            x,
            x_ticks: places(report),
            x_name: "cylinder".to_owned(),
            y,
            y_name: unit.to_owned(),
            band,
            levels,
            lines: Vec::new(),
            marks,
            ends: Vec::new(),
        };
        Some(chart(self.kind, title, description, &plot.svg()))
    }

    fn is_odd(&self, report: &Report, cylinder: u32) -> bool {
        let spot = format!("{}/{cylinder}", self.family);
        let odd = |kind| matches!(kind, FindingKind::Outlier | FindingKind::Disagrees);
        let mut findings = report.findings.iter();
        findings.any(|one| odd(one.kind) && one.spot == spot)
    }

    /// As high as the figures may be apart, where it holds most of them: what is outside of it is
    /// what has to change.
    fn band(&self, report: &Report) -> Option<(f64, f64)> {
        let allowed = self.allowed?.value;
        let values = report.cylinders.iter().filter_map(self.get);
        let values: Vec<f64> = values.map(|one| one.value).collect();
        let from = |low: &f64| -> Vec<f64> {
            let inside = values
                .iter()
                .filter(|value| (*low..=*low + allowed).contains(*value));
            inside.copied().collect()
        };
        let most = values.iter().map(from).max_by_key(Vec::len)?;
        let middle = 0.5
            * (most.iter().copied().reduce(f64::min)? + most.iter().copied().reduce(f64::max)?);
        Some((middle - 0.5 * allowed, middle + 0.5 * allowed))
    }
}
