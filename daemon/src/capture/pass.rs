//! The conditions for a turning point, and the result of judging a run of samples by them.

use super::still::Point;

/// The conditions for a run of samples to be a pass over a turning point.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    /// The fall asked for on both sides, in the gauge's unit.
    pub(crate) fall: f64,
    /// Samples needed on each side within that fall.
    pub(crate) each_side: usize,
    /// The gauge's noise.
    pub(crate) sigma: f64,
    /// One count.
    pub(crate) resolution: f64,
    /// The gauge's period, s.
    pub(crate) period: f64,
    /// No hand turns a crank so evenly that finer steps than this can be judged, in the gauge's
    /// unit.
    pub(crate) finest: f64,
    /// The least time between the two falls, s.
    pub(crate) least_s: f64,
}

/// A pass that turned.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pass {
    /// The height of the top, after the sign change that makes every turning point a top.
    pub(crate) top: f64,
    /// The standard deviation of the top, given the noise.
    pub(crate) se: f64,
    /// Sum of squares about the fitted curve, and the number of the curve's parameters.
    pub(crate) squares: f64,
    pub(crate) degrees: usize,
    /// The samples to which the curve was fitted, after that sign change.
    pub(crate) points: Vec<Point>,
    /// The share of the time between the two falls during which the value stood within a count of
    /// its top.
    pub(crate) stood: f64,
}

/// Why a run of samples is no pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum NotAPass {
    /// Too few samples near the top: how many on the side with fewer.
    TooFast(usize),
    /// A flat with cliffs: something was moved.
    Moved,
    /// Samples are missing near the top, for so many seconds.
    Lost(f64),
    /// No smooth turn fits the samples near the top: a stop, or an uneven hand.
    Uneven,
}
