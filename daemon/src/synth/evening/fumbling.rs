//! A hand that changes its mind or forgets.

use super::hand::EveningHand;
use super::plan::{Fumble, Mishap, MishapMoment, StopPlan};
use super::station::EveningStation;
use super::tool::{HandRequest, ShownStop};

impl EveningStation<'_> {
    /// The daemon is stopped by Ctrl-C, and started after so many seconds.
    pub fn interrupt(&mut self, seconds: f64) {
        self.tell(&format!("Ctrl-C, for {seconds:.1} s"));
        self.tool.interrupted(self.now_us);
        self.is_away(true, seconds);
    }
}

impl EveningHand<'_> {
    /// Fumbles after the chamber before stop `next`. Returns the stop that comes then.
    pub(super) fn fumbles(&mut self, fumble: Fumble, next: usize) -> usize {
        let before = next - 1;
        if let Fumble::GoesBack(after_s, by_back, refills_first) = fumble {
            self.goes_back(before, after_s, (by_back, refills_first));
            return next;
        }
        if next == self.plan.stops.len() {
            return next;
        }
        let plain = StopPlan::plain(self.plan.stops[next].cc);
        match fumble {
            Fumble::LateAgain(after_s) => {
                self.station.wait(after_s);
                self.station.answer_all();
                self.station.meant = Some(before);
                self.station.ask(HandRequest::Again);
                if self.station.tool.questions().is_empty() {
                    // It was done at once: the hand hears so, and pours the chamber anew.
                    self.station.meant = None;
                    self.pour_again();
                    return next;
                }
                self.pours_blindly(next, &plain);
                self.station.answer_all();
                self.station.meant = None;
                self.pour_again();
            }
            Fumble::ForgetsHold => {
                self.station.answer_all();
                self.station.ask(HandRequest::Hold);
                self.pours_blindly(next, &plain);
                self.station.ask(HandRequest::Resume);
                self.station.answer_all();
                self.pour_again();
            }
            Fumble::CtrlC(share, seconds) => {
                let when = MishapMoment::MidPour(share);
                let mishaps = vec![Mishap::Interrupted(when, seconds)];
                self.visit(next, &StopPlan { mishaps, ..plain });
            }
            Fumble::GoesBack(..) => {}
        }
        next + 1
    }

    /// A bubble is seen: the hand goes back to the chamber and pours it anew.
    fn goes_back(&mut self, stop: usize, after_s: f64, (by_back, refills_first): (bool, bool)) {
        self.station.wait(after_s);
        self.station.answer_all();
        self.pour_again();
        if refills_first {
            self.refill();
        }
        let stands_behind = self.station.tool.next() == Some(stop + 1);
        self.station.ask(match by_back && stands_behind {
            true => HandRequest::Back,
            false => HandRequest::Go(stop),
        });
        let emptied = self.station.dice.uniform(5.0, 20.0);
        self.station.wait(emptied);
        self.visit(stop, &StopPlan::plain(self.plan.stops[stop].cc));
    }

    /// Pours a chamber without listening to the tool.
    fn pours_blindly(&mut self, stop: usize, planned: &StopPlan) {
        self.prepare(planned.cc, 1);
        self.station.empty(stop);
        self.station.truths[stop].again = false;
        self.pour(stop, planned.cc, planned);
        let rest = self.station.dice.uniform(5.0, 14.0);
        self.station.wait(rest);
        self.station.truths[stop].done = true;
        if !matches!(self.station.tool.shown(stop), ShownStop::Has(_)) {
            self.station.tell("hand: has not listened");
        }
    }
}
