//! Which place the bridge stands at: the same, the next, or one that was left too soon.
//!
//! Places have no names here.

use super::super::lift::{Lift, LiftedOff, SetDown};
use super::super::passes::stand_still;
use super::super::still::Point;
use super::super::turn::{Shape, judge};
use super::super::{CaptureEvent, CaptureNote};
use super::Extreme;

/// A plunger that hangs free comes back to the same value within this, mm. Common practice, no source.
const HANGS_WITHIN_MM: f64 = 0.05;
/// Passes over one place differ by less than this many times what two passes in a row may: a jerk may
/// have shifted the bridge a little.
const ALIKE: f64 = 2.0;
/// A rise of this part of the least fall is worth a word where a turn is too short.
const LEAST_RISE: f64 = 0.1;

impl Extreme {
    /// The bridge or the gauge was moved: passes are forgotten, the next place is armed.
    pub(super) fn moved(&mut self, out: &mut Vec<CaptureEvent>) {
        if !self.passes.is_empty() && self.taken.is_none() {
            out.push(CaptureEvent::Note(CaptureNote::Moved));
            self.left = Some(self.passes.len());
        } else if self.anew && self.taken.is_none() {
            // It stood where the value was to be taken anew, and was moved before a pass.
            self.left = Some(0);
        }
        (self.unseen, self.anew) = (false, false);
        self.jerked_at = None;
        self.passes.clear();
        self.taken = None;
        // A gauge that was lifted off from this place is set down at another one, once.
        self.lifted = LiftedOff::default();
        self.restart();
    }

    /// Watches for a gauge that is lifted off and set down, from rest to rest. Where it may have been a
    /// jerk of the crank, the next place is open as well, and a value like the one before is asked
    /// about.
    pub(super) fn watch_lifts(&mut self, lift: Lift, point: Point, out: &mut Vec<CaptureEvent>) {
        let before = self.taken;
        let near = HANGS_WITHIN_MM * self.scale();
        let set_down = if lift.is_step(&self.points) {
            Some(SetDown::Hung)
        } else {
            let hangs = self.hung.hangs(&lift, &self.points, near);
            let run = lift.fast_run(&self.points);
            run.and_then(|run| self.lifted.is_set_down(run, hangs, point.at_us))
        };
        if let Some(set_down) = set_down {
            self.moved(out);
            self.points.push(point);
            self.jerked_at = before.filter(|_| set_down == SetDown::Unknown);
        }
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

    /// Whether the passes are like the value of the place before, as two means of one place are.
    fn is_alike(&self, before: f64) -> bool {
        let settings = &self.settings;
        let counts = settings.agree_counts * self.intake.resolution();
        let near = ALIKE * counts.max(settings.agree_mm * self.scale());
        self.passes.iter().all(|p| (p.top - before).abs() <= near)
    }

    /// The place is to be measured anew while the bridge still stands there: its passes count
    /// again, although nothing was moved.
    pub(super) fn measure_anew(&mut self) {
        self.anew = self.taken.take().is_some() || !self.passes.is_empty();
        self.passes.clear();
        self.left = None;
    }

    /// Says where a turn began so near its top that it is no pass: whoever counts passes would take
    /// it for one.
    pub(super) fn watch_short_turns(&mut self, fall: f64, out: &mut Vec<CaptureEvent>) {
        let Some((last, before)) = self.points.split_last() else {
            return;
        };
        let start = self.points[0].v;
        let Some(top) = (0..before.len()).max_by(|&a, &b| before[a].v.total_cmp(&before[b].v))
        else {
            return;
        };
        let rise = before[top].v - start;
        let least = (LEAST_RISE * fall).max(4.0 * self.intake.resolution());
        if before[top].v - last.v < fall || rise < least {
            return;
        }
        let floor = before[top].v - rise.min(fall);
        let end = top + before[top..].iter().position(|p| p.v < floor).unwrap_or(0);
        let shape = Shape {
            fall: rise.min(fall),
            ..self.shape()
        };
        let turned = judge(&self.points[..=end.max(top)], &shape).is_ok();
        self.restart();
        if turned {
            out.push(CaptureEvent::Note(CaptureNote::TooShort));
        }
    }

    /// The questions that a person must answer before the value counts: the first, and which place it
    /// is where that is open as well.
    pub(super) fn doubts(&self) -> (Option<CaptureNote>, Option<CaptureNote>) {
        let (good, needed) = (self.left, self.settings.passes);
        let left = good.map(|good| CaptureNote::LeftUnfinished { good, needed });
        let stood = stand_still(&self.passes, &self.shape()).then_some(CaptureNote::StoodAtTop);
        let unseen = self.unseen.then_some(CaptureNote::PlaceUnseen);
        let unseen = unseen.filter(|_| !self.is_elsewhere());
        let jerked = self.jerked_at.filter(|&before| self.is_alike(before));
        let jerked = jerked.map(|_| CaptureNote::LiftedOrJerked);
        let key = self.suspicion.as_ref().map(|suspicion| suspicion.note);
        let place = left.or(unseen).or(jerked);
        match stood.or(key) {
            Some(handled) => (Some(handled), place),
            None => (place, None),
        }
    }
}
