//! Checks of gauges: what several comparisons with something better known say of a gauge, as a
//! correction and its standard uncertainty.
//!
//! The module knows neither the gauge nor the job: only pairs of true and shown value, all in one
//! unit.

mod flow_bench;
mod water;

pub use flow_bench::{
    AIR_AT_ORIFICE, MeasuredLeak, leak_at, orifice_flow, plate_flow, worked_back,
};
pub use water::{CheckWater, column_pressure, volume_per_gram, weight_per_volume};

use crate::figure::student_quantile;
use crate::stats::{StraightLine, mean, sum_of_squares};

/// One comparison.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GaugeComparison {
    /// The true value: that of the master.
    pub truth: f64,
    /// What the gauge showed.
    pub shown: f64,
    /// Standard uncertainty of this master alone, not shared with the others; `None` where
    /// nothing is known.
    pub u: Option<f64>,
}

/// The conditions of the comparisons: resolution, shared errors, repeatability.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ComparisonConditions {
    /// Size of one count of the gauge.
    pub resolution: f64,
    /// How many displayed values one shown value rests on: two for a difference.
    pub roundings: f64,
    /// Standard uncertainty that all masters share: one certificate, one water temperature.
    pub shared: Option<f64>,
    /// Standard deviation of repeats that were set up anew, where it is known.
    pub repeatability: Option<f64>,
}

/// The result of a check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GaugeCorrection {
    /// Offset: add it to the shown value …
    pub offset: f64,
    /// … and add this share of the shown value too. 0 where the points do not tell a slope from
    /// their scatter.
    pub scale: f64,
    /// Standard uncertainty of a corrected value as far as all values share it, the largest over
    /// the travel of the points; `None` where nothing is known of the masters.
    pub u: Option<f64>,
    /// What masters, rounding and what all comparisons share explain of an error by themselves, as
    /// a standard uncertainty; `None` where nothing is known of the masters. However badly the gauge
    /// follows them, it is the same.
    pub explained: Option<f64>,
    /// The error (shown minus true) that was largest in size, before correction.
    pub worst: f64,
    /// The error that was largest in size after correction.
    pub left: f64,
    /// Standard deviation of repeats at the same master; `None` where none was repeated.
    pub repeat: Option<f64>,
}

impl GaugeCorrection {
    /// The correction to add where the gauge shows this value.
    pub fn at(&self, shown: f64) -> f64 {
        self.offset + self.scale * shown
    }
}

/// Two masters closer than this share of the larger are the same one, measured again.
const SAME: f64 = 1e-9;

/// The straight line that corrects a gauge; a mean offset where the points do not support a slope:
/// fewer than three, no travel, or a slope within its own scatter (t at 95 %). `None` of no points.
///
/// The line is that of ordinary least squares through (shown, true − shown), as JCGM 100:2008 (GUM)
/// H.3 corrects a thermometer. Scatter beyond what masters, rounding and repeats explain is a form
/// that no line follows. It stays in `u`.
pub fn correction(
    points: &[GaugeComparison],
    about: &ComparisonConditions,
) -> Option<GaugeCorrection> {
    let pairs: Vec<(f64, f64)> = points
        .iter()
        .map(|point| (point.shown, point.truth - point.shown))
        .collect();
    let n = pairs.len() as f64;
    if pairs.is_empty() {
        return None;
    }
    let repeats = repeats(points);
    let known = explained(points, about);
    let line = StraightLine::fit(&pairs, 0.0).filter(|line| steep(line, known));
    let offset = mean(pairs.iter().map(|(_, missing)| *missing));
    let (offset, scale) = match &line {
        Some(line) => (line.intercept, line.slope),
        None => (offset, 0.0),
    };
    let left: Vec<f64> = pairs
        .iter()
        .map(|(shown, missing)| offset + scale * shown - missing)
        .collect();
    let dof = n - if line.is_some() { 2.0 } else { 1.0 };
    let squares: f64 = left.iter().map(|left| left * left).sum();
    let scatter = if dof > 0.0 { squares / dof } else { 0.0 };
    let variance = scatter.max(known * known);
    let own = match &repeats {
        Some((s, dof)) if *dof >= 2.0 => s * s + about.rounding(),
        _ => known * known + about.repeatability.map_or(0.0, |s| s * s),
    };
    let form = (scatter - own).max(0.0);
    let reach = |x: f64| leverage(&pairs, line.is_some(), x);
    let furthest = pairs.iter().map(|(x, _)| reach(*x)).fold(0.0, f64::max);
    let some = about.shared.is_some() || points.iter().any(|point| point.u.is_some());
    let shared = about.shared.unwrap_or(0.0);
    Some(GaugeCorrection {
        offset,
        scale,
        u: some.then(|| (variance * furthest + form + shared * shared).sqrt()),
        explained: some.then(|| known.hypot(shared)),
        worst: largest(pairs.iter().map(|(_, missing)| -missing)),
        left: largest(left.into_iter()),
        repeat: repeats.map(|(s, _)| s),
    })
}

/// The same gauge left uncorrected: its error over the travel is part of the uncertainty (the
/// root mean square, JCGM 100:2008 F.2.4.5).
#[must_use]
pub fn uncorrected(points: &[GaugeComparison], found: GaugeCorrection) -> GaugeCorrection {
    let squares = points
        .iter()
        .map(|point| (point.shown - point.truth).powi(2));
    let error = mean(squares);
    GaugeCorrection {
        offset: 0.0,
        scale: 0.0,
        u: found.u.map(|u| (u * u + error).sqrt()),
        left: found.worst,
        ..found
    }
}

impl ComparisonConditions {
    fn rounding(&self) -> f64 {
        self.roundings * self.resolution * self.resolution / 12.0
    }
}

/// The scatter that masters and rounding explain by themselves.
fn explained(points: &[GaugeComparison], about: &ComparisonConditions) -> f64 {
    let masters = mean(points.iter().map(|point| point.u.unwrap_or(0.0).powi(2)));
    (masters + about.rounding()).sqrt()
}

/// Whether a slope is more than scatter.
fn steep(line: &StraightLine, known: f64) -> bool {
    let Some(u) = line.u_slope() else {
        return false;
    };
    // Points may by chance lie closer to a line than their own errors allow. That proves no slope.
    let u = u.max(line.u_slope_of(known));
    line.slope.abs() > student_quantile(0.975, line.dof) * u
}

/// The share of the points' variance that the line has at `x`.
fn leverage(pairs: &[(f64, f64)], sloped: bool, x: f64) -> f64 {
    let n = pairs.len() as f64;
    if !sloped {
        return 1.0 / n;
    }
    let centre = mean(pairs.iter().map(|(x, _)| *x));
    let spread: f64 = pairs.iter().map(|(x, _)| (x - centre).powi(2)).sum();
    1.0 / n + (x - centre).powi(2) / spread
}

/// Standard deviation of the shown errors within masters that were measured more than once, with
/// its degrees of freedom.
fn repeats(points: &[GaugeComparison]) -> Option<(f64, f64)> {
    let mut left: Vec<&GaugeComparison> = points.iter().collect();
    let (mut squares, mut dof) = (0.0, 0.0);
    while let Some(first) = left.pop() {
        let near = |point: &&GaugeComparison| {
            (point.truth - first.truth).abs() <= SAME * first.truth.abs().max(point.truth.abs())
        };
        let (same, others): (Vec<&GaugeComparison>, Vec<&GaugeComparison>) =
            left.into_iter().partition(near);
        left = others;
        let errors: Vec<f64> = same
            .iter()
            .chain([&first])
            .map(|point| point.shown - point.truth)
            .collect();
        squares += sum_of_squares(&errors);
        dof += (errors.len() - 1) as f64;
    }
    (dof > 0.0).then(|| ((squares / dof).sqrt(), dof))
}

/// So much of a count an error may lie beyond what is allowed: it comes from arithmetic, from converted
/// units and from the mean of a display that wavers. Common practice, no source.
const SLACK: f64 = 0.05;

/// Whether an error keeps to what is allowed, for a value of this count (the step in which it is shown or
/// told); all in one unit. A count that is not positive gives no slack but that of arithmetic.
pub fn keeps_to(error: f64, allow: f64, count: f64) -> bool {
    let slack = if count > 0.0 && count.is_finite() {
        SLACK * count
    } else {
        0.0
    };
    error.abs() <= allow.abs() * (1.0 + 1e-9) + slack
}

fn largest(errors: impl Iterator<Item = f64>) -> f64 {
    errors.fold(0.0, |most: f64, error| {
        if error.abs() > most.abs() {
            error
        } else {
            most
        }
    })
}
