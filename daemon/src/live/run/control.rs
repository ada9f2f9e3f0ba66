//! What the person at the bench can ask of a run.

use benchhand_blueprint::Spot;
use benchhand_wire::{Control, Reason, Refusal, SaidAs};

use super::{Keep, Outcome, Run, reading_of};
use crate::capture;
use crate::desk::typed::ReadOff;
use crate::live::words;
use crate::route::{Became, Figuring};
use crate::store::fact::{Fact, Mode, Reading, Source};

impl Run {
    /// Carries out a control.
    ///
    /// # Errors
    /// Where the control makes no sense where the route stands, or the journal refused.
    pub fn control(
        &mut self,
        control: &Control,
        at_us: u64,
        keep: &mut dyn Keep,
        out: &mut Outcome,
    ) -> Result<(), Refusal> {
        out.moved = true;
        match control {
            Control::Take => self.tell_capture(capture::Control::Take, at_us, keep, out),
            Control::Add => self.tell_capture(capture::Control::Add, at_us, keep, out),
            Control::Again => self.again(at_us, keep, out)?,
            Control::Back => self.walk.back(),
            Control::Skip => self.walk.skip(),
            Control::Hold => {
                self.end(at_us, keep, out);
                self.forget_captures();
                self.on_hold = true;
            }
            Control::Resume => self.on_hold = false,
            Control::Go { spot } => self.go(spot)?,
            Control::Type { .. } | Control::End => {
                return Err(Refusal::new(
                    Reason::BadInput,
                    "this control is not the run's",
                ));
            }
        }
        self.turn_to_stop();
        Ok(())
    }

    /// Keeps a value that a person typed for the stop where the route stands.
    ///
    /// # Errors
    /// Where the route is done, or the journal refused.
    pub fn typed(
        &mut self,
        read: &ReadOff,
        keep: &mut dyn Keep,
        out: &mut Outcome,
    ) -> Result<u64, Refusal> {
        let Some(stop) = self.walk.at() else {
            return Err(Refusal::new(Reason::Conflict, "the route has no stop left")
                .todo("enter the reading with its spot, or go to a spot first"));
        };
        self.void_former(stop, keep, out)?;
        let arranged = &self.stops[stop];
        let (shown, unit) = (read.value.value, read.value.unit.symbol());
        // What is typed for a spot that counts from a zero is the figure itself.
        let value = match (arranged.stop.figure, unit.parse()) {
            (Figuring::AsCaptured, Ok(unit)) => {
                arranged.basis.figure(Figuring::AsCaptured, shown, unit)?
            }
            _ => shown,
        };
        let mut reading = Reading::new(arranged.stop.spot.to_string(), value, unit, Source::Typed);
        if value != shown {
            (reading.raw, reading.raw_unit) = (Some(shown), Some(unit.to_owned()));
        }
        reading.labels.extend(read.labels.clone());
        reading.round = Some(arranged.stop.round);
        reading.gauge = Some(arranged.gauge.clone());
        reading.mode = Some(Mode::Press);
        let said = words::taken(
            &arranged.stop.spot,
            value,
            unit,
            words::step_of(&reading.labels),
        );
        let id = keep.keep(Fact::Final(reading))?;
        self.took(stop, Became::Taken(id), id, SaidAs::Taken, &said, out);
        Ok(id)
    }

    /// A reading was moved to `spot` or, where that is `None`, voided, from outside the route:
    /// its stop must be visited again, and the stop of `spot` has it where it had none.
    pub fn reading_changed(&mut self, id: u64, spot: Option<&Spot>) {
        let had = self.stop_with(id);
        let gets = spot.and_then(|spot| {
            let round = had.map(|s| self.stops[s].stop.round);
            let fits = |s: &usize| {
                self.stops[*s].stop.spot == *spot && reading_of(self.walk.became()[*s]).is_none()
            };
            let mut fitting = (0..self.stops.len()).filter(fits);
            let all: Vec<usize> = fitting.by_ref().collect();
            let same_round = |s: &usize| Some(self.stops[*s].stop.round) == round;
            all.iter()
                .copied()
                .find(same_round)
                .or(all.first().copied())
        });
        let became = had.map(|s| self.walk.became()[s]);
        if let Some(stop) = had.filter(|&s| Some(&self.stops[s].stop.spot) != spot) {
            self.walk.left(stop);
        }
        if let (Some(stop), Some(became)) = (gets, became) {
            self.walk.took(stop, became);
        }
        for took in self.actives.iter_mut().flat_map(|a| a.took.values_mut()) {
            if took.id == Some(id) && Some(&self.stops[took.stop].stop.spot) != spot {
                match gets {
                    Some(stop) => took.stop = stop,
                    // It lies where no stop of this route is: a later value of the same pour
                    // is a new reading.
                    None => (took.id, took.held) = (None, false),
                }
            }
        }
        self.turn_to_stop();
    }

    fn stop_with(&self, id: u64) -> Option<usize> {
        let became = self.walk.became().iter();
        became.copied().position(|b| reading_of(b) == Some(id))
    }

    fn tell_capture(
        &mut self,
        control: capture::Control,
        at_us: u64,
        keep: &mut dyn Keep,
        out: &mut Outcome,
    ) {
        let Some(gauge) = self.walk.at().map(|stop| self.stops[stop].gauge.clone()) else {
            return;
        };
        self.feed(&gauge, keep, out, |capture, events| {
            capture.control(control, at_us, events)
        });
    }

    /// The last reading that was taken is voided and its stop visited again.
    fn again(&mut self, at_us: u64, keep: &mut dyn Keep, out: &mut Outcome) -> Result<(), Refusal> {
        let here = self.walk.at();
        let at_stop = here.filter(|&s| reading_of(self.walk.became()[s]).is_some());
        let last = self.walk.became().iter().enumerate();
        let newest = last
            .filter_map(|(s, &b)| reading_of(b).map(|id| (id, s)))
            .max()
            .map(|(_, s)| s);
        let Some(stop) = at_stop.or(newest) else {
            return Err(Refusal::new(
                Reason::Conflict,
                "no reading was taken on this route yet",
            ));
        };
        let id = reading_of(self.walk.became()[stop]);
        self.void_former(stop, keep, out)?;
        for active in &mut self.actives {
            let newest = active.took.values_mut().next_back();
            if let Some(took) = newest.filter(|t| t.stop == stop && t.id == id) {
                took.id = None;
                let mut events = Vec::new();
                active
                    .capture
                    .control(capture::Control::Again, at_us, &mut events);
            }
        }
        self.walk.again(stop);
        out.say(SaidAs::Again, words::again(&self.stops[stop].stop.spot));
        Ok(())
    }

    fn go(&mut self, spot: &str) -> Result<(), Refusal> {
        let wanted: Spot = spot
            .parse()
            .map_err(|e| Refusal::new(Reason::BadInput, format!("{e}")))?;
        let left = |i: &usize| self.walk.became()[*i] == Became::Left;
        let all: Vec<usize> = (0..self.stops.len())
            .filter(|&i| self.stops[i].stop.spot == wanted)
            .collect();
        let stop = all.iter().copied().find(left).or(all.last().copied());
        let Some(stop) = stop else {
            return Err(Refusal::new(
                Reason::NotFound,
                format!("the spot {wanted} is no stop of this route"),
            )
            .todo("`job show` lists the stops; another route may have it"));
        };
        self.walk.go(stop);
        Ok(())
    }
}
