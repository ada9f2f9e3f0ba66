//! Findings: what is missing, unrepeated, in disagreement, or out of line with the others.

use std::collections::BTreeMap;

use super::document::{Finding, FindingKind};
use super::pool::{Apart, Pool};
use crate::figure::Estimate;
use crate::spot::Spot;
use crate::stats::unlike_brothers;

/// The level at which a value counts as unlike the others (Grubbs, two-sided): 5 % for a report as a
/// whole, shared by chambers, decks and crowns; the same for each place of a free spot.
pub(crate) const LEVEL: f64 = 0.05 / 3.0;

/// A difference is reported only if it exceeds this many of its standard uncertainties.
pub(crate) const MATTERS: f64 = 2.8;

pub(crate) fn finding(spot: impl ToString, kind: FindingKind, text: String) -> Finding {
    Finding {
        spot: spot.to_string(),
        kind,
        text,
        replaced: Vec::new(),
    }
}

/// Findings about the readings of one kind of spot. Missing ones are not among them. `shown` writes
/// a value of this kind in words.
pub(crate) fn of_repeats(
    pool: &Pool<'_>,
    shown: &dyn Fn([f64; 2]) -> [String; 2],
    single: &dyn Fn(&Spot) -> bool,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (spot, Apart { range, limit }) in &pool.apart {
        let [range, limit] = shown([*range, *limit]);
        let text = format!(
            "the readings differ by {range}; repeatability allows {limit}: measure it again"
        );
        findings.push(finding(spot, FindingKind::Disagrees, text));
    }
    for (spot, _) in pool
        .counts
        .iter()
        .filter(|(spot, count)| **count == 1 && single(spot))
    {
        let text = "measured once only; a repeat, set up anew, would show a mistake".to_owned();
        findings.push(finding(spot, FindingKind::Unrepeated, text));
    }
    findings
}

/// A value that is out of line with the others.
pub(crate) struct Unlike {
    pub(crate) cylinder: u32,
    /// How far it lies from the mean of the others.
    pub(crate) distance: f64,
}

/// The cylinders whose value is unlike the others': by Grubbs' test, and by more than the readings
/// themselves could differ.
///
/// `level` is that of the whole test. `least` is a distance that does not matter, such as two steps of the readings: seven equal
/// values and one that is a step apart are alike, whatever the test says.
pub(crate) fn unlike(values: &[(u32, Estimate)], least: f64, level: f64) -> Vec<Unlike> {
    let plain: Vec<f64> = values
        .iter()
        .map(|(_, estimate)| estimate.value())
        .collect();
    let found = unlike_brothers(&plain, level);
    let alike: Vec<&Estimate> = (0..values.len())
        .filter(|at| found.iter().all(|unlike| unlike.index != *at))
        .map(|at| &values[at].1)
        .collect();
    let Some(centre) = Estimate::mean(alike) else {
        return Vec::new();
    };
    found
        .into_iter()
        .filter_map(|unlike| {
            let (cylinder, value) = &values[unlike.index];
            let difference = value - &centre;
            let by_u = difference.u().map_or(0.0, |u| MATTERS * u);
            (unlike.distance.abs() > by_u.max(least)).then_some(Unlike {
                cylinder: *cylinder,
                distance: unlike.distance,
            })
        })
        .collect()
}

/// The findings for values unlike their brothers.
pub(crate) fn outliers(
    what: &str,
    values: &BTreeMap<u32, Estimate>,
    left_out: &dyn Fn(u32) -> bool,
    least: f64,
    shown: &dyn Fn(f64) -> String,
) -> Vec<Finding> {
    let values: Vec<(u32, Estimate)> = values
        .iter()
        .filter(|(cylinder, _)| !left_out(**cylinder))
        .map(|(cylinder, estimate)| (*cylinder, estimate.clone()))
        .collect();
    unlike(&values, least, LEVEL)
        .into_iter()
        .map(|Unlike { cylinder, distance }| {
            let side = if distance > 0.0 { "larger" } else { "smaller" };
            let text = format!(
                "out of line with the others: {} {side} than their mean",
                shown(distance.abs())
            );
            finding(format!("{what}/{cylinder}"), FindingKind::Outlier, text)
        })
        .collect()
}

/// The distance from the others that does not matter: two steps of the readings, or half of the
/// spread that the engine file allows, whichever is larger.
pub(crate) fn does_not_matter(step: Option<f64>, tolerance: Option<f64>) -> f64 {
    let by_step = step.map_or(0.0, |step| 2.0 * step * 1.000_001);
    by_step.max(tolerance.map_or(0.0, |tolerance| tolerance / 2.0))
}
