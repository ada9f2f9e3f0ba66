//! What makes a turning point of a run of samples, and what one comes to.

use super::still::Point;

/// What makes a turning point of a run of samples.
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
    /// The least time between the two falls, s.
    pub(crate) least_s: f64,
}

/// A pass that turned.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pass {
    /// The height of the top (of the turned samples).
    pub(crate) top: f64,
    /// Its standard deviation, given the noise.
    pub(crate) se: f64,
    /// Sum of squares about the fit, and how many parameters it took.
    pub(crate) squares: f64,
    pub(crate) degrees: usize,
    /// The samples it was fitted to (turned).
    pub(crate) points: Vec<Point>,
    /// The share of the time between the two falls that it stood within a count of its top.
    pub(crate) stood: f64,
}

/// Why a pass is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum NotAPass {
    /// Too few samples near the top: how many on the poorer side.
    TooFast(usize),
    /// A flat with cliffs: something was moved.
    Moved,
    /// Samples are missing near the top, s.
    Lost(f64),
    /// No smooth turn fits the samples near the top: a stop, or an uneven hand.
    Uneven,
}
