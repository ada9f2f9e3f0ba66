//! What stops the taking at a rest, and what lets it go on: keys of the gauge, and its unit.

use super::super::still::Point;
use super::super::{CaptureEvent, CaptureNote};
use super::Settle;

/// So many samples in a row make a rest.
const RESTS: usize = 5;

impl Settle {
    /// A key was pressed, or a plunger that hung free was set on the zero face.
    pub(super) fn key_pressed(&mut self, note: CaptureNote, out: &mut Vec<CaptureEvent>) {
        self.forget();
        self.armed = false;
        self.paused = true;
        self.stood = match note {
            CaptureNote::JumpToZero { from, .. } | CaptureNote::SignFlip { from, .. } => Some(from),
            _ => None,
        };
        out.push(CaptureEvent::Note(note));
    }

    /// A gauge that stands again where it stood before its number jumped has the zero that it had:
    /// the work goes on.
    pub(super) fn goes_on_by_itself(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        let (Some(stood), Some(unit), true) = (self.stood, self.intake.unit(), self.paused) else {
            return;
        };
        let q = self.intake.resolution();
        let near = 1.5 * q + 3.0 * self.sigma.at(q);
        let last = &self.points[self.points.len().saturating_sub(RESTS - 1)..];
        let back = |p: &Point| (p.v - stood).abs() <= near;
        if last.len() == RESTS - 1 && last.iter().all(back) && back(&point) {
            self.stood = None;
            self.paused = false;
            self.intake.is_set_down_from(stood);
            // It shows 0 either on its zero face or while it hangs free: a value that may be no
            // reading is refused with a word.
            self.settings.hanging.get_or_insert(0.0);
            self.forget();
            out.push(CaptureEvent::Note(CaptureNote::NoKeyPressed {
                at: stood,
                unit,
            }));
        }
    }

    /// Whether no value is taken now.
    pub(super) fn is_stopped(&self) -> bool {
        self.paused || self.intake.other_unit().is_some()
    }

    /// Goes on in the unit that the gauge sends now.
    pub(super) fn adopt_unit(&mut self) {
        if let Some(factor) = self.intake.adopt_unit() {
            self.sigma = self.sigma.scaled(factor);
            self.settings.hanging = self.settings.hanging.map(|hanging| hanging * factor);
        }
    }
}
