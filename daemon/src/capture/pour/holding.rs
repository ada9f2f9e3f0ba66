//! A person looks away from a pour, and looks again.

use super::super::CaptureEvent;
use super::super::still::Point;
use super::Pour;
use super::account::Stage;

/// What still ran as a person looked away, and stood by the time he looked again, cc. Common
/// practice, no source: less than a second of a stream.
const RAN_ON_CC: f64 = 0.5;

impl Pour {
    /// Looks away, or looks again.
    pub(super) fn hold(&mut self, out: &mut Vec<CaptureEvent>) {
        self.paused = !self.paused;
        if self.paused {
            self.stood_at = self.last.map(|point| point.v);
            return;
        }
        if self.account.stage() == Stage::Delivering && self.stood_at.is_some() {
            // The first value tells whether the level stood meanwhile.
            self.forget();
        } else {
            self.stood_at = None;
            self.lose(out);
        }
        // A person who looked away on purpose knows what ran meanwhile.
        self.account.unseen();
    }

    /// The first value after a hold amid a delivery: a level that stands where it stood lost
    /// nothing.
    pub(super) fn after_hold(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        let most = RAN_ON_CC * self.scale();
        let ran = |stood: f64| (point.v - stood).abs() > most;
        if self.stood_at.take().is_some_and(ran) {
            self.last = Some(point);
            self.lose(out);
            self.last = Some(point);
        }
    }
}
