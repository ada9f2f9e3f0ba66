//! The tool as evenings see it: a run with its job's facts in memory, without disk, port or clock. One job, and long.

use std::collections::BTreeMap;

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Quantity, Spot};
use benchhand_drivers::Sample;
use benchhand_wire::{BuretteCounts, Control, Reason, Refusal};

use crate::capture::Sigma;
use crate::known::expectation::{self, Expectation};
use crate::known::typed::ReadOff;
use crate::live::arrange::{GaugeOnRoute, arrange};
use crate::live::run::{ArrangedStop, Doubt, DoubtedReading, RouteRun, RunJournal, RunOutcome};
use crate::live::station::{asked_before, doubted_reading, route_at, so_far, walk_over};
use crate::route::{FigureRule, RouteStop, RouteWalk};
use crate::store::fact::{Fact, OpenedJob, RouteAt, RouteStarted, StreamAt};
use crate::store::fold::Stamp;
use crate::store::view::{JobView, ReadingState};
use crate::synth::evening::{
    EveningPlan, HandAnswer, HandRequest, PlayedTool, QuestionReason, Refused, ShownStop,
    ToolQuestion,
};

const GAUGE: &str = "burette";
const ROUTE: &str = "chambers";
const EVENING: jiff::Timestamp = jiff::Timestamp::UNIX_EPOCH;

/// A job's facts, put together by the store's own rules.
struct Notebook {
    engine: Engine,
    view: JobView,
    kept: u64,
}

impl RunJournal for Notebook {
    fn keep(&mut self, fact: Fact) -> Result<u64, Refusal> {
        let stamp = Stamp {
            seq: self.kept + 1,
            at: EVENING,
            hash: String::new(),
        };
        self.view
            .apply(stamp, fact)
            .map_err(|e| Refusal::new(Reason::Conflict, e.to_string()))?;
        self.kept += 1;
        Ok(self.kept)
    }

    fn stream_at(&self, _: &str, _: u64) -> Option<StreamAt> {
        None
    }

    fn expectation(&self, spot: &Spot, round: u32, kind: QuantityKind) -> Option<Expectation> {
        let at = expectation::ExpectedAt {
            stage: self.view.stage(),
            spot,
            round,
            kind,
        };
        expectation::expectation(&self.engine, &self.view, at)
    }

    fn doubted(&self, spot: &Spot) -> Vec<DoubtedReading> {
        let ids = expectation::doubted_brothers(&self.engine, &self.view, spot);
        ids.into_iter()
            .filter_map(|id| doubted_reading(&self.engine, &self.view, id))
            .collect()
    }

    fn apart(&self, spot: &Spot) -> Option<String> {
        expectation::rounds_apart(&self.engine, &self.view, spot)
    }

    fn only_brother(&self, spot: &Spot) -> Option<DoubtedReading> {
        doubted_reading(
            &self.engine,
            &self.view,
            expectation::only_brother(&self.engine, &self.view, spot)?,
        )
    }
}

/// The file of an engine with so many cylinders under one head.
pub(super) fn engine_text(plan: &EveningPlan) -> String {
    let cylinders: Vec<String> = (1..=plan.chambers).map(|c| c.to_string()).collect();
    let head = plan.nominal.map_or(String::new(), |cc| {
        format!("[head]\nnominal_chamber = \"{cc} cc\"\n")
    });
    format!(
        "name = \"Invented\"\nunits = \"metric\"\ncylinders = {}\nbanks = [[{}]]\n\
         bore = \"100 mm\"\nstroke = \"90 mm\"\n{head}",
        plan.chambers,
        cylinders.join(", ")
    )
}

/// The daemon of one evening.
pub(super) struct PlayedDaemon {
    gauge: GaugeOnRoute,
    stops: Vec<RouteStop>,
    arranged: Vec<ArrangedStop>,
    /// `None` while the daemon is dead, and once the route has ended.
    run: Option<RouteRun>,
    /// Whether the route ran to its end.
    ended: bool,
    notebook: Notebook,
    sigma: Option<Sigma>,
    said: Vec<String>,
    asked: Option<ToolQuestion>,
    questions: u64,
}

impl PlayedDaemon {
    /// A daemon whose route of chambers is about to begin.
    pub(super) fn new(plan: &EveningPlan) -> PlayedDaemon {
        let counts = match plan.make.counts_down {
            true => BuretteCounts::Down,
            false => BuretteCounts::Up,
        };
        let gauge = GaugeOnRoute {
            name: GAUGE.to_owned(),
            sense: 1.0,
            by_eye: false,
            channels: vec!["volume".to_owned()],
            capacity_cc: Some(plan.make.capacity),
            zero: None,
            zero_doubt: None,
            nominal: None,
            hanging: None,
            counts: plan.direction_known.then_some(counts),
            corrections: Vec::new(),
        };
        let stop = |at: usize| RouteStop {
            spot: format!("chamber/{}", at % plan.chambers + 1)
                .parse()
                .expect("a spot"),
            round: (at / plan.chambers) as u32 + 1,
            mode: "pour".to_owned(),
            kind: "volume".to_owned(),
            prompt: String::new(),
            figure: FigureRule::AsCaptured,
            turn: None,
            with: Vec::new(),
            settings: toml::Table::new(),
        };
        let mut notebook = Notebook {
            engine: Engine::from_toml(&engine_text(plan)).expect("an engine"),
            view: JobView::default(),
            kept: 0,
        };
        let opened = OpenedJob {
            job: "job".to_owned(),
            title: None,
            stage: "as received".to_owned(),
            program: "test".to_owned(),
            copy_of: None,
        };
        notebook.keep(Fact::Opened(opened)).expect("the first fact");
        let mut daemon = PlayedDaemon {
            gauge,
            stops: (0..plan.stops.len()).map(stop).collect(),
            arranged: Vec::new(),
            run: None,
            ended: false,
            notebook,
            sigma: None,
            said: Vec::new(),
            asked: None,
            questions: 0,
        };
        daemon.start();
        daemon
    }

    /// Starts the route, or takes it up where it stood.
    fn start(&mut self) {
        let stops = self.stops.iter().cloned();
        let arranged = stops.map(|stop| arrange(stop, &self.gauge, "job").expect("a burette"));
        self.arranged = arranged.collect();
        let stood = self.notebook.view.route().cloned();
        let walk = walk_over(&self.arranged, &self.notebook.view, stood.as_ref());
        let so_far = so_far(&self.notebook.view, stood.is_some(), EVENING);
        let held: Vec<u64> = self
            .notebook
            .view
            .readings()
            .filter(|r| r.state == ReadingState::Held)
            .map(|r| r.id)
            .collect();
        let open = held
            .iter()
            .filter_map(|of| doubted_reading(&self.notebook.engine, &self.notebook.view, *of));
        let open: Vec<DoubtedReading> = open.collect();
        for of in held {
            self.keep(Fact::Finalised { of });
        }
        if stood.is_some() {
            let route = ROUTE.to_owned();
            let complete = false;
            self.keep(Fact::RouteEnded { route, complete });
        }
        self.keep(Fact::RouteStarted(RouteStarted {
            route: ROUTE.to_owned(),
            stops: self
                .arranged
                .iter()
                .map(|a| a.stop.spot.to_string())
                .collect(),
            rounds: self.arranged.last().map_or(1, |a| a.stop.round),
            mean_s: None,
            gauges: Vec::new(),
        }));
        self.keep(Fact::RouteAt(self.standing(&walk)));
        let sigmas: BTreeMap<String, Sigma> =
            self.sigma.iter().map(|s| (GAUGE.to_owned(), *s)).collect();
        let mut run = RouteRun::new(self.arranged.clone(), walk, sigmas);
        if stood.is_some() {
            run.taken_up();
        }
        self.run = Some(run);
        if let Some(before) = so_far {
            self.work(|run, keep, out| run.resume(&before, keep, out));
        }
        self.work(|run, keep, out| run.broken_off(open, keep, out));
        let before = asked_before(&self.notebook.view, &self.arranged);
        self.work(|run, keep, out| run.asked_before(before, keep, out));
    }

    fn standing(&self, walk: &RouteWalk) -> RouteAt {
        route_at(ROUTE, &self.arranged, walk)
    }

    fn keep(&mut self, fact: Fact) {
        self.notebook.keep(fact).expect("a fact that fits");
    }

    /// Works on the run, tells the outcome, and ends the route where nothing is left to do.
    fn work<T>(
        &mut self,
        work: impl FnOnce(&mut RouteRun, &mut Notebook, &mut RunOutcome) -> T,
    ) -> Option<T> {
        let run = self.run.as_mut()?;
        let mut out = RunOutcome::default();
        let came = work(run, &mut self.notebook, &mut out);
        self.said.extend(out.said.into_iter().map(|said| said.text));
        for (_, counts) in out.learned {
            self.gauge.counts = Some(counts);
        }
        // A third round that the tool asked for is the hand's last visit to that chamber.
        let planned = self.arranged.len();
        let last = |stop: usize| {
            let spot = &run.stops()[stop].stop.spot;
            let same = |at: &usize| run.stops()[*at].stop.spot == *spot;
            (0..planned).rev().find(same).unwrap_or(0)
        };
        let asked = run.question().map(question).map(|asked| match asked.stop {
            stop if stop >= planned => ToolQuestion {
                stop: last(stop),
                ..asked
            },
            _ => asked,
        });
        if run.finished() {
            self.said.push("done".to_owned());
            self.run = None;
            self.ended = true;
        }
        self.asked = asked.map(|asked| match self.asked {
            Some(before) if same_question(&before, &asked) => ToolQuestion {
                id: before.id,
                ..asked
            },
            _ => {
                self.questions += 1;
                ToolQuestion {
                    id: self.questions,
                    ..asked
                }
            }
        });
        Some(came)
    }

    /// The reading that counts at a stop: its number and value.
    fn reading(&self, stop: usize) -> Option<(u64, f64)> {
        let RouteStop { spot, round, .. } = &self.arranged[stop].stop;
        let view = &self.notebook.view;
        let there = view.at_spot(view.stage(), &spot.to_string());
        there
            .filter(|r| r.state.is_live() && r.round.unwrap_or(1) == *round)
            .last()
            .map(|r| (r.id, r.value))
    }

    /// After the route's end a person who knows that a reading does not belong to its chamber voids
    /// it and measures what is missing, as the refusal advises.
    fn measures_over(&mut self, stop: usize) -> Result<(), Refused> {
        if let Some((of, _)) = self.reading(stop) {
            let reason = "another chamber was poured".to_owned();
            let voided = Fact::voided(of, reason);
            self.notebook.keep(voided).map_err(|e| e.to_string())?;
        }
        self.ended = false;
        self.start();
        Ok(())
    }

    fn moves(&mut self, from: usize, to: usize) -> Result<(), Refused> {
        let (of, _) = self
            .reading(from)
            .ok_or("there is no reading to be moved")?;
        let spot = |stop: usize| self.arranged[stop].stop.spot.clone();
        let (from, to) = (spot(from), spot(to));
        let moved = Fact::Moved {
            of,
            from: from.to_string(),
            to: to.to_string(),
            reason: "the wrong chamber was poured".to_owned(),
            by: None,
        };
        self.notebook.keep(moved).map_err(|e| e.to_string())?;
        self.work(|run, keep, _| run.reading_changed(of, Some(&to), keep));
        Ok(())
    }

    fn types(&mut self, cc: f64, sure: bool, at_us: u64) -> Result<(), Refused> {
        let read = ReadOff {
            value: Quantity {
                value: cc,
                unit: "cc".parse().expect("a unit"),
            },
            along: None,
            labels: Vec::new(),
        };
        let typed = self.work(|run, keep, out| run.typed(&read, (None, sure), at_us, keep, out));
        typed.ok_or("no route runs")?.map_err(|e| e.to_string())
    }

    fn controls(&mut self, control: &Control, at_us: u64) -> Result<(), Refused> {
        let done = self.work(|run, keep, out| run.control(control, at_us, keep, out));
        let done = done.ok_or("no route runs")?.map_err(|e| e.to_string());
        if let Some(run) = &self.run {
            let at = self.standing(run.walk());
            self.keep(Fact::RouteAt(at));
        }
        self.said
            .push(format!("next {:?}", self.next().map(|stop| stop + 1)));
        done
    }

    fn go_to(&self, stop: usize) -> Control {
        Control::Go {
            spot: format!(
                "{} round {}",
                self.arranged[stop].stop.spot, self.arranged[stop].stop.round
            ),
        }
    }
}

/// Whether two questions are about the same thing, though the value may have grown.
pub(super) fn same_question(a: &ToolQuestion, b: &ToolQuestion) -> bool {
    a.stop == b.stop && std::mem::discriminant(&a.why) == std::mem::discriminant(&b.why)
}

/// A run's question as the hand understands it.
pub(super) fn question(asked: &crate::live::run::StopQuestion) -> ToolQuestion {
    let why = match &asked.doubt {
        Doubt::Far(_) | Doubt::Slip(_) | Doubt::Handling(_) | Doubt::OldZero(_) => {
            QuestionReason::FarOff
        }
        Doubt::OneOrTwo(_) => QuestionReason::OneOrTwo,
        Doubt::Lost(_) => QuestionReason::Lost,
        Doubt::WhichWay { from, to, .. } => QuestionReason::WhichWay {
            from: *from,
            to: *to,
        },
        Doubt::Meanwhile | Doubt::AskedBefore(_) => QuestionReason::Meanwhile,
        Doubt::WhichAgain(_) => QuestionReason::WhichAgain,
        Doubt::Earlier(_) | Doubt::BrokenOff(_) => QuestionReason::Earlier,
    };
    let stop = match &asked.doubt {
        Doubt::WhichAgain(earlier) => *earlier,
        _ => asked.stop,
    };
    let number = asked.shown.split(' ').next();
    ToolQuestion {
        id: 0,
        stop,
        cc: number.and_then(|n| n.parse().ok()).unwrap_or(0.0),
        why,
    }
}

impl PlayedTool for PlayedDaemon {
    fn sample(&mut self, sample: &Sample) {
        self.work(|run, keep, out| run.sample(GAUGE, sample, keep, out));
    }

    fn lost(&mut self, at_us: u64) {
        self.work(|run, keep, out| run.gap(GAUGE, at_us, keep, out));
    }

    fn killed(&mut self) {
        self.sigma = self.run.as_ref().and_then(|run| run.sigma(GAUGE));
        self.run = None;
        self.asked = None;
    }

    fn interrupted(&mut self, at_us: u64) {
        self.work(|run, keep, out| run.end(at_us, keep, out));
        self.killed();
    }

    fn started(&mut self, _: u64) {
        self.start();
    }

    fn ask(&mut self, ask: HandRequest, at_us: u64) -> Result<(), Refused> {
        let control = match ask {
            HandRequest::Hold => Control::Hold,
            HandRequest::Resume => Control::Resume,
            HandRequest::Again => Control::Again,
            HandRequest::Skip => Control::Skip,
            HandRequest::Add => Control::Add,
            HandRequest::Take => Control::Take,
            HandRequest::Back => Control::Back,
            HandRequest::Undo => Control::Undo,
            HandRequest::Go(stop) if self.ended => return self.measures_over(stop),
            HandRequest::Go(stop) => self.go_to(stop),
            HandRequest::Type { cc, sure } => return self.types(cc, sure, at_us),
            HandRequest::Move { from, to } => return self.moves(from, to),
        };
        self.controls(&control, at_us)
    }

    fn next(&self) -> Option<usize> {
        self.run.as_ref()?.walk().at()
    }

    fn shown(&self, stop: usize) -> ShownStop {
        let skipped = |run: &RouteRun| run.walk().skipped().contains(&(stop as u32));
        match self.reading(stop) {
            Some((_, cc)) => ShownStop::Has(cc),
            None if self.run.as_ref().is_some_and(skipped) => ShownStop::Skipped,
            None => ShownStop::Left,
        }
    }

    fn questions(&self) -> Vec<ToolQuestion> {
        self.asked.into_iter().collect()
    }

    fn rounds_apart(&self) -> Vec<usize> {
        let planned = self.arranged.len();
        let third = self.run.iter().flat_map(|run| &run.stops()[planned..]);
        let spots: Vec<&Spot> = third.map(|one| &one.stop.spot).collect();
        let of = |at: &usize| spots.contains(&&self.arranged[*at].stop.spot);
        (0..planned).filter(of).collect()
    }

    fn answer(&mut self, _: &ToolQuestion, answer: HandAnswer, at_us: u64) -> Result<(), Refused> {
        let control = match answer {
            HandAnswer::Keep => Control::Keep,
            HandAnswer::Again => Control::Again,
            HandAnswer::Split => Control::Split,
            HandAnswer::Belongs(stop) => self.go_to(stop),
            HandAnswer::Refill => Control::Refill,
            HandAnswer::Delivered => Control::Delivered,
        };
        self.asked = None;
        self.controls(&control, at_us)
    }

    fn said(&mut self) -> Vec<String> {
        std::mem::take(&mut self.said)
    }

    fn end(&mut self, at_us: u64) {
        self.work(|run, keep, out| run.end(at_us, keep, out));
        self.run = None;
    }
}
