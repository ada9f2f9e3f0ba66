//! A station on which time passes: the burette, the chambers, the tool, and the results.
//!
//! The station carries out what a hand does and writes down what truly happened. It decides nothing.

use std::fmt::Write as _;

use benchhand_drivers::Sample;

use super::burette::{Burette, STEP_S};
use super::plan::EveningPlan;
use super::tool::{HandAnswer, HandRequest, PlayedTool, QuestionReason, ShownStop, ToolQuestion};
use super::verdict::BOUND_CC;
use crate::synth::Dice;

/// A move of the burette's level, as the hand remembers it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelMovement {
    /// The stop whose chamber took the liquid. `None` for a refill, and for liquid that was let out.
    pub into: Option<usize>,
    /// Amount that left the burette, cc. Negative for a filling.
    pub cc: f64,
}

/// What truly is in a stop's chamber, and what was asked about it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ChamberTruth {
    /// Liquid that went into it, cc.
    pub cc: f64,
    /// Whether the hand is done with it.
    pub done: bool,
    /// Whether it was asked about.
    pub asked: bool,
    /// Whether the hand was told that it must be poured again.
    pub again: bool,
}

/// The module's opening says what it does.
pub struct EveningStation<'a> {
    /// The tool that is played.
    pub tool: &'a mut dyn PlayedTool,
    /// The burette.
    pub burette: Burette,
    /// The truth of each stop.
    pub truths: Vec<ChamberTruth>,
    /// Everything that moved, oldest first.
    pub moves: Vec<LevelMovement>,
    /// Chance for what the hand does.
    pub dice: Dice,
    /// Whether a value was said or asked about since this was last set to false.
    pub heard: bool,
    /// The stop whose reading the hand means when it says `again`.
    pub meant: Option<usize>,
    into: Option<usize>,
    pub(super) now_us: u64,
    /// Moment from which the gauge is heard again, and whether the daemon must be started for that.
    back: Option<(u64, bool)>,
    stopped_until: u64,
    late: Vec<Sample>,
    before: Vec<ShownStop>,
    asked: Vec<u64>,
    story: String,
}

impl<'a> EveningStation<'a> {
    /// A station at the beginning of an evening.
    pub fn new(plan: &EveningPlan, tool: &'a mut dyn PlayedTool) -> Self {
        let noise = Dice::seeded(plan.seed ^ 0x6e6f_6973);
        Self {
            burette: Burette::at(plan.start, plan.make, noise),
            truths: vec![ChamberTruth::default(); plan.stops.len()],
            moves: Vec::new(),
            dice: Dice::seeded(plan.seed ^ 0x6861_6e64),
            heard: false,
            meant: None,
            into: None,
            now_us: 0,
            back: None,
            stopped_until: 0,
            late: Vec::new(),
            before: vec![ShownStop::Left; plan.stops.len()],
            asked: Vec::new(),
            story: String::new(),
            tool,
        }
    }

    /// What happened, line by line.
    pub fn story(&self) -> &str {
        &self.story
    }

    /// How many questions were asked so far.
    pub fn questions_asked(&self) -> usize {
        self.asked.len()
    }

    /// Writes a line of the story.
    pub fn tell(&mut self, line: &str) {
        let (seconds, scale) = (self.now_us as f64 / 1e6, self.burette.scale());
        let _ = writeln!(self.story, "{seconds:8.1} s  at {scale:6.2}  {line}");
    }

    /// Lets time pass.
    pub fn wait(&mut self, seconds: f64) {
        for _ in 0..(seconds / STEP_S).round() as u64 {
            self.step();
        }
    }

    /// From now on liquid goes into the chamber of this stop. `None`: into no chamber.
    pub fn aim(&mut self, into: Option<usize>) {
        self.into = into;
        self.moves.push(LevelMovement { into, cc: 0.0 });
    }

    /// The chamber of a stop is emptied.
    pub fn empty(&mut self, stop: usize) {
        self.truths[stop].cc = 0.0;
        self.truths[stop].done = false;
    }

    /// Liquid runs until the level is reached, at about so many cc a second.
    pub fn run_to(&mut self, level: f64, rate: f64, swing: f64) {
        let (pace, phase) = (self.dice.uniform(1.0, 4.0), self.dice.uniform(0.0, 6.3));
        loop {
            let to_go = level - self.burette.level();
            let swung = 1.0 + swing * (pace * self.now_us as f64 / 1e6 + phase).sin();
            let part = (rate * swung * STEP_S).min(to_go.abs()) * to_go.signum();
            self.let_out(part);
            self.step();
            if (level - self.burette.level()).abs() < 1e-9 {
                return;
            }
        }
    }

    /// Lets this much out at once, cc. A negative amount is a refill.
    pub fn let_out(&mut self, cc: f64) {
        let before = self.burette.level();
        self.burette.move_by(cc);
        // The film's share of the figure was never delivered.
        let moved = if cc < 0.0 {
            self.burette.level() - before
        } else {
            cc
        };
        if let Some(stop) = self.into {
            self.truths[stop].cc += cc;
        }
        if let Some(last) = self.moves.last_mut() {
            last.cc += moved;
        }
    }

    /// Makes the held reading final, and ends the route.
    pub fn finish(&mut self) {
        self.wait(50.0);
        self.tool.end(self.now_us);
        self.listen();
    }

    fn step(&mut self) {
        self.now_us += (STEP_S * 1e6) as u64;
        let sample = self.burette.step(self.now_us);
        if let Some((at_us, killed)) = self.back {
            if self.now_us < at_us {
                return;
            }
            self.regain(killed);
        }
        self.late.push(sample);
        if self.now_us < self.stopped_until {
            return;
        }
        for mut sample in std::mem::take(&mut self.late) {
            // A daemon that was stopped gets all waiting samples at one moment.
            sample.at_us = self.now_us;
            self.tool.sample(&sample);
        }
        self.listen();
    }

    /// Takes in what the tool said.
    fn listen(&mut self) {
        let said = self.tool.said();
        if said.is_empty() {
            return;
        }
        for line in said {
            self.tell(&format!("            tool: {line}"));
        }
        for question in self.tool.questions() {
            if !self.asked.contains(&question.id) {
                self.asked.push(question.id);
                self.truths[question.stop].asked = true;
                self.heard = true;
                self.tell(&format!(
                    "            tool asks: {:?}, stop {}, {:.2} cc",
                    question.why,
                    question.stop + 1,
                    question.cc
                ));
            }
        }
        let apart = self.tool.rounds_apart();
        for stop in apart.into_iter().chain(self.tool.not_kept()) {
            self.truths[stop].asked = true;
        }
        for stop in 0..self.truths.len() {
            let (before, now) = (self.before[stop], self.tool.shown(stop));
            self.before[stop] = now;
            match (before, now) {
                (ShownStop::Has(_), ShownStop::Left) => self.truths[stop].again = true,
                (ShownStop::Has(a), ShownStop::Has(b)) if a == b => {}
                (_, ShownStop::Has(_)) => {
                    self.heard = true;
                    // A value that was taken back for a question is there again once the answer keeps it.
                    self.truths[stop].again &= matches!(before, ShownStop::Has(_));
                }
                _ => {}
            }
        }
    }

    /// Asks something of the tool. Returns whether the tool did it.
    pub fn ask(&mut self, ask: HandRequest) -> bool {
        self.is_back();
        self.tell(&format!("hand: {ask:?}"));
        let mut done = self.tool.ask(ask, self.now_us);
        if let (Ok(()), HandRequest::Move { from, to }) = (&done, ask) {
            self.truths[to].asked |= self.truths[from].asked;
        }
        if let Err(why) = &done {
            self.tell(&format!("            tool refuses: {why}"));
        }
        self.listen();
        // A hand that is refused reads why, answers the question, and asks once more.
        if done.is_err() && !self.tool.questions().is_empty() {
            self.answer_all();
            done = self.tool.ask(ask, self.now_us);
            self.listen();
        }
        done.is_ok()
    }

    /// Waits until gauge and daemon are there. Says whether one was away.
    pub fn is_back(&mut self) -> bool {
        let away = self.back.is_some();
        while self.back.is_some() {
            self.step();
        }
        away
    }

    /// The gauge's plug is pulled, or the daemon dies, for so many seconds.
    pub fn lose(&mut self, killed: bool, seconds: f64) {
        let what = ["the gauge is unplugged", "the daemon is killed"][usize::from(killed)];
        self.tell(&format!("{what} for {seconds:.1} s"));
        match killed {
            true => self.tool.killed(),
            false => self.tool.lost(self.now_us),
        }
        self.is_away(killed, seconds);
    }

    pub(super) fn is_away(&mut self, killed: bool, seconds: f64) {
        // The daemon may be down when the plug is pulled; then it must still be started.
        let (until, dead) = self.back.unwrap_or((0, false));
        let until = until.max(self.now_us + (seconds * 1e6) as u64);
        self.back = Some((until, killed || dead));
        self.late.clear();
        self.listen();
    }

    fn regain(&mut self, killed: bool) {
        self.tell("it is there again");
        self.back = None;
        if killed {
            self.tool.started(self.now_us);
        }
        self.listen();
    }

    /// The daemon is stopped for so many seconds.
    pub fn stop_daemon(&mut self, seconds: f64) {
        self.tell(&format!("the daemon is stopped for {seconds:.2} s"));
        self.stopped_until = self.now_us + (seconds * 1e6) as u64;
    }

    /// Answers every question truthfully. The hand knows what it did, but not how much it was.
    pub fn answer_all(&mut self) {
        // A faulty tool could ask without end.
        for _ in 0..8 {
            let Some(question) = self.tool.questions().first().copied() else {
                return;
            };
            let answer = self.truthfully(&question);
            self.tell(&format!("hand answers {answer:?}"));
            match answer {
                HandAnswer::Again => self.poured_again(&question),
                // The chamber that was poured then has no value.
                HandAnswer::Refill if !matches!(question.why, QuestionReason::WhichWay { .. }) => {
                    let truth = &mut self.truths[question.stop];
                    truth.again |= truth.cc > 0.0;
                }
                _ => {}
            }
            if let Err(why) = self.tool.answer(&question, answer, self.now_us) {
                self.tell(&format!("            tool refuses: {why}"));
                self.listen();
                return;
            }
            self.listen();
        }
    }

    /// Notes that a chamber whose value an answer dropped must be poured again.
    fn poured_again(&mut self, question: &ToolQuestion) {
        let stop = question.stop;
        match question.why {
            // The tool asked for the scale's direction before it counted anything.
            QuestionReason::WhichWay { .. } => {}
            QuestionReason::Lost => self.truths[stop].again = self.truths[stop].cc > 0.0,
            _ => {
                self.truths[stop].again = true;
                if let Some(second) = self.sum_of_two(question.cc) {
                    self.truths[second].again = true;
                }
            }
        }
    }

    fn truthfully(&self, question: &ToolQuestion) -> HandAnswer {
        let ToolQuestion { stop, cc, why, .. } = *question;
        let down = self.burette.make().counts_down;
        match why {
            QuestionReason::WhichWay { from, to } if (to > from) == down => HandAnswer::Refill,
            QuestionReason::WhichWay { .. } => HandAnswer::Delivered,
            QuestionReason::WhichAgain if self.meant == Some(stop) => HandAnswer::Again,
            // Nothing was poured at that stop yet: the tool means the chamber that was poured last.
            QuestionReason::WhichAgain if self.meant.is_some() && self.truths[stop].cc == 0.0 => {
                HandAnswer::Again
            }
            QuestionReason::WhichAgain => HandAnswer::Keep,
            QuestionReason::Lost => HandAnswer::Again,
            QuestionReason::Earlier if near(self.truths[stop].cc, cc) => HandAnswer::Keep,
            QuestionReason::Earlier => HandAnswer::Again,
            // The rest belongs to the next chamber, which was begun.
            QuestionReason::OneOrTwo if self.is_too_much(stop, cc) => HandAnswer::Split,
            QuestionReason::FarOff | QuestionReason::OneOrTwo | QuestionReason::Meanwhile => {
                // The hand knows which chamber it poured last, though two may be alike.
                let last = self.moves.iter().rev().find_map(|moved| moved.into);
                let meanwhile = why == QuestionReason::Meanwhile;
                let last = last.filter(|last| meanwhile && near(self.truths[*last].cc, cc));
                match last.or_else(|| self.origin(stop, cc)) {
                    Some(origin) if origin == stop => HandAnswer::Keep,
                    Some(origin) => HandAnswer::Belongs(origin),
                    None if why == QuestionReason::OneOrTwo && self.sum_of_two(cc).is_some() => {
                        HandAnswer::Split
                    }
                    None if self.was_refill(cc) => HandAnswer::Refill,
                    None => HandAnswer::Again,
                }
            }
        }
    }

    /// Whether a value is a little more than what went into the chamber that was asked about.
    fn is_too_much(&self, stop: usize, cc: f64) -> bool {
        let truth = self.truths[stop].cc;
        truth > 0.0 && (1.5 * BOUND_CC..0.1 * truth).contains(&(cc - truth))
    }

    /// The stop whose chamber a value came from, as the hand remembers it: the one asked about
    /// where it fits.
    fn origin(&self, stop: usize, cc: f64) -> Option<usize> {
        let off = |s: &usize| (self.truths[*s].cc - cc).abs();
        if off(&stop) < 0.1 {
            return Some(stop);
        }
        let nearest = (0..self.truths.len()).min_by(|a, b| off(a).total_cmp(&off(b)))?;
        near(self.truths[nearest].cc, cc).then_some(nearest)
    }

    /// The second of two stops, filled right after one another, whose chambers make up a value.
    fn sum_of_two(&self, cc: f64) -> Option<usize> {
        let sum = |second: usize| self.truths[second - 1].cc + self.truths[second].cc;
        (1..self.truths.len()).find(|&second| near(sum(second), cc))
    }

    fn was_refill(&self, cc: f64) -> bool {
        let mut last = self.moves.iter().rev().take(4);
        last.any(|m| m.into.is_none() && near(m.cc.abs(), cc.abs()))
    }
}

/// Whether a value fits what the hand remembers, within what a hand cannot see.
fn near(done: f64, cc: f64) -> bool {
    (done - cc).abs() < 0.35
}
