//! The hand: it goes through a plan, looks at what the tool says, and answers what it asks.
//!
//! It pours in its own order and does not check where the tool believes it is, unless the tool
//! asks, takes a reading back, or says nothing after a pour.

use super::bench::Bench;
use super::plan::{Mishap, Plan, StopPlan, When};
use super::tool::{Ask, Shown, Tool};
use super::verdict::{Judged, Played};

/// How often a stop is poured before the hand gives up.
const TRIES: usize = 4;

/// See the module.
pub struct Hand<'a> {
    plan: &'a Plan,
    /// The bench at which it works.
    pub bench: Bench<'a>,
    /// How many more chambers are to come from the present filling.
    from_filling: u32,
    /// Whether it had to look at the screen, and so knows where the tool stands.
    looked: bool,
}

/// Plays an evening to its end.
pub fn play(plan: &Plan, tool: &mut dyn Tool) -> Played {
    let mut hand = Hand::new(plan, tool);
    hand.evening();
    hand.played()
}

impl<'a> Hand<'a> {
    /// A hand that is about to begin.
    pub fn new(plan: &'a Plan, tool: &'a mut dyn Tool) -> Self {
        let mut bench = Bench::new(plan, tool);
        let from_filling = bench.dice.whole(0, 2);
        Self {
            plan,
            bench,
            from_filling,
            looked: false,
        }
    }

    /// What came of it.
    pub fn played(mut self) -> Played {
        self.bench.finish();
        let judged = |(stop, truth): (usize, &super::bench::Truth)| Judged {
            truth: truth.cc,
            kept: match self.bench.tool.shown(stop) {
                Shown::Has(cc) => Some(cc),
                _ => None,
            },
            asked: truth.asked,
        };
        let stops = self.bench.truths.iter().enumerate().map(judged).collect();
        Played {
            seed: self.plan.seed,
            stops,
            story: self.bench.story().to_owned(),
        }
    }

    fn evening(&mut self) {
        let still = self.bench.dice.uniform(3.0, 7.0);
        self.bench.wait(still);
        let mut stop = 0;
        while stop < self.plan.stops.len() {
            let planned = &self.plan.stops[stop];
            let has = |m: Mishap| planned.mishaps.contains(&m);
            self.look(Some(stop));
            if has(Mishap::Typed) {
                self.types(stop);
                stop += 1;
            } else if has(Mishap::Skip) {
                self.bench.ask(Ask::Skip);
                self.visit(stop + 1, planned);
                self.between(planned);
                self.bench.ask(Ask::Go(stop));
                self.visit(stop, &StopPlan::plain(planned.cc));
                stop += 2;
            } else if has(Mishap::WrongChamber) {
                self.wrong_chamber(stop, planned);
                stop += 2;
            } else {
                self.visit(stop, planned);
                stop += 1;
            }
            self.between(planned);
        }
        self.leftovers();
    }

    fn between(&mut self, planned: &StopPlan) {
        self.bench.wait(planned.gap_s);
    }

    /// The next chamber is poured while the tool stands at this one.
    fn wrong_chamber(&mut self, stop: usize, planned: &StopPlan) {
        self.bench.tell("hand: pours the next chamber by mistake");
        self.visit(stop + 1, planned);
        let (from, to) = (stop, stop + 1);
        // Where the other has its own value by now, the wrong one is poured over.
        let moved = matches!(self.bench.tool.shown(to), Shown::Has(_))
            || self.bench.ask(Ask::Move { from, to });
        self.bench.truths[stop].again = false;
        if !moved {
            // Who is told that there is no reading to be moved knows that the pour was lost.
            self.looked = true;
            self.bench.truths[to].again = true;
        }
        self.between(planned);
        self.bench.ask(Ask::Go(stop));
        self.visit(stop, &StopPlan::plain(self.plan.stops[stop].cc));
    }

    fn types(&mut self, stop: usize) {
        // Who types has the screen before his eyes.
        self.bench.answer_all();
        self.pour_again();
        if self.bench.tool.next() != Some(stop) {
            self.bench.ask(Ask::Go(stop));
        }
        let cc = (self.plan.stops[stop].cc * 100.0).round() / 100.0;
        self.bench.empty(stop);
        self.bench.truths[stop].cc = cc;
        self.bench.truths[stop].done = true;
        if !self.bench.ask(Ask::Type { cc, sure: false }) {
            self.bench.truths[stop].asked = true;
            self.bench.ask(Ask::Type { cc, sure: true });
        }
    }

    /// Three times of four the hand looks at the screen: it answers, and pours again what was
    /// taken back. `planned` is the stop that it is about to pour.
    fn look(&mut self, planned: Option<usize>) {
        if self.bench.dice.chance(0.75) {
            self.bench.answer_all();
            self.pour_again();
        }
        let asked = !self.bench.tool.questions().is_empty();
        if let Some(stop) = planned.filter(|_| self.looked && !asked) {
            self.looked = false;
            if self.bench.tool.next() != Some(stop) {
                self.bench.ask(Ask::Go(stop));
            }
        }
    }

    fn pour_again(&mut self) {
        for stop in 0..self.bench.truths.len() {
            let truth = self.bench.truths[stop];
            if truth.again && truth.done {
                self.bench
                    .tell(&format!("hand: stop {} was taken back", stop + 1));
                self.go_and_pour(stop);
            }
        }
    }

    fn go_and_pour(&mut self, stop: usize) {
        self.looked = true;
        if self.bench.tool.next() != Some(stop) {
            self.bench.ask(Ask::Go(stop));
        }
        self.visit(stop, &StopPlan::plain(self.plan.stops[stop].cc));
    }

    /// What the tool still shows as left at the end, and what it asks, is seen to.
    pub fn leftovers(&mut self) {
        for _ in 0..TRIES {
            self.bench.answer_all();
            self.pour_again();
            let waiting = self.bench.tool.questions();
            let left = (0..self.bench.truths.len()).find(|&stop| {
                let has = matches!(self.bench.tool.shown(stop), Shown::Has(_));
                !has && waiting.iter().all(|q| q.stop != stop)
            });
            match left {
                Some(stop) => {
                    self.bench.tell(&format!("hand: stop {} is left", stop + 1));
                    self.go_and_pour(stop);
                }
                None if waiting.is_empty() => break,
                None => {}
            }
        }
        self.bench.answer_all();
    }

    /// Pours into the chamber of a stop until a value was said.
    pub fn visit(&mut self, stop: usize, planned: &StopPlan) {
        let plain = StopPlan::plain(planned.cc);
        let cc = self.plan.stops[stop].cc;
        for attempt in 0..TRIES {
            let planned = if attempt == 0 { planned } else { &plain };
            self.prepare(cc, planned.per_filling);
            self.bench.empty(stop);
            self.bench.truths[stop].again = false;
            self.pour(stop, cc, planned);
            let rest = self.bench.dice.uniform(5.0, 14.0);
            self.bench.wait(rest);
            for _ in 0..10 {
                if !self.bench.heard {
                    self.bench.wait(1.0);
                }
            }
            let heard = self.bench.heard;
            self.afterwards(stop, planned);
            self.bench.truths[stop].done = true;
            let again = planned.mishaps.contains(&Mishap::Again);
            if again {
                self.bench.answer_all();
                self.says_again(stop);
                // What was asked and taken back on the screen may be another chamber's.
                if self.bench.tool.next() != Some(stop) {
                    self.bench.ask(Ask::Go(stop));
                }
            } else if heard && !self.bench.truths[stop].again || self.looks_why(stop) {
                return;
            }
            let emptied = self.bench.dice.uniform(5.0, 20.0);
            self.bench.wait(emptied);
        }
    }

    /// No value was said after a pour, or it was taken back: the hand looks at the screen.
    /// Whether it can go on with the next chamber.
    fn looks_why(&mut self, stop: usize) -> bool {
        self.bench
            .tell("hand: no value was said, or it was taken back");
        self.looked = true;
        self.bench.answer_all();
        let has = matches!(self.bench.tool.shown(stop), Shown::Has(_));
        let there = self.bench.tool.next() == Some(stop);
        if has && !self.bench.truths[stop].again {
            return true;
        }
        !there && !self.bench.ask(Ask::Go(stop))
    }

    /// Refills, or does not.
    fn prepare(&mut self, cc: f64, per_filling: u32) {
        let fits = self.bench.burette.left() > cc + 2.0;
        let lets_it_run_out = !fits
            && self.from_filling > 0
            && self.bench.burette.left() > 5.0
            && self.bench.dice.chance(0.3);
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
                    self.bench.ask(Ask::Add);
                    let rest = self.bench.dice.uniform(1.0, 5.0);
                    self.bench.wait(rest);
                    self.second_go(stop, *cc);
                }
                Mishap::Hold(When::AtRest, _)
                | Mishap::Unplugged(When::AtRest, _)
                | Mishap::Killed(When::AtRest, _)
                | Mishap::Stopped(When::AtRest, _)
                | Mishap::Bump(When::AtRest, ..) => self.suffer(mishap),
                _ => {}
            }
        }
        if let Some((cc, after_s)) = planned.second_go {
            self.bench.wait(after_s);
            self.second_go(stop, cc);
        }
    }

    pub(super) fn suffer(&mut self, mishap: &Mishap) {
        match *mishap {
            Mishap::Hold(_, seconds) => {
                let rest = self.bench.dice.uniform(0.5, 5.0);
                self.bench.wait(rest);
                self.bench.ask(Ask::Hold);
                self.bench.wait(seconds);
                self.bench.ask(Ask::Resume);
                let rest = self.bench.dice.uniform(0.5, 5.0);
                self.bench.wait(rest);
            }
            Mishap::Unplugged(when, seconds) => self.lose(false, when, seconds),
            Mishap::Killed(when, seconds) => self.lose(true, when, seconds),
            Mishap::Stopped(_, seconds) => self.bench.stop_daemon(seconds),
            Mishap::Bump(_, cc, seconds) => {
                self.bench.tell(&format!(
                    "the stand is bumped by {cc:.2} for {seconds:.1} s"
                ));
                self.bench.burette.bump(cc, seconds);
            }
            _ => {}
        }
    }

    fn lose(&mut self, killed: bool, when: When, seconds: f64) {
        self.bench.lose(killed, seconds);
        if when == When::AtRest {
            let rest = self.bench.dice.uniform(0.0, 5.0);
            self.bench.wait(seconds + rest);
        }
    }
}
