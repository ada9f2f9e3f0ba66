//! What stops the taking at a turning point, or puts it in doubt: keys of the gauge, silences, and a
//! person's hold.
//!
//! Places of the bridge are not known here.

use super::super::still::Point;
use super::super::{CaptureEvent, CaptureNote};
use super::Extreme;

/// A key of the gauge may have been pressed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Suspicion {
    /// What the signal showed.
    pub(super) note: CaptureNote,
    /// What the gauge showed before its number jumped, with the sign that makes every turning point
    /// a top.
    stood: f64,
}

/// So many samples in a row make a rest.
const RESTS: usize = 5;
/// The pistons of an engine stand within this of each other under a bridge, mm.
const FURTHER_MM: f64 = 3.0;

impl Extreme {
    /// A key was pressed, or the gauge was switched off. A plunger that hangs free and is set on the
    /// zero face shows the same as a press of the zero key: the passes go on, and their value is
    /// asked about.
    pub(super) fn key_pressed(&mut self, note: CaptureNote, out: &mut Vec<CaptureEvent>) {
        self.passes.clear();
        self.restart();
        match note {
            CaptureNote::JumpToZero { from, .. } | CaptureNote::SignFlip { from, .. } => {
                self.taken = None;
                let stood = from * self.sign();
                self.suspicion = Some(Suspicion { note, stood });
            }
            _ => (self.paused, self.lost) = (true, true),
        }
        out.push(CaptureEvent::Note(note));
    }

    /// A plunger that comes back from 0 near to where it was, further than pistons differ, hung free
    /// at 0. After a press of the zero key the pistons would stand near 0.
    pub(super) fn set_down_again(&mut self, from: Point, to: Point, out: &mut Vec<CaptureEvent>) {
        let (Some(suspicion), Some(unit)) = (self.suspicion, self.intake.unit()) else {
            return;
        };
        let (stood, q) = (suspicion.stood, self.intake.resolution());
        let far = FURTHER_MM * self.scale();
        let hung = from.v.abs() <= 1.5 * q + 3.0 * self.at_rest.at(q);
        if hung && stood.abs() >= far && (to.v - stood).abs() <= 0.5 * stood.abs() {
            self.suspicion = None;
            self.intake.hangs_at_zero();
            let at = to.v * self.sign();
            out.push(CaptureEvent::Note(CaptureNote::NoKeyPressed { at, unit }));
        }
    }

    /// A gauge that stands again where it stood before its number jumped has the zero that it had.
    pub(super) fn clear_suspicion(&mut self, out: &mut Vec<CaptureEvent>) {
        let (Some(suspicion), Some(unit)) = (self.suspicion, self.intake.unit()) else {
            return;
        };
        let q = self.intake.resolution();
        let near = 1.5 * q + 3.0 * self.at_rest.at(q);
        let last = &self.points[self.points.len().saturating_sub(RESTS)..];
        let back = |v: f64| (v - suspicion.stood).abs() <= near;
        if last.len() == RESTS && last.iter().all(|p| back(p.v)) {
            let at = suspicion.stood * self.sign();
            self.suspicion = None;
            self.intake.is_set_down_from(at);
            out.push(CaptureEvent::Note(CaptureNote::NoKeyPressed { at, unit }));
        }
    }

    /// Whether no value is taken now.
    pub(super) fn is_stopped(&self) -> bool {
        self.paused || self.intake.other_unit().is_some()
    }

    /// Nobody saw the gauge for a while: what comes next may be at another place.
    pub(super) fn looked_away(&mut self) {
        self.unseen |= self.taken.is_some() || !self.passes.is_empty();
        self.passes.clear();
        self.restart();
    }

    /// Goes on after a hold, in the unit that the gauge sends now. Whoever goes on says that the
    /// zero stands.
    pub(super) fn go_on(&mut self) {
        (self.paused, self.lost, self.suspicion) = (false, false, None);
        self.looked_away();
        self.adopt_unit();
    }

    /// The gauge was zeroed anew: no key matters any more.
    pub(super) fn zeroed(&mut self) {
        self.suspicion = None;
        if self.lost || self.intake.other_unit().is_some() {
            (self.paused, self.lost) = (false, false);
            self.looked_away();
            self.adopt_unit();
        }
    }

    fn adopt_unit(&mut self) {
        if let Some(factor) = self.intake.adopt_unit() {
            self.taken = self.taken.map(|taken| taken * factor);
            self.jerked_at = self.jerked_at.map(|taken| taken * factor);
            self.hung = self.hung.scaled(factor);
            self.sigma = self.sigma.scaled(factor);
            self.at_rest = self.at_rest.scaled(factor);
        }
    }
}
