//! Piston-to-valve clearances over the crank angle.
//!
//! Source: `docs/formulas.md`, section 6.

use std::collections::BTreeMap;

use super::document::GapReport;
use super::pooled_readings::PooledReadings;
use crate::figure::{Estimate, Figure, Scalar};
use crate::spot::{CrankAngle, Spot, SpotName};

/// Piston-to-valve clearances, by cylinder and port.
pub(super) fn reports(readings: &PooledReadings<'_>) -> Vec<GapReport> {
    let length = readings.units().length();
    let mut gaps: BTreeMap<(u32, SpotName), Vec<(CrankAngle, &Estimate)>> = BTreeMap::new();
    for (spot, mean) in &readings.gaps.means {
        if let Spot::Gap {
            cylinder,
            port,
            angle,
        } = spot
        {
            gaps.entry((*cylinder, port.clone()))
                .or_default()
                .push((*angle, mean));
        }
    }
    let angle = |degrees: f64| Figure::bare(degrees, crate::Unit::Degree);
    let report = |((cylinder, port), mut points): ((u32, SpotName), Vec<_>)| {
        points.sort_by_key(|(angle, _): &(CrankAngle, &Estimate)| *angle);
        let at = (0..points.len()).min_by(|a, b| {
            let value = |at: usize| points[at].1.value();
            value(*a).total_cmp(&value(*b))
        })?;
        let enclosed = (at > 0 && at + 1 < points.len())
            .then(|| parabola(&points[at - 1], &points[at], &points[at + 1]))
            .flatten();
        Some(GapReport {
            cylinder,
            port,
            least: points[at].1.figure(length),
            least_at: angle(points[at].0.degrees()),
            enclosed: enclosed.map(|(gap, at)| (gap.figure(length), angle(at))),
            points: points
                .into_iter()
                .map(|(at, gap)| (angle(at.degrees()), gap.figure(length)))
                .collect(),
        })
    };
    gaps.into_iter().filter_map(report).collect()
}

/// The vertex of the parabola through three points, with the angle where it lies. `None` if they
/// lie on a line.
fn parabola(
    before: &(CrankAngle, &Estimate),
    least: &(CrankAngle, &Estimate),
    after: &(CrankAngle, &Estimate),
) -> Option<(Estimate, f64)> {
    let x = [before, least, after].map(|(angle, _)| angle.degrees() - least.0.degrees());
    let y = [before, least, after].map(|(_, gap)| (*gap).clone());
    let left = (&y[1] - &y[0]).scale(1.0 / (x[1] - x[0]));
    let right = (&y[2] - &y[1]).scale(1.0 / (x[2] - x[1]));
    let bend = (right - &left).scale(1.0 / (x[2] - x[0]));
    if bend.value() <= 0.0 {
        return None;
    }
    // Through the middle point with slope b and bend c: its least is y − b²/(4c) at −b/(2c).
    let slope = left + bend.scale(x[1] - x[0]);
    let at = -slope.value() / (2.0 * bend.value()) + least.0.degrees();
    Some((&y[1] - slope.square() / bend.scale(4.0), at))
}
