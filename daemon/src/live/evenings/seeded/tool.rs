//! The tool as the hand of an evening has it before it: a seeded daemon, asked as its page asks it.

use std::cell::{Cell, RefCell};

use benchhand_drivers::Sample;
use benchhand_wire::{Reason, Refusal};
use serde_json::{Value, json};

use super::daemon::SeededDaemon;
use crate::clock::Clock;
use crate::live::evenings::daemon::{engine_text, question, same_question};
use crate::synth::evening::{
    EveningPlan, HandAnswer, HandRequest, PlayedTool, QuestionReason, Refused, ShownStop,
    ToolQuestion,
};

/// The spot of a stop, and its round.
pub(super) fn place(plan: &EveningPlan, stop: usize) -> (String, u32) {
    let spot = format!("chamber/{}", stop % plan.chambers + 1);
    let round = u32::try_from(stop / plan.chambers).expect("a few rounds") + 1;
    (spot, round)
}

/// One evening over a daemon that may have run before it.
pub(super) struct SeededTool<'a> {
    daemon: &'a mut SeededDaemon,
    job: String,
    plan: EveningPlan,
    /// The clock at the evening's beginning, microseconds.
    began_us: u64,
    /// Whether the route ran to its end.
    ended: bool,
    /// Whether the route is to be taken up once the burette's port can be opened.
    waits: bool,
    asked: Cell<Option<ToolQuestion>>,
    questions: Cell<u64>,
    shown: RefCell<Vec<ShownStop>>,
    not_kept: Vec<usize>,
}

impl<'a> SeededTool<'a> {
    /// A job of its own, whose route of chambers begins.
    pub(super) fn begin(daemon: &'a mut SeededDaemon, plan: &EveningPlan, job: String) -> Self {
        let mut tool = SeededTool {
            began_us: daemon.clock.now_us(),
            daemon,
            plan: plan.clone(),
            ended: false,
            waits: false,
            asked: Cell::default(),
            questions: Cell::default(),
            shown: RefCell::new(vec![ShownStop::Left; plan.stops.len()]),
            not_kept: Vec::new(),
            job,
        };
        let new = json!({"name": tool.job, "engine": engine_text(plan), "file": "engine.toml"});
        tool.insists("jobs/new", &new).expect("a job");
        tool.takes_up();
        tool
    }

    /// Asks until the disk does it: a builder makes room, or asks once more.
    fn insists(&mut self, path: &str, body: &Value) -> Result<Value, Refusal> {
        let mut answer = self.daemon.ask(path, body.clone());
        for _ in 0..8 {
            match &answer {
                Err(refusal) if refusal.reason == Reason::Storage => {
                    let refusal = refusal.clone();
                    self.daemon.makes_room(&refusal);
                }
                _ => break,
            }
            answer = self.daemon.ask(path, body.clone());
        }
        answer
    }

    /// Starts the route, or takes it up where it stood.
    fn takes_up(&mut self) {
        let start = json!({"job": self.job, "route": "chambers", "rounds": self.plan.rounds});
        self.waits = false;
        match self.insists("routes/start", &start) {
            Ok(_) => self.ended = false,
            Err(refusal) if refusal.found.ends_with("cannot be opened") => self.waits = true,
            // Everything was taken.
            Err(refusal) if refusal.found.starts_with("every stop of this route") => {
                self.ended = true;
            }
            Err(refusal) => panic!("the route of {} does not begin: {refusal}", self.job),
        }
    }

    fn stop_spot(&self, stop: usize) -> (String, u32) {
        place(&self.plan, stop)
    }

    fn planned(&self) -> usize {
        self.plan.stops.len()
    }

    /// The reading that counts at a stop: its number and value.
    fn reading(&self, stop: usize) -> Option<(u64, f64)> {
        let (spot, round) = self.stop_spot(stop);
        self.daemon.reading(&self.job, &spot, round)
    }

    fn control(&mut self, control: Value) -> Result<(), Refused> {
        let mut body = control;
        body["job"] = json!(self.job);
        let done = self.daemon.ask("routes/control", body);
        let next = self.next().map(|stop| stop + 1);
        self.daemon.said.push(format!("next {next:?}"));
        done.map(drop).map_err(|e| e.to_string())
    }

    fn go_to(&mut self, stop: usize) -> Result<(), Refused> {
        let (spot, round) = self.stop_spot(stop);
        self.control(json!({"control": "go", "spot": format!("{spot} round {round}")}))
    }

    /// After the route's end a person who knows that a reading does not belong to its chamber voids
    /// it and measures what is missing, as the refusal advises.
    fn measures_over(&mut self, stop: usize) -> Result<(), Refused> {
        if let Some((id, _)) = self.reading(stop) {
            let void = json!({"job": self.job, "id": id, "reason": "another chamber was poured"});
            self.insists("readings/void", &void)
                .map_err(|e| e.to_string())?;
        }
        self.takes_up();
        Ok(())
    }

    fn notice_end(&mut self) {
        if self.waits {
            return;
        }
        let job = self.job.clone();
        if let Some(runs) = self.daemon.with(move |station| station.run(&job).is_some()) {
            self.ended = !runs;
        }
    }
}

impl PlayedTool for SeededTool<'_> {
    fn sample(&mut self, sample: &Sample) {
        let value = sample.value.expect("a level");
        let hundredths = (value * 100.0).round() as i64;
        let died = self.daemon.hears(hundredths, self.began_us + sample.at_us);
        if died {
            self.daemon.start();
        }
        if self.waits || died && !self.ended {
            self.takes_up();
        }
        self.notice_end();
    }

    fn lost(&mut self, _: u64) {
        self.daemon.is_unplugged(0);
    }

    fn killed(&mut self) {
        self.asked.set(None);
        self.daemon.dies();
    }

    fn interrupted(&mut self, _: u64) {
        if !self.ended {
            // A route that cannot be ended in good order ends with the daemon.
            let _ = self.control(json!({"control": "end"}));
        }
        self.asked.set(None);
        self.daemon.ends();
    }

    fn started(&mut self, at_us: u64) {
        self.daemon.clock.driven.advance_to(self.began_us + at_us);
        self.daemon.start();
        self.takes_up();
    }

    fn ask(&mut self, ask: HandRequest, _: u64) -> Result<(), Refused> {
        let control = match ask {
            HandRequest::Hold => "hold",
            HandRequest::Resume => "resume",
            HandRequest::Again => "again",
            HandRequest::Skip => "skip",
            HandRequest::Add => "add",
            HandRequest::Take => "take",
            HandRequest::Back => "back",
            HandRequest::Undo => "undo",
            HandRequest::Go(stop) if self.ended => return self.measures_over(stop),
            HandRequest::Go(stop) => return self.go_to(stop),
            HandRequest::Type { cc, sure } => {
                let value = format!("{cc:.2} cc");
                return self.control(json!({"control": "type", "value": value, "sure": sure}));
            }
            HandRequest::Move { from, to } => {
                let (id, _) = self
                    .reading(from)
                    .ok_or("there is no reading to be moved")?;
                let (to, _) = self.stop_spot(to);
                let moved = json!({"job": self.job, "id": id, "to": to,
                    "reason": "the wrong chamber was poured"});
                let done = self.daemon.ask("readings/move", moved);
                return done.map(drop).map_err(|e| e.to_string());
            }
        };
        self.control(json!({ "control": control }))
    }

    fn next(&self) -> Option<usize> {
        let job = self.job.clone();
        self.daemon
            .with(move |station| station.run(&job)?.walk().at())?
    }

    fn shown(&self, stop: usize) -> ShownStop {
        if self.daemon.running.is_none() {
            return self.shown.borrow()[stop];
        }
        let job = self.job.clone();
        let skipped = self.daemon.with(move |station| {
            let run = station.run(&job);
            run.is_some_and(|run| run.walk().skipped().contains(&(stop as u32)))
        });
        let shown = match self.reading(stop) {
            Some((_, cc)) => ShownStop::Has(cc),
            None if skipped == Some(true) => ShownStop::Skipped,
            None => ShownStop::Left,
        };
        self.shown.borrow_mut()[stop] = shown;
        shown
    }

    fn questions(&self) -> Vec<ToolQuestion> {
        let (job, planned) = (self.job.clone(), self.planned());
        let asked = self.daemon.with(move |station| {
            let run = station.run(&job)?;
            let asked = run.question().map(question)?;
            // A third round that the tool asked for is the hand's last visit to that chamber.
            let spot = |stop: usize| &run.stops()[stop].stop.spot;
            let last = (0..planned).rev().find(|at| spot(*at) == spot(asked.stop));
            Some(match asked.stop {
                stop if stop >= planned => ToolQuestion {
                    stop: last.unwrap_or(0),
                    ..asked
                },
                _ => asked,
            })
        });
        let asked = asked.flatten().map(|asked| match self.asked.get() {
            Some(before) if same_question(&before, &asked) => ToolQuestion {
                id: before.id,
                ..asked
            },
            _ => {
                self.questions.set(self.questions.get() + 1);
                ToolQuestion {
                    id: self.questions.get(),
                    ..asked
                }
            }
        });
        self.asked.set(asked);
        asked.into_iter().collect()
    }

    fn rounds_apart(&self) -> Vec<usize> {
        let (job, planned) = (self.job.clone(), self.planned());
        let apart = self.daemon.with(move |station| {
            let run = station.run(&job)?;
            let third: Vec<_> = run.stops()[planned..].iter().collect();
            let of = |at: &usize| {
                let spot = &run.stops()[*at].stop.spot;
                third.iter().any(|one| one.stop.spot == *spot)
            };
            Some((0..planned).filter(of).collect())
        });
        apart.flatten().unwrap_or_default()
    }

    fn not_kept(&mut self) -> Vec<usize> {
        std::mem::take(&mut self.not_kept)
    }

    fn answer(&mut self, asked: &ToolQuestion, answer: HandAnswer, _: u64) -> Result<(), Refused> {
        let control = match answer {
            HandAnswer::Keep => "keep",
            HandAnswer::Again => "again",
            HandAnswer::Split => "split",
            HandAnswer::Belongs(stop) => return self.go_to(stop),
            HandAnswer::Refill => "refill",
            HandAnswer::Delivered => "delivered",
        };
        // The same question, once it was answered, is another.
        if matches!(asked.why, QuestionReason::WhichWay { .. }) || self.asked.get().is_some() {
            self.asked.set(None);
        }
        self.control(json!({ "control": control }))
    }

    fn said(&mut self) -> Vec<String> {
        let said = std::mem::take(&mut self.daemon.said);
        // Whoever hears that something was not kept knows that it was this stop, or the one before.
        if said.iter().any(|line| line.starts_with("not kept")) {
            self.daemon.known.in_doubt += said.len();
            let twice = |line: &String| line.contains("not kept: not kept");
            assert!(!said.iter().any(twice), "it is said once: {said:?}");
            let last = self.daemon.last_read.as_ref();
            let of = |stop: &usize| last == Some(&self.stop_spot(*stop));
            let before = (0..self.planned()).find(of);
            let at = self.next().filter(|at| *at < self.planned());
            self.not_kept.extend(at.into_iter().chain(before));
        }
        said
    }

    fn end(&mut self, _: u64) {
        if !self.ended {
            let _ = self.control(json!({"control": "end"}));
        }
        (self.ended, self.waits) = (true, false);
    }
}
