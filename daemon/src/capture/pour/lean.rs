//! How a rest leans: its slope, and how well the slope is known. The cause is not known here.

use super::super::still::{FittedLine, Point};

/// Standard deviation of the evaporation rates considered, g a minute.
pub(crate) const USUAL_G_PER_MIN: f64 = 0.25;
/// A faster loss is no evaporation, g a minute.
pub(crate) const MOST_G_PER_MIN: f64 = 0.75;
/// The first and the last samples of a rest may belong to the last drop before it or the first one
/// after it.
const FIRST: usize = 6;
const LAST: usize = 3;
/// A shorter rest says nothing of a slope, s.
const LEAST_S: f64 = 2.5;
/// The last drops of a delivery are no further apart, s.
const DROPS_APART_S: f64 = 3.6;

/// The slope of one rest, per second, with its weight: one over its variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lean {
    pub(super) slope: f64,
    pub(super) weight: f64,
}

impl Lean {
    /// The slope of a rest after a delivery, without its beginning: only drops after the last one
    /// seen may still have fallen into the rest.
    pub(crate) fn late(points: &[Point], noise: f64) -> Option<Self> {
        let from = points.first()?.at_us;
        let start = points.partition_point(|p| p.since(from) < DROPS_APART_S);
        Self::of(points.get(start.checked_sub(FIRST)?..)?, noise)
    }

    /// The slope of a rest without steps; `None` where the rest is too short.
    pub(crate) fn of(points: &[Point], noise: f64) -> Option<Self> {
        let inner = points.get(FIRST..points.len().checked_sub(LAST)?)?;
        if inner.len() < FIRST {
            return None;
        }
        let line = FittedLine::through(inner);
        (line.span >= LEAST_S && line.sxx > 0.0).then(|| Self {
            slope: line.slope,
            weight: line.sxx / (noise * noise),
        })
    }

    /// How many standard deviations this rest's slope is from another slope.
    pub(super) fn off(self, slope: f64) -> f64 {
        (self.slope - slope).abs() * self.weight.sqrt()
    }
}
