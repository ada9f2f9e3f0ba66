//! A rest that was left before its value was taken.
//!
//! The bridge stood somewhere for a moment and was lifted: the value that comes next may be that
//! of the next place. A plunger that is moved aside without being lifted leaves nothing.

use super::still::{Point, is_still, suffix};

/// What stood there and was lifted.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Left {
    rested: Option<f64>,
    lifted: Option<f64>,
}

/// A hand does not hold a plunger so still for so long, s; samples at least.
const SHORT: (f64, usize) = (1.0, 5);

impl Left {
    /// The gauge shows more samples; `hangs` where its plunger hangs free.
    pub(super) fn look(&mut self, points: &[Point], sigma: f64, resolution: f64, hangs: bool) {
        if hangs {
            return self.lifted();
        }
        if let Some(window) = suffix(points, SHORT.0, SHORT.1)
            && is_still(window, sigma, resolution)
        {
            self.rested = Some(window.iter().map(|p| p.v).sum::<f64>() / window.len() as f64);
        }
    }

    /// The plunger hangs free, or has run out of its travel.
    pub(super) fn lifted(&mut self) {
        if let Some(rested) = self.rested.take() {
            self.lifted = Some(rested);
        }
    }

    /// Where it rested and was lifted, if that is not `value`.
    pub(super) fn elsewhere(&self, value: f64, far: f64) -> Option<f64> {
        self.lifted.filter(|left| (left - value).abs() > far)
    }
}
