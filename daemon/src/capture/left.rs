//! A rest that was left before its value was taken.
//!
//! Example: the bridge stood somewhere for a moment and was lifted. The next value may then belong
//! to the next place. A plunger that is moved aside without being lifted leaves no such trace.

use super::still::{Point, is_still, suffix};

/// A rest that ended with a lift.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Left {
    rested: Option<f64>,
    lifted: Option<f64>,
}

/// A hand does not hold a plunger so still for this long: seconds, and least samples.
const SHORT: (f64, usize) = (1.0, 5);

impl Left {
    /// Looks at further samples. `hangs`: the plunger hangs free.
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

    /// Where the gauge rested before it was lifted, if that is further than `far` from `value`.
    pub(super) fn elsewhere(&self, value: f64, far: f64) -> Option<f64> {
        self.lifted.filter(|left| (left - value).abs() > far)
    }
}
