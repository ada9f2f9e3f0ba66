//! How a route begins, or is taken up where it stood.

use std::collections::{BTreeMap, BTreeSet};

use benchhand_blueprint::Engine;
use benchhand_wire::{Reason, Refusal, RouteProgress, SaidAs, TakenUp};

use super::standing::{
    as_it_was_begun, asked_before, broken_off, rounds_before, route_at, so_far, third_rounds,
    walk_over,
};
use super::{Running, Station};
use crate::capture::{CaptureMode, Sigma};
use crate::known::inputs;
use crate::known::told;
use crate::known::words;
use crate::live::arrange::{GaugeOnRoute, arrange};
use crate::live::line::GaugeLine;
use crate::live::run::{ArrangedStop, DoubtedReading, RouteRun};
use crate::live::{RouteAtTakeUp, taken_up};
use crate::route::{Route, RouteChoices, RouteStop, RouteWalk, expand};
use crate::store::fact::{Fact, InputKind, JobInput, RouteGauge, RouteStarted};
use crate::store::job::EngineFile;
use crate::store::view::{JobView, ReadingState};

/// The request to start a route.
#[derive(Debug, Clone)]
pub(crate) struct RouteOrder {
    pub(crate) job: String,
    pub(crate) route: Route,
    pub(crate) text: String,
    pub(crate) choices: RouteChoices,
    /// The gauges that were named, by kind.
    pub(crate) gauges: BTreeMap<String, String>,
    /// The seconds of a mean, where a person said them.
    pub(crate) mean_s: Option<f64>,
    /// Whether to begin again although there are readings.
    pub(crate) afresh: bool,
    /// Initials of who measures.
    pub(crate) by: Option<String>,
}

impl Station {
    /// Starts a route, or takes it up where it stood.
    ///
    /// # Errors
    /// Where a route runs on the job already, a gauge is missing, not heard or not zeroed, or the
    /// route does not fit the engine.
    pub(crate) fn start_route(&mut self, mut order: RouteOrder) -> Result<RouteProgress, Refusal> {
        let job = order.job.clone();
        if self.runs.contains_key(&job) {
            return Err(Refusal::new(
                Reason::Conflict,
                format!("a route runs on job {job} already"),
            )
            .todo(format!(
                "end it first with `benchhand steer {job} end`, or wait until it is done"
            )));
        }
        if let EngineFile::Refused(why) = self.keeper.engine_anew(&job)? {
            self.say(Some(&job), SaidAs::Note, words::engine_not_used(&why));
        }
        let (view, _) = self.keeper.view(&job)?;
        let engine = told::engine(&self.keeper, &view)?;
        order.choices.units = Some(engine.units);
        let cylinders = inputs::cylinders(&engine);
        if let Some(choices) = as_it_was_begun(&order, &cylinders, &view) {
            order.choices = choices;
        }
        let mut stops = expand(&order.route, &cylinders, &order.choices)
            .map_err(|e| Refusal::new(Reason::BadInput, e.to_string()))?;
        for stop in &stops {
            engine
                .admit(&stop.spot)
                .map_err(|e| Refusal::new(Reason::BadInput, e.to_string()))?;
        }
        let before = rounds_before(&order, &view, &stops);
        stops.iter_mut().for_each(|stop| stop.round += before);
        let third = third_rounds(&stops, &engine, &view);
        stops.extend(third);
        let (arranged, chosen) = self.arrange_all(stops, &order, (&view, &engine))?;
        let standing = broken_off(&order, &arranged, &view);
        let was_broken_off = standing.is_some();
        let walk = walk_over(&arranged, &view, standing);
        let asks = !asked_before(&view, &arranged).is_empty();
        if walk.at().is_none() && !was_broken_off && !asks {
            return Err(all_taken(&view));
        }
        let taken_up = self.taken_up(&order, &arranged, &walk, (&view, &engine));
        let so_far = so_far(&view, was_broken_off, self.keeper.clock().now_utc());
        let sigmas = self.record(&job, &arranged)?;
        let broken_off = self.keep_inputs(&order, &arranged, (&sigmas, &engine))?;
        self.keep_standing(&order, &arranged, &walk)?;
        self.show_zeros(&arranged, &view);
        let mut run = RouteRun::new(arranged, walk, sigmas);
        if was_broken_off {
            run.taken_up();
        }
        let mut out = super::RunOutcome {
            moved: true,
            ..Default::default()
        };
        for said in chosen {
            out.say(SaidAs::Note, said);
        }
        if let Some(stood) = &taken_up {
            out.say(SaidAs::Note, words::taken_up(stood));
        }
        let mut keep = super::JobKeep {
            keeper: &self.keeper,
            recorders: &self.recorders,
            job: &job,
            engine: &engine,
        };
        if let Some(before) = so_far {
            run.resume(&before, &mut keep, &mut out);
        }
        run.broken_off(broken_off, &mut keep, &mut out);
        run.asked_before(asked_before(&view, run.stops()), &mut keep, &mut out);
        self.runs.insert(
            job.clone(),
            Running {
                route: order.route,
                run,
                engine,
                taken_up,
                asked_anew: Vec::new(),
            },
        );
        self.publish(&job, out);
        self.say_checks(&job);
        let (view, _) = self.keeper.view(&job)?;
        match self.progress(&job) {
            Some(progress) => Ok(progress),
            // Everything had been taken before: the route was complete at once.
            None => Err(all_taken(&view)),
        }
    }

    /// Where the route stood, if its last reading is more than a day old.
    fn taken_up(
        &self,
        order: &RouteOrder,
        arranged: &[ArrangedStop],
        walk: &RouteWalk,
        (view, engine): (&JobView, &Engine),
    ) -> Option<TakenUp> {
        let gauges = arranged.iter().filter_map(|stop| {
            let line = self.lines.get(&stop.gauge)?;
            Some((stop.gauge.clone(), line.register_text.clone()))
        });
        let spots = arranged.iter().map(|stop| stop.stop.spot.to_string());
        taken_up(&RouteAtTakeUp {
            view,
            engine: Some(engine),
            now: self.keeper.clock().now_utc(),
            spots: spots.collect(),
            became: walk.became(),
            next: walk.at(),
            gauges: gauges.collect(),
            route: Some((&order.route.name, &order.text)),
        })
    }

    /// Keeps in the journal where the route stands, so that it stands there even if nothing more
    /// happens.
    fn keep_standing(
        &self,
        order: &RouteOrder,
        arranged: &[ArrangedStop],
        walk: &RouteWalk,
    ) -> Result<(), Refusal> {
        let at = route_at(&order.route.name, arranged, walk);
        if at.stop == 0 && at.skipped.is_empty() && !at.revisits {
            return Ok(());
        }
        self.keeper
            .append(&order.job, Fact::RouteAt(at), None)
            .map(|_| ())
    }

    /// The stops with their gauges, and what is to be said of how the gauges were chosen.
    fn arrange_all(
        &self,
        stops: Vec<RouteStop>,
        order: &RouteOrder,
        (view, engine): (&JobView, &Engine),
    ) -> Result<(Vec<ArrangedStop>, Vec<String>), Refusal> {
        gauges_are_needed(&stops, &order.gauges)?;
        let mut chosen = Vec::new();
        let mut by_kind: BTreeMap<String, GaugeOnRoute> = BTreeMap::new();
        for stop in &stops {
            if by_kind.contains_key(&stop.kind) {
                continue;
            }
            let (line, said) = self.gauge_for(&stop.kind, order, view)?;
            chosen.extend(said);
            // A gauge that is lost during a route is waited for. A gauge that cannot be opened at
            // all is better told of before the plate is greased.
            if let Some(shut) = line.shut() {
                return Err(shut);
            }
            if let Some(other) = self.run_that_uses(&line.name) {
                return Err(Refusal::new(
                    Reason::Conflict,
                    format!("{} is in use by the route on job {other}", line.name),
                ));
            }
            let now = self.keeper.clock().now_utc();
            by_kind.insert(stop.kind.clone(), line.on_route(view, now));
        }
        let arranged = stops.into_iter().map(|stop| {
            let gauge = &by_kind[&stop.kind];
            let arranged = arrange(stop, gauge, &order.job)?;
            let by = order.by.clone();
            let told = told::unit_of(engine, &arranged.stop.spot);
            Ok(ArrangedStop {
                by,
                told,
                ..arranged
            })
        });
        Ok((arranged.collect::<Result<_, Refusal>>()?, chosen))
    }

    /// Begins to record the gauges of a route, and tells what is known of their noise.
    fn record(
        &mut self,
        job: &str,
        arranged: &[ArrangedStop],
    ) -> Result<BTreeMap<String, Sigma>, Refusal> {
        let mut sigmas = BTreeMap::new();
        for stop in arranged {
            if let Some(line) = self.lines.get(&stop.gauge) {
                self.recorders.open(job, line)?;
                sigmas.insert(stop.gauge.clone(), line.sigma);
            }
        }
        Ok(sigmas)
    }

    /// Keeps everything that the readings will rest on in the journal before the first reading.
    /// Returns the pours that were still open when the work was broken off.
    fn keep_inputs(
        &self,
        order: &RouteOrder,
        arranged: &[ArrangedStop],
        (sigmas, engine): (&BTreeMap<String, Sigma>, &Engine),
    ) -> Result<Vec<DoubtedReading>, Refusal> {
        let mut gauges: Vec<&GaugeLine> = arranged
            .iter()
            .filter_map(|stop| self.lines.get(&stop.gauge))
            .collect();
        gauges.sort_by(|a, b| a.name.cmp(&b.name));
        gauges.dedup_by(|a, b| a.name == b.name);
        let mut inputs = vec![JobInput::new(
            InputKind::Route,
            &order.route.name,
            &order.text,
        )];
        for line in gauges {
            inputs.push(JobInput::new(
                InputKind::Profile,
                line.profile.name(),
                line.profile.text(),
            ));
            inputs.push(JobInput::new(
                InputKind::Gauge,
                &line.name,
                &line.register_text,
            ));
        }
        // A value that was held when the work was broken off can no longer be revised.
        let of_held = |view: &JobView| {
            let held = view.readings().filter(|r| r.state == ReadingState::Held);
            held.map(|r| r.id).collect::<Vec<_>>()
        };
        let held = self.keeper.look(&order.job, of_held)?;
        let poured = |view: &JobView| {
            let open = held.iter().filter_map(|id| view.reading(*id));
            let open = open.filter(|kept| kept.mode == Some(CaptureMode::Pour));
            open.filter_map(|kept| super::doubted_reading(engine, view, kept.id))
                .collect()
        };
        let poured = self.keeper.look(&order.job, poured)?;
        for of in held {
            self.keeper
                .append(&order.job, Fact::Finalised { of }, None)?;
        }
        self.keeper.with_job(&order.job, |job| {
            for input in inputs {
                job.load(input)
                    .map_err(|e| crate::known::refusals::of_job(&e))?;
            }
            let started = RouteStarted {
                route: order.route.name.clone(),
                stops: arranged.iter().map(|a| a.stop.spot.to_string()).collect(),
                rounds: arranged.iter().map(|a| a.stop.round).max().unwrap_or(1),
                mean_s: order.mean_s,
                gauges: sigmas
                    .iter()
                    .map(|(gauge, &sigma)| RouteGauge {
                        stream: self.recorders.file(&order.job, gauge),
                        gauge: gauge.clone(),
                        sigma,
                    })
                    .collect(),
            };
            if let Some(standing) = job.view().route() {
                let ended = Fact::RouteEnded {
                    route: standing.started.route.clone(),
                    complete: false,
                };
                job.append(ended, None)
                    .map_err(|e| crate::known::refusals::of_job(&e))?;
            }
            job.append(Fact::RouteStarted(started), None)
                .map_err(|e| crate::known::refusals::of_job(&e))?;
            Ok(())
        })?;
        Ok(poured)
    }
}

/// Refuses a gauge that was named for a kind that no stop measures: it would measure nothing, and
/// nobody would hear of it.
fn gauges_are_needed(stops: &[RouteStop], named: &BTreeMap<String, String>) -> Result<(), Refusal> {
    let kinds: BTreeSet<&str> = stops.iter().map(|stop| stop.kind.as_str()).collect();
    let Some((kind, gauge)) = named
        .iter()
        .find(|(kind, _)| !kinds.contains(kind.as_str()))
    else {
        return Ok(());
    };
    let known: Vec<&str> = kinds.into_iter().collect();
    let refusal = Refusal::new(
        Reason::BadInput,
        format!("{gauge} is to measure {kind}, and nothing of that kind is measured on this route"),
    )
    .expected(format!("--gauge {}=NAME", known.join("=NAME, --gauge ")));
    let two = stops.iter().find(|stop| !stop.with.is_empty());
    Err(match two {
        Some(stop) => refusal.todo(format!(
            "both pressures of a flow come from one gauge with two channels. Of two manometers, each \
             on a port of its own or read by eye, type both at the stop, or `benchhand enter JOB {} \
             \"28 inH2O and 4.55 inH2O\"`",
            stop.spot
        )),
        None => refusal,
    })
}

fn all_taken(view: &JobView) -> Refusal {
    let stage = view.stage();
    let found = format!("every stop of this route has its reading at stage {stage:?}");
    Refusal::new(Reason::Conflict, found)
        .todo("take further readings with --start-over, or void those that are wrong")
}
