//! The hand: it goes through a plan, looks at what the tool says, and answers what it asks.
//!
//! It pours in its own order and does not check where the tool believes it is, unless the tool
//! asks, takes a reading back, or says nothing after a pour.

use super::plan::{EveningPlan, Mishap, MishapMoment, StopPlan};
use super::station::EveningStation;
use super::tool::{HandRequest, PlayedTool, ShownStop};
use super::verdict::{JudgedStop, PlayedEvening};

/// How often a stop is poured before the hand gives up.
const TRIES: usize = 4;

/// The module's opening says what it does.
pub struct EveningHand<'a> {
    pub(super) plan: &'a EveningPlan,
    /// The station at which it works.
    pub station: EveningStation<'a>,
    /// How many more chambers are to come from the present filling.
    from_filling: u32,
    /// Whether it had to look at the screen, and so knows where the tool stands.
    looked: bool,
}

/// Plays an evening to its end.
pub fn play(plan: &EveningPlan, tool: &mut dyn PlayedTool) -> PlayedEvening {
    let mut hand = EveningHand::new(plan, tool);
    hand.evening();
    hand.played()
}

impl<'a> EveningHand<'a> {
    /// A hand that is about to begin.
    pub fn new(plan: &'a EveningPlan, tool: &'a mut dyn PlayedTool) -> Self {
        let mut station = EveningStation::new(plan, tool);
        let from_filling = station.dice.whole(0, 2);
        Self {
            plan,
            station,
            from_filling,
            looked: false,
        }
    }

    /// What came of it.
    pub fn played(mut self) -> PlayedEvening {
        self.station.finish();
        let judged = |(stop, truth): (usize, &super::station::ChamberTruth)| JudgedStop {
            truth: truth.cc,
            kept: match self.station.tool.shown(stop) {
                ShownStop::Has(cc) => Some(cc),
                _ => None,
            },
            asked: truth.asked,
        };
        let stops = self.station.truths.iter().enumerate().map(judged).collect();
        PlayedEvening {
            seed: self.plan.seed,
            stops,
            story: self.station.story().to_owned(),
        }
    }

    fn evening(&mut self) {
        let still = self.station.dice.uniform(3.0, 7.0);
        self.station.wait(still);
        let mut stop = 0;
        while stop < self.plan.stops.len() {
            let planned = &self.plan.stops[stop];
            let has = |m: Mishap| planned.mishaps.contains(&m);
            self.look(Some(stop));
            if has(Mishap::Typed) {
                self.types(stop);
                stop += 1;
            } else if has(Mishap::Skip) {
                self.station.ask(HandRequest::Skip);
                self.visit(stop + 1, planned);
                self.between(planned);
                self.station.ask(HandRequest::Go(stop));
                self.visit(stop, &StopPlan::plain(planned.cc));
                stop += 2;
            } else if has(Mishap::WrongChamber) {
                self.wrong_chamber(stop, planned);
                stop += 2;
            } else {
                self.visit(stop, planned);
                stop += 1;
                if let Some(fumble) = planned.fumble {
                    stop = self.fumbles(fumble, stop);
                }
            }
            self.between(planned);
        }
        self.leftovers();
    }

    fn between(&mut self, planned: &StopPlan) {
        self.station.wait(planned.gap_s);
    }

    /// The next chamber is poured while the tool stands at this one.
    fn wrong_chamber(&mut self, stop: usize, planned: &StopPlan) {
        self.station.tell("hand: pours the next chamber by mistake");
        self.visit(stop + 1, planned);
        let (from, to) = (stop, stop + 1);
        // Where the other has its own value by now, the wrong one is poured over.
        let moved = matches!(self.station.tool.shown(to), ShownStop::Has(_))
            || self.station.ask(HandRequest::Move { from, to });
        self.station.truths[stop].again = false;
        if !moved {
            // Who is told that there is no reading to be moved knows that the pour was lost.
            self.looked = true;
            self.station.truths[to].again = true;
        }
        self.between(planned);
        self.station.ask(HandRequest::Go(stop));
        self.visit(stop, &StopPlan::plain(self.plan.stops[stop].cc));
    }

    fn types(&mut self, stop: usize) {
        // Who types has the screen before his eyes.
        self.station.answer_all();
        self.pour_again();
        if self.station.tool.next() != Some(stop) {
            self.station.ask(HandRequest::Go(stop));
        }
        let cc = (self.plan.stops[stop].cc * 100.0).round() / 100.0;
        self.station.empty(stop);
        self.station.truths[stop].cc = cc;
        self.station.truths[stop].done = true;
        if !self.station.ask(HandRequest::Type { cc, sure: false }) {
            self.station.truths[stop].asked = true;
            self.station.ask(HandRequest::Type { cc, sure: true });
        }
    }

    /// Three times of four the hand looks at the screen: it answers, and pours again what was
    /// taken back. `planned` is the stop that it is about to pour.
    fn look(&mut self, planned: Option<usize>) {
        if self.station.dice.chance(0.75) {
            self.station.answer_all();
            self.pour_again();
        }
        let asked = !self.station.tool.questions().is_empty();
        if let Some(stop) = planned.filter(|_| self.looked && !asked) {
            self.looked = false;
            if self.station.tool.next() != Some(stop) {
                self.station.ask(HandRequest::Go(stop));
            }
        }
    }

    pub(super) fn pour_again(&mut self) {
        for stop in 0..self.station.truths.len() {
            let truth = self.station.truths[stop];
            if truth.again && truth.done {
                self.station
                    .tell(&format!("hand: stop {} was taken back", stop + 1));
                self.go_and_pour(stop);
            }
        }
    }

    fn go_and_pour(&mut self, stop: usize) {
        self.looked = true;
        if self.station.tool.next() != Some(stop) {
            self.station.ask(HandRequest::Go(stop));
        }
        self.visit(stop, &StopPlan::plain(self.plan.stops[stop].cc));
    }

    /// What the tool still shows as left at the end, and what it asks, is seen to.
    pub fn leftovers(&mut self) {
        for _ in 0..TRIES {
            self.station.answer_all();
            self.pour_again();
            let waiting = self.station.tool.questions();
            let left = (0..self.station.truths.len()).find(|&stop| {
                let has = matches!(self.station.tool.shown(stop), ShownStop::Has(_));
                !has && waiting.iter().all(|q| q.stop != stop)
            });
            match left {
                Some(stop) => {
                    self.station
                        .tell(&format!("hand: stop {} is left", stop + 1));
                    self.go_and_pour(stop);
                }
                None if waiting.is_empty() => break,
                None => {}
            }
        }
        self.station.answer_all();
    }

    /// Pours into the chamber of a stop until a value was said.
    pub fn visit(&mut self, stop: usize, planned: &StopPlan) {
        let plain = StopPlan::plain(planned.cc);
        let cc = self.plan.stops[stop].cc;
        for attempt in 0..TRIES {
            let planned = if attempt == 0 { planned } else { &plain };
            self.prepare(cc, planned.per_filling);
            self.station.empty(stop);
            self.station.truths[stop].again = false;
            self.pour(stop, cc, planned);
            let rest = self.station.dice.uniform(5.0, 14.0);
            self.station.wait(rest);
            for _ in 0..10 {
                if !self.station.heard {
                    self.station.wait(1.0);
                }
            }
            let heard = self.station.heard;
            self.afterwards(stop, planned);
            self.station.truths[stop].done = true;
            let again = planned.mishaps.contains(&Mishap::Again);
            if again {
                self.station.answer_all();
                self.says_again(stop);
                // What was asked and taken back on the screen may be another chamber's.
                if self.station.tool.next() != Some(stop) {
                    self.station.ask(HandRequest::Go(stop));
                }
            } else if heard && !self.station.truths[stop].again || self.looks_why(stop) {
                return;
            }
            let emptied = self.station.dice.uniform(5.0, 20.0);
            self.station.wait(emptied);
        }
    }

    /// No value was said after a pour, or it was taken back: the hand looks at the screen.
    /// Whether it can go on with the next chamber.
    fn looks_why(&mut self, stop: usize) -> bool {
        self.station
            .tell("hand: no value was said, or it was taken back");
        self.looked = true;
        self.station.answer_all();
        let has = matches!(self.station.tool.shown(stop), ShownStop::Has(_));
        let there = self.station.tool.next() == Some(stop);
        if has && !self.station.truths[stop].again {
            return true;
        }
        !there && !self.station.ask(HandRequest::Go(stop))
    }

    /// Refills, or does not.
    pub(super) fn prepare(&mut self, cc: f64, per_filling: u32) {
        let fits = self.station.burette.left() > cc + 2.0;
        let lets_it_run_out = !fits
            && self.from_filling > 0
            && self.station.burette.left() > 5.0
            && self.station.dice.chance(0.3);
        if self.from_filling > 0 && (fits || lets_it_run_out) {
            self.from_filling -= 1;
        } else {
            self.refill();
            self.from_filling = per_filling - 1;
        }
    }

    /// What happens at rest, after the reading was said.
    fn afterwards(&mut self, stop: usize, planned: &StopPlan) {
        for mishap in &planned.mishaps {
            match mishap {
                Mishap::Add(cc) => {
                    self.station.ask(HandRequest::Add);
                    let rest = self.station.dice.uniform(1.0, 5.0);
                    self.station.wait(rest);
                    self.second_go(stop, *cc);
                }
                Mishap::Hold(MishapMoment::AtRest, _)
                | Mishap::Unplugged(MishapMoment::AtRest, _)
                | Mishap::Killed(MishapMoment::AtRest, _)
                | Mishap::Stopped(MishapMoment::AtRest, _)
                | Mishap::Bump(MishapMoment::AtRest, ..) => self.suffer(mishap),
                _ => {}
            }
        }
        if let Some((cc, after_s)) = planned.second_go {
            self.station.wait(after_s);
            self.second_go(stop, cc);
        }
    }

    pub(super) fn suffer(&mut self, mishap: &Mishap) {
        match *mishap {
            Mishap::Hold(_, seconds) => {
                let rest = self.station.dice.uniform(0.5, 5.0);
                self.station.wait(rest);
                self.station.ask(HandRequest::Hold);
                self.station.wait(seconds);
                self.station.ask(HandRequest::Resume);
                let rest = self.station.dice.uniform(0.5, 5.0);
                self.station.wait(rest);
            }
            Mishap::Unplugged(when, seconds) => self.lose(false, when, seconds),
            Mishap::Killed(when, seconds) => self.lose(true, when, seconds),
            Mishap::Interrupted(_, seconds) => self.station.interrupt(seconds),
            Mishap::Stopped(_, seconds) => self.station.stop_daemon(seconds),
            Mishap::Bump(_, cc, seconds) => {
                self.station.tell(&format!(
                    "the stand is bumped by {cc:.2} for {seconds:.1} s"
                ));
                self.station.burette.bump(cc, seconds);
            }
            _ => {}
        }
    }

    fn lose(&mut self, killed: bool, when: MishapMoment, seconds: f64) {
        self.station.lose(killed, seconds);
        if when == MishapMoment::AtRest {
            let rest = self.station.dice.uniform(0.0, 5.0);
            self.station.wait(seconds + rest);
        }
    }
}
