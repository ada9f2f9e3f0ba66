//! When a route is over, and what its end leaves.

use super::{Active, RouteRun, RunJournal, RunOutcome};
use crate::capture::CaptureMode;

impl RouteRun {
    /// What was poured while the route is on hold, in words.
    pub fn poured_on_hold(&self) -> Option<&str> {
        self.poured_on_hold.as_deref()
    }

    /// Whether every stop was visited, no reading may still be revised, and nothing is asked.
    pub fn finished(&self) -> bool {
        let open = self.question.is_some() || !self.waiting.is_empty();
        self.walk.done() && !open && !self.actives.iter().any(Active::holds)
    }

    /// The route ends. After the last stop held values become final. Half-way a pour stays as it
    /// stands in the journal, as if the machine had stopped: it may go on when the route does.
    pub fn end(&mut self, at_us: u64, keep: &mut dyn RunJournal, out: &mut RunOutcome) {
        let half_way = !self.walk.done();
        let gauges: Vec<String> = self.actives.iter().map(|a| a.gauge.clone()).collect();
        for gauge in gauges {
            self.feed(&gauge, keep, out, |active, events| {
                if !(half_way && active.capture.mode() == CaptureMode::Pour) {
                    active.capture.end(at_us, events);
                }
            });
        }
    }
}
