//! What a person asks of a running route, and what else changes the readings of a route.

use std::collections::VecDeque;

use benchhand_blueprint::units::QuantityKind;
use benchhand_drivers::transport::ModemInputs;
use benchhand_wire::{Control, Reason, Refusal, RouteProgress, SaidAs, Typed};

use super::standing::route_at;
use super::{JobKeep, Running, Station};
use crate::known::inputs;
use crate::known::slips::{Written, looks_like_a_slip};
use crate::known::told::symbol_of;
use crate::known::typed::{self, ReadOff};
use crate::live::run::{RunJournal, RunOutcome, as_said};
use crate::pedal::Pedal;
use crate::store::fact::Fact;

/// The latest controls by their write keys, so that a control sent twice is carried out once.
#[derive(Debug, Default)]
pub(super) struct Answered {
    latest: VecDeque<(String, RouteProgress)>,
}

/// How many are remembered: a client repeats at once or not at all.
const REMEMBERED: usize = 64;

impl Answered {
    fn before(&self, key: Option<&str>) -> Option<RouteProgress> {
        let found = self.latest.iter().find(|(k, _)| Some(k.as_str()) == key);
        found.map(|(_, progress)| progress.clone())
    }

    fn remember(&mut self, key: Option<&str>, progress: &RouteProgress) {
        let Some(key) = key else { return };
        if self.latest.len() == REMEMBERED {
            self.latest.pop_front();
        }
        self.latest.push_back((key.to_owned(), progress.clone()));
    }
}

impl Station {
    /// Steers the route of a job. The same `key` again does nothing more and gets the same answer.
    ///
    /// # Errors
    /// Where no route runs, or the control makes no sense at the present stop.
    pub(crate) fn control(
        &mut self,
        job: &str,
        control: &Control,
        key: Option<&str>,
    ) -> Result<RouteProgress, Refusal> {
        if let Some(before) = self.answered.before(key) {
            return Ok(before);
        }
        let no_route = || {
            Refusal::new(Reason::Conflict, format!("no route runs on job {job}"))
                .todo("start one with `benchhand measure`")
        };
        let mut out = RunOutcome::default();
        let at_us = self.now_us();
        let read = match control {
            Control::Type(typed) => Some((self.read_off(job, typed)?, typed.sure)),
            _ => None,
        };
        let Station {
            runs,
            keeper,
            recorders,
            ..
        } = self;
        let running = runs.get_mut(job).ok_or_else(no_route)?;
        let going = match control {
            Control::Go { spot } => Some(as_said(spot, running.engine.units)),
            _ => None,
        };
        let said = going.map(|spot| Control::Go { spot });
        let control = said.as_ref().unwrap_or(control);
        let mut keep = JobKeep {
            keeper,
            recorders,
            job,
            engine: &running.engine,
        };
        let done = match (control, read) {
            (Control::End, _) => {
                running.run.end(at_us, &mut keep, &mut out);
                Ok(())
            }
            (_, Some(((read, slip), sure))) => {
                let doubt = (slip, sure);
                running.run.typed(&read, doubt, at_us, &mut keep, &mut out)
            }
            _ => running
                .run
                .control(control, at_us, &mut keep, &mut out)
                .and_then(|()| {
                    let at = route_at(
                        &running.route.name,
                        running.run.planned(),
                        running.run.walk(),
                    );
                    keep.keep(Fact::RouteAt(at)).map(drop)
                }),
        };
        out.moved = true;
        let mut after = self.progress(job).ok_or_else(no_route)?;
        // Whoever ends it hears that it has ended, also where something is asked still.
        after.running &= *control != Control::End;
        // What was kept before the disk refused the rest is told all the same.
        self.publish(job, out);
        done?;
        self.answered.remember(key, &after);
        if *control == Control::End {
            self.leave_route(job);
        }
        Ok(after)
    }

    /// A request outside the route moved or voided a reading; the stops follow.
    pub(crate) fn reading_changed(&mut self, job: &str, id: u64) {
        let Station {
            runs,
            keeper,
            recorders,
            ..
        } = self;
        let Some(Running { run, engine, .. }) = runs.get_mut(job) else {
            return;
        };
        let spot = keeper.look(job, |view| {
            let kept = view.reading(id).filter(|r| r.state.is_live())?;
            kept.spot.parse().ok()
        });
        let Ok(spot) = spot else { return };
        let keep = JobKeep {
            keeper,
            recorders,
            job,
            engine,
        };
        run.reading_changed(id, spot.as_ref(), &keep);
        let out = RunOutcome {
            moved: true,
            ..RunOutcome::default()
        };
        self.publish(job, out);
    }

    /// The contact of a pedal has moved.
    pub(super) fn pedal_moved(&mut self, gauge: &str, at_us: u64, inputs: ModemInputs) {
        self.recorders.inputs(gauge, at_us, inputs);
        let pedal = self.lines.get_mut(gauge).and_then(|l| l.pedal.as_mut());
        let asked = pedal.map(|pedal| pedal.inputs(at_us, inputs));
        self.pedal_asks(gauge, asked.unwrap_or_default());
    }

    /// A gauge was heard: everything that happened at its port before is known.
    pub(super) fn tick_pedal(&mut self, gauge: &str, at_us: u64) {
        let pedal = self.lines.get_mut(gauge).and_then(|l| l.pedal.as_mut());
        if let Some(pedal) = pedal.filter(|pedal| pedal.waits()) {
            let asked = pedal.tick(at_us);
            self.pedal_asks(gauge, asked);
        }
    }

    /// No messages wait: time has passed for every pedal.
    pub(super) fn tick_pedals(&mut self) {
        for gauge in self.lines.keys().cloned().collect::<Vec<_>>() {
            let now = self.opener.time(&gauge).now_us();
            self.tick_pedal(&gauge, now);
        }
    }

    /// Whether a press is under way, so that the pedal must be told the time soon.
    pub(crate) fn pedal_waits(&self) -> bool {
        let mut pedals = self.lines.values().filter_map(|l| l.pedal.as_ref());
        pedals.any(Pedal::waits)
    }

    /// A press steers the route that uses the pedal's gauge, or the only route that runs.
    fn pedal_asks(&mut self, gauge: &str, asked: Vec<Control>) {
        for control in asked {
            let only = || match self.runs.len() {
                1 => self.runs.keys().next().map(String::as_str),
                _ => None,
            };
            let job = self.run_that_uses(gauge).or_else(only).map(str::to_owned);
            let Some(job) = job else {
                let text = "the pedal was pressed, and no route runs".to_owned();
                self.say(None, SaidAs::Note, text);
                continue;
            };
            if let Err(refusal) = self.control(&job, &control, None) {
                self.say(Some(&job), SaidAs::Again, format!("not done: {refusal}"));
            }
        }
    }

    /// The value that was typed for the present stop, and the slip that it looks like.
    fn read_off(&self, job: &str, typed: &Typed) -> Result<(ReadOff, Option<String>), Refusal> {
        let running = self.runs.get(job);
        let here = running.and_then(|r| {
            let stop = r.run.walk().at()?;
            let spot = r.run.stops()[stop].stop.spot.clone();
            let unit = symbol_of(&r.engine, &spot);
            let kind = r.engine.kind_of(&spot);
            Some((spot, unit, kind))
        });
        let Some((spot, unit, kind)) = here else {
            return Err(
                Refusal::new(Reason::Conflict, "the route has no stop left, or none runs")
                    .todo("enter the reading with its spot, or go to a spot first"),
            );
        };
        let weighed = self.keeper.look(job, |view| {
            inputs::engine(view).is_ok_and(|engine| engine.takes(kind, QuantityKind::Mass))
        })?;
        let read = typed::read_off(&typed::in_unit(typed, unit), kind, weighed)?;
        typed::can_be(&spot, read.value)?;
        // A flow's test pressure alone says nothing of the flow.
        typed::along_with(&spot, read.along)?;
        let labels = read.labels.iter().cloned().collect();
        let written = Written::of(read.value.value, None, &labels);
        let slip = self.keeper.look(job, |view| {
            looks_like_a_slip(view, &spot, read.value, &written)
        })?;
        Ok((read, slip))
    }
}
