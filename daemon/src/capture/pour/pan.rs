//! A balance on which a pour is weighed: samples of a vessel that is away are no pour.

use super::super::still::{Point, seconds};
use super::super::{CaptureEvent, CaptureNote};
use super::Pour;
use super::away::Seen;

/// A balance that is tared while liquid runs shows no more than this in its next value, g. Common
/// practice, no source: a stream of 5 g/s for a tenth of a second.
const ZEROED_G: f64 = 0.5;

impl Pour {
    /// On a balance: whether the sample belongs to a vessel that is away.
    pub(super) fn watch_away(&mut self, point: Point, out: &mut Vec<CaptureEvent>) -> bool {
        let q = self.intake.resolution();
        let jumped = self.last.is_some_and(|before| {
            // Samples that a serial line held back share one time, so the period looks short.
            let dt = seconds(before.at_us, point.at_us).max(self.intake.period().max(0.1));
            let fastest = self.settings.fastest_cc_per_s * self.scale() * dt;
            (point.v - before.v).abs() > fastest + 10.0 * self.sigma.at(q)
        });
        if jumped {
            self.goes_away(out);
            let near = ZEROED_G * self.scale();
            self.away.jumped_to(point.v, near);
        }
        if !self.away.is_away() {
            return false;
        }
        self.last = Some(point);
        let same = self.settings.same_g * self.scale();
        let run = 2.0 * self.settings.least_refill_cc * self.scale();
        match self
            .away
            .push(point, &mut self.tracker, &mut self.sigma, same, run)
        {
            Seen::Nothing => {}
            Seen::Back(shift) => {
                if let Some(unit) = self.intake.unit() {
                    out.push(CaptureEvent::Note(CaptureNote::Back { shift, unit }));
                }
                let level = self.tracker.level(&self.sigma);
                self.account.back(shift, level, out);
            }
            Seen::Tared(level) => self.account.tared(level, out),
            Seen::Other(level) => {
                self.account.swapped(Some(level.clone()), out);
                self.left(level, out);
            }
        }
        true
    }

    pub(super) fn goes_away(&mut self, out: &mut Vec<CaptureEvent>) {
        if !self.away.is_away() {
            out.push(CaptureEvent::Note(CaptureNote::Away));
            let level = self.tracker.level(&self.sigma);
            let stood = level.as_ref().map(|l| l.now).or(self.last.map(|p| p.v));
            let rested = level.is_some();
            self.account.unseen();
            if let Some(level) = level {
                self.account.left(level);
            }
            self.away.begin(stood, rested);
        }
        self.away.jumped();
        self.tracker.cut();
        self.legs = None;
    }
}
