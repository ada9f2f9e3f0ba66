//! A person asks capture to ignore a pour, and to go on with it.

use super::super::CaptureEvent;
use super::super::still::Point;
use super::Pour;
use super::account::PourStage;

/// What may run between the request to ignore the samples and the rest at which capture goes on,
/// cc. Common practice, no source: less than a second of a stream.
const RAN_ON_CC: f64 = 0.5;

impl Pour {
    /// Begins to ignore the samples, or goes on.
    pub(super) fn hold(&mut self, out: &mut Vec<CaptureEvent>) {
        self.paused = !self.paused;
        if self.paused {
            self.stood_at = self.last.map(|point| point.v);
            return;
        }
        if self.account.stage() == PourStage::Delivering && self.stood_at.is_some() {
            // The first value tells whether the level stood still meanwhile.
            self.forget();
        } else {
            self.stood_at = None;
            self.lose(out);
        }
        // A person who asked for it knows what ran meanwhile.
        self.account.unseen();
    }

    /// Takes the first value after samples amid a delivery were ignored: a level that stands where
    /// it stood has lost nothing.
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
