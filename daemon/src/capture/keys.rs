//! The signal of a press of a gauge's own key: the number jumps while the plunger rests.

use benchhand_drivers::Unit;

use super::CaptureNote;
use super::still::{Point, seconds};

/// How a gauge shows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shown {
    pub(super) unit: Unit,
    /// One count.
    pub(super) resolution: f64,
    pub(super) sigma: f64,
    /// Whether its plunger hangs where it shows 0.
    pub(super) hangs_at_zero: bool,
    /// What it shows where its plunger was seen to be set on the zero face from.
    pub(super) is_set_down_from: Option<f64>,
}

/// Whether a key was pressed: the value rested far from zero, and within one step rests at zero or
/// at the mirrored value.
pub(super) fn key_pressed(recent: &[Point], gauge: &Shown) -> Option<CaptureNote> {
    let Shown {
        unit,
        resolution,
        sigma,
        hangs_at_zero,
        is_set_down_from,
    } = *gauge;
    let [a, b, from, to, c, d, e] = *recent.last_chunk::<7>()?;
    let near = 1.5 * resolution + 3.0 * sigma;
    let far = 20.0 * resolution + 10.0 * sigma;
    let rests = |p: Point, q: Point| (p.v - q.v).abs() <= near;
    let at_once = seconds(from.at_us, to.at_us) <= 0.3;
    let before = rests(a, from) && rests(b, from);
    let after = rests(c, to) && rests(d, to) && rests(e, to);
    if !(at_once && before && after && from.v.abs() > far) {
        return None;
    }
    let stood = (a.v + b.v + from.v) / 3.0;
    let stands = (to.v + c.v + d.v + e.v) / 4.0;
    // A part may measure nearly zero. A key makes it exactly zero.
    let at_zero = stands.abs() <= 0.5 * resolution + sigma;
    if at_zero && to.v.abs() <= resolution + sigma {
        let set_down = is_set_down_from.is_some_and(|at| (at - from.v).abs() <= far);
        (!hangs_at_zero && !set_down).then_some(CaptureNote::JumpToZero { from: from.v, unit })
    } else if (stands + stood).abs() <= resolution + sigma {
        Some(CaptureNote::SignFlip { from: from.v, unit })
    } else {
        None
    }
}
