//! The station's thread: the lines of the gauges, the routes that run, and what passes between
//! them.

#[cfg(test)]
mod anew_tests;
#[cfg(test)]
mod by_hand_tests;
mod choosing;
mod job_keep;
#[cfg(test)]
mod pedal_tests;
mod publish;
mod route;
#[cfg(test)]
mod route_tests;
mod standing;
mod steer;
#[cfg(test)]
mod taken_up_tests;
mod zeros;

use std::collections::BTreeMap;
use std::sync::Arc;

use benchhand_blueprint::Engine;
use benchhand_drivers::Sample;
use benchhand_drivers::port::PortEvent;
use benchhand_drivers::stream;
use benchhand_wire::{
    ChannelShows, Event, GaugeState, Reason, Refusal, RouteProgress, SaidAs, ShownMinute, TakenUp,
};

use super::hub::Hub;
use super::line::{GaugeLine, LineChange};
use super::opening::{Offer, Opener};
use super::progress::progress;
use super::recorder::Recorders;
use super::run::{RouteRun, RunJournal, RunOutcome};
use super::steady::RestingValue;
use crate::known::keeper::Keeper;
use crate::known::shop::ShopGauge;
use crate::route::Route;
use job_keep::JobKeep;
pub(super) use job_keep::doubted_reading;
pub(crate) use route::RouteOrder;
#[cfg(test)]
pub(super) use standing::{asked_before, route_at, so_far, walk_over};

/// A route that runs on a job.
struct Running {
    route: Route,
    run: RouteRun,
    /// The engine as it was when the route began.
    engine: Arc<Engine>,
    /// Where the route stood, if it was taken up after more than a day.
    taken_up: Option<TakenUp>,
    /// The conditions that were asked for anew in the present session.
    asked_anew: Vec<String>,
}

/// Everything that the station's thread owns.
pub(crate) struct Station {
    offer: Offer,
    keeper: Arc<Keeper>,
    hub: Arc<Hub>,
    opener: Arc<dyn Opener>,
    lines: BTreeMap<String, GaugeLine>,
    runs: BTreeMap<String, Running>,
    recorders: Recorders,
    answered: steer::Answered,
}

fn no_gauge(name: &str) -> Refusal {
    Refusal::new(Reason::NotFound, format!("there is no gauge {name:?}"))
        .todo("`benchhand gauge list` shows the shop's gauges")
}

impl Station {
    pub(crate) fn new(
        offer: Offer,
        keeper: Arc<Keeper>,
        hub: Arc<Hub>,
        opener: Arc<dyn Opener>,
    ) -> Station {
        let recorders = Recorders::new(Arc::clone(&keeper));
        Station {
            offer,
            keeper,
            hub,
            opener,
            lines: BTreeMap::new(),
            runs: BTreeMap::new(),
            recorders,
            answered: steer::Answered::default(),
        }
    }

    /// Opens the line of a gauge, or opens it anew where its setup changed.
    ///
    /// # Errors
    /// Where a running route uses the gauge, or no thread can be had.
    pub(crate) fn open_gauge(&mut self, gauge: ShopGauge) -> Result<GaugeState, Refusal> {
        let name = gauge.setup.name.clone();
        self.close_gauge(&name)?;
        let line = GaugeLine::open(gauge, &*self.opener, Arc::clone(&self.offer))?;
        let state = line.state();
        self.lines.insert(name, line);
        self.hub.announce(Event::Link {
            gauge: state.clone(),
        });
        Ok(state)
    }

    /// Closes the line of a gauge, if it has one.
    ///
    /// # Errors
    /// Where a running route uses the gauge.
    pub(crate) fn close_gauge(&mut self, name: &str) -> Result<(), Refusal> {
        self.not_on_a_route(name)?;
        if let Some(line) = self.lines.remove(name) {
            line.close();
        }
        Ok(())
    }

    /// A gauge is taken out of the register: its line is closed, and whoever watches is told.
    ///
    /// # Errors
    /// Where a running route uses the gauge.
    pub(crate) fn remove_gauge(&mut self, name: &str) -> Result<(), Refusal> {
        self.close_gauge(name)?;
        self.hub.announce(Event::GaugeRemoved {
            gauge: name.to_owned(),
        });
        Ok(())
    }

    /// The gauges as they are now.
    pub(crate) fn gauges(&self) -> Vec<GaugeState> {
        self.lines.values().map(GaugeLine::state).collect()
    }

    /// The paths of the ports that are open.
    pub(crate) fn open_paths(&self) -> Vec<String> {
        self.lines
            .values()
            .filter_map(GaugeLine::open_path)
            .collect()
    }

    /// The routes that run.
    pub(crate) fn routes(&self) -> Vec<RouteProgress> {
        self.runs
            .keys()
            .filter_map(|job| self.progress(job))
            .collect()
    }

    /// Where the route of a job stands, if one runs.
    pub(crate) fn progress(&self, job: &str) -> Option<RouteProgress> {
        let running = self.runs.get(job)?;
        let look = |view: &_| RouteProgress {
            taken_up: running.taken_up.clone(),
            ..progress(
                job,
                &running.route,
                &running.run,
                &running.engine,
                (view, self.keeper.clock().now_utc()),
                running.engine.flow.orifice.as_deref(),
            )
        };
        self.keeper.look(job, look).ok()
    }

    /// The run of a job, if one is under way.
    #[cfg(test)]
    pub(super) fn run(&self, job: &str) -> Option<&RouteRun> {
        self.runs.get(job).map(|running| &running.run)
    }

    /// The mean of what a gauge shows while it rests, with its spread.
    ///
    /// # Errors
    /// Where there is no such gauge, it is not heard, or it moves.
    pub(crate) fn steady(&self, name: &str, channel: usize) -> Result<RestingValue, Refusal> {
        let line = self.lines.get(name).ok_or_else(|| no_gauge(name))?;
        line.steady(channel)
    }

    /// The mean of each channel of a gauge, and whether it rests.
    ///
    /// # Errors
    /// Where there is no such gauge, or it is not heard.
    pub(crate) fn shows(&self, name: &str) -> Result<Vec<ChannelShows>, Refusal> {
        let line = self.lines.get(name).ok_or_else(|| no_gauge(name))?;
        line.shows()
    }

    /// What a gauge showed in the last minute.
    ///
    /// # Errors
    /// Where there is no such gauge.
    pub(crate) fn minute(&self, name: &str) -> Result<ShownMinute, Refusal> {
        let line = self.lines.get(name).ok_or_else(|| no_gauge(name))?;
        let clock = self.keeper.clock();
        Ok(line
            .minute
            .told(clock.now_us(), clock.now_utc().to_string()))
    }

    /// The entry of a gauge in the register has changed; its port stays open.
    pub(crate) fn known_anew(&mut self, gauge: ShopGauge) {
        if let Some(line) = self.lines.get_mut(&gauge.setup.name) {
            line.known_anew(gauge);
            let gauge = line.state();
            self.hub.announce(Event::Link { gauge });
        }
    }

    /// Refuses where a running route uses the gauge: its values must not be turned into figures in
    /// two ways.
    ///
    /// # Errors
    /// Where a running route uses the gauge.
    pub(crate) fn not_on_a_route(&self, name: &str) -> Result<(), Refusal> {
        match self.run_that_uses(name) {
            Some(job) => {
                let found = format!("the route on job {job} uses {name}");
                Err(Refusal::new(Reason::Conflict, found).todo("end the route first"))
            }
            None => Ok(()),
        }
    }

    /// Whether a port is being opened just now, for the first time.
    pub(crate) fn is_opening(&self) -> bool {
        self.lines.values().any(GaugeLine::is_opening)
    }

    /// Takes in an event of a port's thread.
    pub(crate) fn port_event(&mut self, gauge: &str, opening: u64, event: PortEvent) {
        let Some(line) = self.lines.get_mut(gauge) else {
            return;
        };
        if !line.is(opening) {
            return;
        }
        match event {
            PortEvent::Opened { at_us } => {
                self.recorders.link(gauge, at_us, stream::LinkChange::Open)
            }
            PortEvent::Gone { at_us, .. } => {
                self.recorders.link(gauge, at_us, stream::LinkChange::Gone)
            }
            _ => {}
        }
        let change = line.take(event);
        let off = line.was_off(|| self.keeper.clock().now_utc());
        if let Some(said) = off {
            self.zero_lost(gauge, said);
        }
        match change {
            LineChange::Nothing => {}
            LineChange::Raw {
                at_us,
                direction,
                bytes,
            } => {
                self.recorders.write(gauge, at_us, direction, bytes);
            }
            LineChange::Samples(samples) => self.samples(gauge, &samples),
            LineChange::OtherUnit { samples, said } => {
                self.announce_link(gauge, Some(said));
                self.samples(gauge, &samples);
            }
            LineChange::Inputs { at_us, inputs } => self.pedal_moved(gauge, at_us, inputs),
            LineChange::Broken { at_us, said } => {
                self.each_run_of(gauge, |run, keep, out| run.gap(gauge, at_us, keep, out));
                self.announce_link(gauge, Some(said));
            }
            LineChange::Link { said } => self.announce_link(gauge, said),
        }
    }

    fn samples(&mut self, gauge: &str, samples: &[Sample]) {
        self.each_run_of(gauge, |run, keep, out| {
            for sample in samples {
                run.sample(gauge, sample, keep, out);
            }
        });
        self.announce_value(gauge);
        let came_alive = self.lines.get_mut(gauge).is_some_and(GaugeLine::came_alive);
        if came_alive {
            self.announce_link(gauge, None);
        }
        if let Some(last) = samples.last() {
            self.tick_pedal(gauge, last.at_us);
        }
    }

    /// The work of an idle moment: recorded bytes go to the disk.
    pub(crate) fn look_around(&mut self) {
        self.tick_pedals();
        self.recorders.flush();
        for notice in self.keeper.notices() {
            tracing::warn!(notice, "the store");
            self.say(None, SaidAs::Note, notice);
        }
    }

    /// Ends in good order: held readings stay held, unfinished routes stay so, nothing is lost.
    pub(crate) fn stop(&mut self) {
        for (_, line) in std::mem::take(&mut self.lines) {
            line.close();
        }
        for job in self.runs.keys().cloned().collect::<Vec<_>>() {
            self.leave_route(&job);
        }
        self.recorders.flush();
        for refusal in self.keeper.stop() {
            tracing::error!(%refusal, "the stop was not kept");
        }
        self.hub.announce(Event::Stopping {});
    }

    /// Ends at once: acknowledged facts are kept, nothing else is.
    pub(crate) fn break_off(&mut self) {
        for (_, line) in std::mem::take(&mut self.lines) {
            line.close();
        }
        self.recorders.forget();
    }

    fn run_that_uses(&self, gauge: &str) -> Option<&str> {
        let uses =
            |r: &Running| !r.run.finished() && r.run.stops().iter().any(|s| s.gauge == gauge);
        self.runs
            .iter()
            .find(|(_, r)| uses(r))
            .map(|(job, _)| job.as_str())
    }

    /// The latest time at which any gauge was heard.
    fn now_us(&self) -> u64 {
        self.lines
            .values()
            .map(GaugeLine::heard_us)
            .max()
            .unwrap_or(0)
    }

    /// Does something with each route that uses a gauge, and publishes what comes of it.
    fn each_run_of(
        &mut self,
        gauge: &str,
        mut work: impl FnMut(&mut RouteRun, &mut dyn RunJournal, &mut RunOutcome),
    ) {
        let mut outcomes = Vec::new();
        let Station {
            runs,
            keeper,
            recorders,
            lines,
            ..
        } = self;
        for (job, running) in runs {
            if !running.run.stops().iter().any(|stop| stop.gauge == gauge) {
                continue;
            }
            let mut out = RunOutcome::default();
            let mut keep = JobKeep {
                keeper,
                recorders,
                job,
                engine: &running.engine,
            };
            work(&mut running.run, &mut keep, &mut out);
            if let (Some(line), Some(sigma)) = (lines.get_mut(gauge), running.run.sigma(gauge)) {
                line.sigma = sigma;
            }
            if !out.is_empty() || running.run.has_heard() {
                outcomes.push((job.clone(), out));
            }
        }
        for (job, out) in outcomes {
            self.publish(&job, out);
        }
    }

    fn say(&self, job: Option<&str>, said_as: SaidAs, text: String) {
        tracing::info!(job, ?said_as, text, "said");
        self.hub.announce(Event::Say {
            job: job.map(str::to_owned),
            said_as,
            text,
        });
    }
}
