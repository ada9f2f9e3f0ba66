//! Which place the bridge stands at: the same, the next, or one that was left too soon.
//!
//! Places have no names here.

use super::super::passes::stand_still;
use super::super::still::Point;
use super::super::{CaptureEvent, CaptureNote};
use super::Extreme;

impl Extreme {
    /// The bridge or the gauge was moved: passes are forgotten, the next place is armed.
    pub(super) fn moved(&mut self, out: &mut Vec<CaptureEvent>) {
        if !self.passes.is_empty() && self.taken.is_none() {
            out.push(CaptureEvent::Note(CaptureNote::Moved));
            self.left = Some(self.passes.len());
        }
        self.passes.clear();
        self.taken = None;
        self.restart();
    }

    /// Watches for values above the top: no crank lifts a piston above its own top dead centre, so
    /// the bridge was moved.
    pub(super) fn watch_above(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        let Some(taken) = self.taken else { return };
        let q = self.intake.resolution();
        let beyond = (4.0 * q).max(6.0 * self.sigma.at(q));
        self.above = if point.v > taken + beyond {
            self.above + 1
        } else {
            0
        };
        if self.above >= 3 {
            self.moved(out);
        }
    }

    /// Whether the passes agree far from the value that was taken: no crank has two tops, so the
    /// bridge was moved.
    pub(super) fn is_elsewhere(&self) -> bool {
        let far = self.settings.other_place_mm * self.scale() + 8.0 * self.intake.resolution();
        self.taken
            .is_some_and(|taken| self.passes.iter().all(|p| (p.top - taken).abs() > far))
    }

    /// The question that a person must answer before the value counts, if any.
    pub(super) fn doubt(&self) -> Option<CaptureNote> {
        let (good, needed) = (self.left, self.settings.passes);
        let left = good.map(|good| CaptureNote::LeftUnfinished { good, needed });
        let stood = stand_still(&self.passes, &self.shape()).then_some(CaptureNote::StoodAtTop);
        stood.or(left)
    }
}
