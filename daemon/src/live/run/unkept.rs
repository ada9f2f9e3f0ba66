//! A value that the disk refused, and the one that comes after it.
//!
//! Whoever heard that the value was not kept measures the same stop again; whoever did not goes on to the
//! next stop. The gauge looks the same, so the next value is asked about.

use benchhand_wire::{Reason, Refusal};

use super::RouteRun;
use super::asking::{ValueOrigin, Waiting};
use crate::capture::CaptureMode;

/// A captured value that was not kept.
#[derive(Debug, Clone, Copy)]
pub(super) struct UnkeptValue {
    /// The stop that it belonged to, where the route still stands.
    stop: usize,
    /// The capture, and the number of the value within it: it may come again, and be kept then.
    value: (usize, u32),
}

impl RouteRun {
    /// A value was not kept. A press is left out: the person presses anew for a stop that he names.
    pub(super) fn was_not_kept(&mut self, one: &Waiting, stop: usize, refusal: &Refusal) {
        if let ValueOrigin::Captured { active, pour, .. } = one.origin
            && refusal.reason == Reason::Storage
            && self.actives[active].capture.mode() != CaptureMode::Press
        {
            let value = (active, pour);
            self.unkept = Some(UnkeptValue { stop, value });
        }
    }

    /// A value was kept at a stop: what was refused there before is settled.
    pub(super) fn kept_after_all(&mut self, stop: usize) {
        self.unkept.take_if(|unkept| unkept.stop == stop);
    }

    /// Whether a value that comes now may belong to a later stop than the present one, since the value
    /// before it was not kept.
    pub(super) fn follows_unkept(&mut self, active: usize, pour: u32) -> bool {
        let at = self.walk.at();
        let follows = |unkept: &mut UnkeptValue| unkept.value != (active, pour);
        let unkept = self.unkept.take_if(follows);
        unkept.is_some_and(|unkept| Some(unkept.stop) == at)
    }
}
