//! How a rest leans: its slope and how well it is known. It does not know why it leans.

use super::super::still::{Line, Point};

/// Standard deviation of evaporation rates thought possible, g a minute.
pub(crate) const USUAL_G_PER_MIN: f64 = 0.25;
/// More than this is no evaporation, g a minute.
pub(crate) const MOST_G_PER_MIN: f64 = 0.75;
/// The first and the last samples of a rest may belong to the last drop or the next.
const FIRST: usize = 6;
const LAST: usize = 3;
/// A shorter rest says nothing of a slope, s.
const LEAST_S: f64 = 2.5;
/// The last drops of a delivery come no further apart, s.
const DROPS_APART_S: f64 = 3.6;

/// The slope of one rest, per second, and its weight: one over its variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lean {
    pub(super) slope: f64,
    pub(super) weight: f64,
}

impl Lean {
    /// The slope of a rest after a delivery: only of what comes after the last drop may still
    /// have fallen into it.
    pub(crate) fn late(points: &[Point], noise: f64) -> Option<Self> {
        let from = points.first()?.at_us;
        let start = points.partition_point(|p| p.since(from) < DROPS_APART_S);
        Self::of(points.get(start.checked_sub(FIRST)?..)?, noise)
    }

    /// The slope of a rest without steps; `None` where it is too short to say.
    pub(crate) fn of(points: &[Point], noise: f64) -> Option<Self> {
        let inner = points.get(FIRST..points.len().checked_sub(LAST)?)?;
        if inner.len() < FIRST {
            return None;
        }
        let line = Line::through(inner);
        (line.span >= LEAST_S && line.sxx > 0.0).then(|| Self {
            slope: line.slope,
            weight: line.sxx / (noise * noise),
        })
    }

    /// Standard deviations between this rest's slope and another slope.
    pub(super) fn off(self, slope: f64) -> f64 {
        (self.slope - slope).abs() * self.weight.sqrt()
    }
}
