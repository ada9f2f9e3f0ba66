//! What a person at the bench can ask of a run.

use benchhand_blueprint::Spot;
use benchhand_wire::{Control, Reason, Refusal, SaidAs};

use super::asking::{Doubt, Undo, ValueOrigin, Waiting};
use super::{RouteRun, RunJournal, RunOutcome, reading_of};
use crate::capture::{self, CaptureMode, CapturePhase};
use crate::known::typed::ReadOff;
use crate::known::words;
use crate::route::{FigureRule, StopOutcome};
use crate::store::fact::{ASKED, Fact, Reading, ReadingSource, WHY_ASKED};

impl RouteRun {
    /// Carries out a control.
    ///
    /// # Errors
    /// Where the control makes no sense at the route's present stop, or the journal refused.
    pub fn control(
        &mut self,
        control: &Control,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        out.moved = true;
        // Whoever steers has heard what was said, and says where the route is to stand.
        self.unkept = None;
        let was_asked = self.question.is_some();
        let meanwhile: Vec<bool> = self.waiting.iter().map(|one| one.meanwhile).collect();
        if self.answer(control, at_us, keep, out)? {
            self.turn_to_stop();
            return Ok(());
        }
        // An answer that leaves its value waiting moves the value with the route.
        let asked = self.question.is_some() || !self.waiting.is_empty() && was_asked;
        let stood = self.walk.clone();
        if matches!(control, Control::Back | Control::Skip | Control::Go { .. }) {
            self.returns_to = None;
        }
        match control {
            Control::Take => self.tell_capture(capture::CaptureControl::Take, at_us, keep, out),
            Control::Add => self.tell_capture(capture::CaptureControl::Add, at_us, keep, out),
            Control::Split => self.tell_capture(capture::CaptureControl::Split, at_us, keep, out),
            Control::Drop => self.drop_waiting(at_us, keep, out)?,
            Control::Again => self.again(at_us, keep, out)?,
            Control::Skip => {
                if !asked {
                    self.leave_stop(at_us, keep, out)?;
                    self.mark_under_way();
                }
                self.walk.skip();
            }
            Control::Hold | Control::Resume => {
                let hold = *control == Control::Hold;
                self.undo = Some(Undo::Hold(self.on_hold));
                self.set_hold(hold, keep, out);
            }
            Control::Back | Control::Go { .. } => {
                let stop = match control {
                    Control::Go { spot } => self.stop_said(spot)?,
                    // Back from where the person sees the route stand.
                    _ => self.walk.before(),
                };
                self.goes_to(stop, asked, at_us, keep, out)?;
            }
            Control::Undo => self.undo(keep, out)?,
            Control::Type { .. }
            | Control::End
            | Control::Keep
            | Control::Refill
            | Control::Delivered => {
                return Err(Refusal::new(
                    Reason::BadInput,
                    "this control is not the run's",
                ));
            }
        }
        if matches!(control, Control::Back | Control::Skip | Control::Go { .. }) {
            self.undo = Some(Undo::Walk {
                walk: stood,
                meanwhile,
            });
            self.stirred = false;
        }
        if matches!(control, Control::Back | Control::Go { .. }) {
            self.measure_anew(at_us, keep, out);
        }
        self.settle_waiting(keep, out);
        self.turn_to_stop();
        Ok(())
    }

    /// Tells every capture to ignore the samples, or to go on.
    pub(super) fn set_hold(&mut self, hold: bool, keep: &mut dyn RunJournal, out: &mut RunOutcome) {
        if hold == self.on_hold {
            return;
        }
        self.on_hold = hold;
        self.poured_on_hold = None;
        for index in 0..self.actives.len() {
            // A capture that has stopped by itself waits already, and goes on with the others.
            let waits = self.actives[index].capture.phase() == CapturePhase::Paused;
            if waits != hold {
                self.tell(index, capture::CaptureControl::Hold, 0, keep, out);
            }
        }
    }

    /// A capture that had stopped by itself does not go on by itself while the route is on hold.
    pub(super) fn stay_on_hold(&mut self, gauge: &str) {
        for active in self
            .actives
            .iter_mut()
            .filter(|a| self.on_hold && a.gauge == gauge)
        {
            if active.capture.phase() != CapturePhase::Paused {
                active.told(capture::CaptureControl::Hold, 0, &mut Vec::new());
            }
        }
    }

    /// Takes a value that a person typed for the present stop. A value far from what is expected,
    /// or one that looks like `slip`, is asked about first.
    ///
    /// # Errors
    /// Where the route is done, or the journal refused.
    pub fn typed(
        &mut self,
        read: &ReadOff,
        (slip, sure): (Option<String>, bool),
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let Some(stop) = self.walk.at() else {
            return Err(Refusal::new(Reason::Conflict, "the route has no stop left")
                .todo("enter the reading with its spot, or go to a spot first"));
        };
        out.moved = true;
        self.replaced_by_typing(stop, at_us, keep)?;
        let waiting = Waiting {
            slip,
            sure,
            ..Waiting::whole(ValueOrigin::Typed(read.clone()))
        };
        // Behind a question that the value does not answer, what is typed waits in its order.
        let before = self.waiting.iter().take_while(|one| {
            self.question.is_some() && matches!(one.origin, ValueOrigin::Typed(_))
        });
        let place = before.count();
        self.waiting.insert(place, waiting);
        self.settle_waiting(keep, out);
        self.turn_to_stop();
        Ok(())
    }

    /// A typed value as a reading of a stop.
    pub(super) fn typed_reading(&self, stop: usize, read: &ReadOff) -> Result<Reading, Refusal> {
        let arranged = &self.stops[stop];
        let (shown, unit) = (read.value.value, read.value.unit.symbol());
        // A value typed for a spot that counts from a zero is the figure itself.
        let value = match (arranged.stop.figure, unit.parse()) {
            (FigureRule::AsCaptured, Ok(unit)) => {
                arranged.basis.figure(FigureRule::AsCaptured, shown, unit)?
            }
            _ => shown,
        };
        let mut reading = Reading::new(
            arranged.stop.spot.to_string(),
            value,
            unit,
            ReadingSource::Typed,
        );
        if value != shown {
            (reading.raw, reading.raw_unit) = (Some(shown), Some(unit.to_owned()));
        }
        reading.labels.extend(read.labels.clone());
        reading.parts.extend(arranged.typed_part(read)?);
        reading.round = Some(arranged.stop.round);
        reading.gauge = Some(arranged.gauge.clone());
        reading.by.clone_from(&arranged.by);
        reading.mode = Some(CaptureMode::Press);
        Ok(reading)
    }

    /// Keeps a reading at a stop, with the question that was asked before and the number under
    /// which the value was kept safe meanwhile.
    pub(super) fn keep_made(
        &mut self,
        mut reading: Reading,
        (stop, asked, record): (usize, Option<&str>, Option<u64>),
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let stood = self.walk.clone();
        self.void_former(stop, keep, out)?;
        let place = &self.stops[stop].stop;
        reading.spot = place.spot.to_string();
        reading.round = Some(place.round);
        reading.supersedes = record;
        reading.labels.remove(WHY_ASKED);
        reading
            .labels
            .extend(asked.map(|asked| (ASKED.to_owned(), asked.to_owned())));
        let step = words::step_of(&reading.labels);
        let said = words::taken(&place.spot, &reading, step, self.stops[stop].told);
        let id = keep.keep(Fact::Final(reading))?;
        self.reading_kept(stop, StopOutcome::Taken(id), id, SaidAs::Taken, &said, out);
        self.undo = Some(Undo::Void {
            id,
            stop,
            walk: stood,
        });
        self.third_round(stop, keep, out);
        Ok(())
    }

    /// A reading was moved to `spot`, or voided where `spot` is `None`, by a request outside the
    /// route. Its stop must be visited again; the stop of `spot` gets the reading where it had
    /// none.
    pub fn reading_changed(&mut self, id: u64, spot: Option<&Spot>, keep: &dyn RunJournal) {
        let had = self.stop_with(id);
        let gets = spot.and_then(|spot| {
            let round = had.map(|s| self.stops[s].stop.round);
            let fits = |s: &usize| {
                self.stops[*s].stop.spot == *spot && reading_of(self.walk.became()[*s]).is_none()
            };
            let mut fitting = (0..self.stops.len()).filter(fits);
            let all: Vec<usize> = fitting.by_ref().collect();
            let same_round = |s: &usize| Some(self.stops[*s].stop.round) == round;
            let counts = |s: &usize| keep.live_at(spot, self.stops[*s].stop.round).contains(&id);
            all.iter()
                .copied()
                .find(counts)
                .or(all.iter().copied().find(same_round))
                .or(all.first().copied())
        });
        let became = had.map(|s| self.walk.became()[s]);
        if let Some(stop) = had.filter(|&s| Some(&self.stops[s].stop.spot) != spot) {
            self.walk.left(stop);
            // Two readings that were exchanged: the other one came here before this one went. One that
            // was voided leaves its stop to be measured again.
            let there = &self.stops[stop].stop;
            let here = spot.map(|_| keep.live_at(&there.spot, there.round));
            let here = here.unwrap_or_default();
            if let Some(&id) = here.last() {
                // As long as this one was here, the other one counted for a later round.
                if let Some(later) = self.stop_with(id) {
                    self.walk.left(later);
                }
                self.walk.reading_kept(stop, StopOutcome::Taken(id));
            }
        }
        // A reading that moves to the stop of another one is that stop's too once that one goes.
        let became = became.or_else(|| gets.map(|_| StopOutcome::Taken(id)));
        if let (Some(stop), Some(became)) = (gets, became) {
            self.walk.reading_kept(stop, became);
        }
        for outcome in self
            .actives
            .iter_mut()
            .flat_map(|a| a.outcomes.values_mut())
        {
            if outcome.id == Some(id) && Some(&self.stops[outcome.stop].stop.spot) != spot {
                match gets {
                    Some(stop) => outcome.stop = stop,
                    // No stop of this route has that spot: a later value of the same pour is a new
                    // reading.
                    None => (outcome.id, outcome.held) = (None, false),
                }
            }
        }
        self.turn_to_stop();
    }

    fn stop_with(&self, id: u64) -> Option<usize> {
        let became = self.walk.became().iter();
        became.copied().position(|b| reading_of(b) == Some(id))
    }

    pub(super) fn tell_capture(
        &mut self,
        control: capture::CaptureControl,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        let here = self.walk.at().map(|stop| self.stops[stop].gauge.clone());
        // Past the last stop the control is for the gauge that measured the last reading.
        let Some(gauge) = here.or_else(|| self.newest_gauge()) else {
            return;
        };
        self.feed(&gauge, keep, out, |active, events| {
            active.told(control, at_us, events)
        });
    }

    /// The gauge of the newest reading.
    fn newest_gauge(&self) -> Option<String> {
        let became = self.walk.became().iter().enumerate();
        let read = became.filter_map(|(stop, &b)| reading_of(b).map(|id| (id, stop)));
        read.max().map(|(_, stop)| self.stops[stop].gauge.clone())
    }

    /// `again` begins the present stop anew. Before anything has moved at this stop it may mean the
    /// reading before (a bubble is seen after the route moved on); then a person is asked.
    fn again(
        &mut self,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let here = self.walk.at();
        let at_stop = here.filter(|&s| reading_of(self.walk.became()[s]).is_some());
        if let Some(stop) = at_stop {
            return self.take_again(stop, at_us, keep, out);
        }
        let moved = self.stirred || !self.waiting.is_empty();
        if let Some(stop) = here.filter(|_| moved) {
            let gauge = self.stops[stop].gauge.clone();
            for one in std::mem::take(&mut self.waiting) {
                self.forget_record(&one, "taken again", keep)?;
            }
            self.stirred = false;
            // The amount of the pour before stands; the other modes begin anew with the reading.
            let anew = match self.stops[stop].stop.mode == "pour" {
                true => capture::CaptureControl::Anew,
                false => capture::CaptureControl::Again,
            };
            for index in 0..self.actives.len() {
                if self.actives[index].gauge != gauge {
                    continue;
                }
                if self.actives[index].holds() {
                    self.tell(index, capture::CaptureControl::Over, at_us, keep, out);
                }
                let active = &mut self.actives[index];
                active.under_way = false;
                active.told(anew, at_us, &mut Vec::new());
            }
            out.say(SaidAs::Again, words::again(&self.stops[stop].stop.spot));
            return Ok(());
        }
        let last = self.walk.became().iter().enumerate();
        let newest = last
            .filter_map(|(s, &b)| reading_of(b).map(|id| (id, s)))
            .max()
            .map(|(_, s)| s);
        let Some(stop) = newest else {
            return Err(Refusal::new(
                Reason::Conflict,
                "no reading was taken on this route yet",
            ));
        };
        match here {
            // Right under the value nothing else can be meant.
            Some(_) if self.was_told_just_now(stop) => self.take_again(stop, at_us, keep, out)?,
            Some(here) => self.ask(here, Doubt::WhichAgain(stop), None, out),
            // Nothing else can be meant once all stops are taken.
            None => self.take_again(stop, at_us, keep, out)?,
        }
        Ok(())
    }
}
