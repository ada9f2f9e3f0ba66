//! What the station announces: values, connections, readings, routes.

use std::sync::Arc;

use benchhand_wire::{BuretteCounts, Event, GaugeSetup, SaidAs};

use super::Station;
use crate::known::shop::Shop;
use crate::known::told;
use crate::known::words;
use crate::live::run::RunOutcome;
use crate::store::fact::{Fact, KeptSteering};
use crate::store::view::JobView;

/// Microseconds. A person reads no faster; more values would only crowd the event stream.
const VALUE_EVERY_US: u64 = 100_000;

impl Station {
    /// Announces what a route did, and ends the route where nothing is left to do.
    pub(super) fn publish(&mut self, job: &str, out: RunOutcome) {
        self.keep_what_was_heard(job);
        for said in out.said {
            self.say(Some(job), said.said_as, said.text);
        }
        for (gauge, counts) in out.learned {
            self.learned(&gauge, counts);
        }
        let took = !out.readings.is_empty();
        for id in out.readings {
            let engine = self.runs.get(job).map(|running| &*running.engine);
            let told = |view: &JobView| Some(told::reading(engine, view.reading(id)?));
            let shown = self.keeper.look(job, told);
            if let Ok(Some(reading)) = shown {
                self.hub.announce(Event::Reading {
                    job: job.to_owned(),
                    reading,
                });
            }
        }
        if took {
            self.ask_conditions_anew(job);
        }
        if out.moved {
            if let Some(progress) = self.progress(job) {
                self.hub.announce(Event::Route { progress });
            }
            self.end_if_finished(job);
        }
    }

    /// Keeps what the captures were told. Only making readings out anew needs that: where it cannot
    /// be kept, the work goes on.
    fn keep_what_was_heard(&mut self, job: &str) {
        let Some(running) = self.runs.get_mut(job) else {
            return;
        };
        for heard in running.run.heard() {
            let at = |at_us| self.recorders.position(job, &heard.gauge, at_us);
            let steered = KeptSteering {
                stream: heard.after_us.and_then(at),
                gauge: heard.gauge,
                mode: heard.mode,
                steer: heard.steer,
            };
            if let Err(refusal) = self.keeper.append(job, Fact::Steered(steered), None) {
                tracing::warn!(job, %refusal, "what a capture was told was not kept");
            }
        }
    }

    /// Asks once, aloud, for temperatures that were given in an earlier session.
    fn ask_conditions_anew(&mut self, job: &str) {
        let asks = self.progress(job).map(|p| p.asks).unwrap_or_default();
        let anew = asks
            .iter()
            .filter(|one| one.known.is_none() && one.before.is_some());
        let anew: Vec<String> = anew.map(|one| one.name.replace('/', " ")).collect();
        let Some(running) = self.runs.get_mut(job) else {
            return;
        };
        let before = std::mem::replace(&mut running.asked_anew, anew.clone());
        if !anew.is_empty() && before != anew {
            let text = format!("say anew: {}", anew.join(", "));
            self.say(Some(job), SaidAs::Asked, text);
        }
    }

    /// Keeps the direction of a scale in the register, so that it is asked once.
    fn learned(&mut self, gauge: &str, counts: BuretteCounts) {
        let Some(line) = self.lines.get(gauge) else {
            return;
        };
        let setup = GaugeSetup {
            counts: Some(counts),
            ..line.setup.clone()
        };
        match Shop::new(Arc::clone(&self.keeper)).set(&setup, None) {
            Ok(known) => {
                self.known_anew(known);
                let text =
                    format!("{gauge} counts {counts} while it delivers; kept in the register");
                self.say(None, SaidAs::Note, text);
            }
            Err(refusal) => self.say(None, SaidAs::Again, words::not_kept(&refusal)),
        }
    }

    fn end_if_finished(&mut self, job: &str) {
        let Some(running) = self.runs.get(job).filter(|r| r.run.finished()) else {
            return;
        };
        let (route, title) = (running.route.name.clone(), running.route.title.clone());
        if let Err(refusal) = self.keeper.append(
            job,
            Fact::RouteEnded {
                route,
                complete: true,
            },
            None,
        ) {
            self.say(Some(job), SaidAs::Again, words::not_kept(&refusal));
        }
        self.say(Some(job), SaidAs::Done, words::done(&title));
        self.say_checks(job);
        self.leave_route(job);
    }

    /// Asks for what no signal shows.
    pub(super) fn say_checks(&self, job: &str) {
        let checks = self.progress(job).map(|p| p.checks).unwrap_or_default();
        for check in checks {
            self.say(Some(job), SaidAs::Asked, check);
        }
    }

    /// A route has ended; its last progress is announced.
    pub(super) fn leave_route(&mut self, job: &str) {
        let last = self.progress(job);
        if let Some(running) = self.runs.remove(job) {
            for stop in running.run.stops() {
                self.recorders.close(job, &stop.gauge);
            }
        }
        if let Some(mut progress) = last {
            progress.running = false;
            self.hub.announce(Event::Route { progress });
        }
    }

    /// Announces a gauge's latest value, no faster than a person can follow.
    pub(super) fn announce_value(&mut self, gauge: &str) {
        let capture = self
            .runs
            .values()
            .find_map(|running| running.run.live(gauge));
        let Some(line) = self.lines.get_mut(gauge) else {
            return;
        };
        line.capture = capture;
        let now_us = self.keeper.clock().now_us();
        if line
            .announced_us
            .is_some_and(|last| now_us.saturating_sub(last) < VALUE_EVERY_US)
        {
            return;
        }
        line.announced_us = Some(now_us);
        line.passes(now_us);
        let live = line.live();
        self.hub.announce(Event::Value {
            gauge: gauge.to_owned(),
            live,
        });
    }

    /// Announces that a gauge's connection has changed.
    pub(super) fn announce_link(&mut self, gauge: &str, said: Option<String>) {
        if let Some(line) = self.lines.get(gauge) {
            self.hub.announce(Event::Link {
                gauge: line.state(),
            });
        }
        if let Some(text) = said {
            self.say(None, SaidAs::Gauge, text);
        }
    }
}
