//! Captured values become readings at their stop.

use benchhand_blueprint::Spot;
use benchhand_wire::{Refusal, SaidAs};

use super::asking::Undo;
use super::{Doubt, NOWHERE, RouteRun, RunJournal, RunOutcome, ValueOutcome, reading_of};
use crate::capture::{CaptureEvent, CaptureNote, CapturedValue};
use crate::known::words;
use crate::live::figuring::figure_of;
use crate::route::StopOutcome;
use crate::store::fact::{ASKED, EXPECTED, Fact, LEVELS, Reading, ReadingSource, STEP};

/// Whether a value that was final has changed.
fn is_reopened(known: Option<ValueOutcome>, taken: &CapturedValue) -> bool {
    known.is_some_and(|known| !known.held && known.value != taken.value)
}

impl RouteRun {
    pub(super) fn on_event(
        &mut self,
        active: usize,
        event: CaptureEvent,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        match event {
            CaptureEvent::Held { pour, taken } | CaptureEvent::Revised { pour, taken } => {
                self.take(active, pour, &taken, true, keep, out)
            }
            CaptureEvent::Final { pour, taken } => {
                self.take(active, pour, &taken, false, keep, out)
            }
            CaptureEvent::Withdrawn { pour, why } => self.withdraw(active, pour, &why, keep, out),
            CaptureEvent::Note(note) => {
                if matches!(note, CaptureNote::PoursOnHold { .. }) {
                    self.poured_on_hold = Some(note.to_string());
                    out.moved = true;
                }
                if note.loses_a_pour() {
                    self.lost_pour(active, note, out);
                } else {
                    out.say(words::note_tone(&note), note.to_string());
                }
                Ok(())
            }
            CaptureEvent::Lingers { pour } => {
                self.lingers(active, pour);
                Ok(())
            }
            CaptureEvent::Settled { pour } => {
                self.settled(active, pour, out);
                Ok(())
            }
            CaptureEvent::WhichWay { from, to, unit } => {
                if let Some(stop) = self.stop_for(active) {
                    self.ask(stop, Doubt::WhichWay { from, to, unit }, None, out);
                }
                Ok(())
            }
            CaptureEvent::Learned(counts) => {
                let gauge = self.actives[active].gauge.clone();
                out.learned.push((gauge, counts));
                Ok(())
            }
        }
    }

    /// Takes a captured value. A new pour waits to be judged by what its stop should show. A pour
    /// that is kept already is revised.
    fn take(
        &mut self,
        active: usize,
        pour: u32,
        taken: &CapturedValue,
        held: bool,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let known = self.actives[active].outcomes.get(&pour).copied();
        if known.is_none() && self.still_on_zero_face(active, pour, taken, out) {
            return Ok(());
        }
        match known {
            Some(ValueOutcome { stop: NOWHERE, .. }) => Ok(()),
            Some(ValueOutcome {
                stop, id: Some(id), ..
            }) if self.now_doubted(&known, taken, keep) || is_reopened(known, taken) => {
                let reason = "more came, and it is asked about".to_owned();
                keep.keep(Fact::voided(id, reason))?;
                out.readings.push(id);
                self.actives[active].outcomes.remove(&pour);
                self.returns_to = self.walk.at().filter(|&at| at != stop).or(self.returns_to);
                self.walk.again(stop);
                self.waits(active, pour, taken, !held);
                Ok(())
            }
            Some(ValueOutcome {
                stop, id: Some(_), ..
            }) => {
                // The movement belonged to the reading before: nothing has moved at this stop yet.
                if self.walk.at() != Some(stop) && self.waiting.is_empty() {
                    self.stirred = false;
                }
                self.keep_captured(active, pour, (taken, held), (stop, None, None), keep, out)
            }
            _ => {
                let doubted = self.doubted_flow(active, taken, keep);
                self.waits(active, pour, doubted.as_ref().unwrap_or(taken), !held);
                // The number of values that wait behind a question is shown.
                out.moved = true;
                self.settle_waiting(keep, out);
                Ok(())
            }
        }
    }

    /// Keeps a captured value: as a new reading at its stop, or in place of the kept value of the
    /// same pour. `asked` is the question that a person answered before.
    pub(super) fn keep_captured(
        &mut self,
        active: usize,
        pour: u32,
        (taken, held): (&CapturedValue, bool),
        (stop, asked, record): (usize, Option<&str>, Option<u64>),
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let known = self.actives[active].outcomes.get(&pour).copied();
        let former = known.and_then(|k| k.id);
        if former.is_none() {
            self.void_former(stop, keep, out)?;
        }
        let mut reading = self.reading(stop, taken, keep)?;
        reading
            .labels
            .extend(asked.map(|asked| (ASKED.to_owned(), asked.to_owned())));
        // A value that a person kept stays kept when it is revised.
        if known.is_some_and(|known| known.confirmed) && asked.is_none() {
            let before = "kept before it was revised".to_owned();
            reading.labels.insert(ASKED.to_owned(), before);
        }
        let here = &self.stops[stop];
        let step = Some(taken.resolution);
        let mut shown = words::taken(&here.stop.spot, &reading, step, here.told);
        let burette = self.at_the_burette(stop, taken, keep);
        shown.extend(burette.into_iter().flat_map(|told| [", ".to_owned(), told]));
        reading.supersedes = former.or(record);
        let unchanged = known.is_some_and(|k| k.value == taken.value);
        let (id, tone) = match (former, held) {
            (None, true) => (keep.keep(Fact::Held(reading))?, SaidAs::Taken),
            (None, false) => (keep.keep(Fact::Final(reading))?, SaidAs::Taken),
            (Some(_), true) => (keep.keep(Fact::Revised(reading))?, SaidAs::Revised),
            (Some(id), false) if unchanged => {
                keep.keep(Fact::Finalised { of: id })?;
                (id, SaidAs::Note)
            }
            (Some(_), false) => (keep.keep(Fact::Final(reading))?, SaidAs::Revised),
        };
        let outcome = ValueOutcome {
            stop,
            id: Some(id),
            held,
            value: taken.value,
            confirmed: asked.is_some() || known.is_some_and(|k| k.confirmed),
            first_us: match known.filter(|_| former.is_some()) {
                Some(known) => known.first_us,
                None => self.actives[active].last_us,
            },
        };
        self.actives[active].outcomes.insert(pour, outcome);
        let became = if held {
            StopOutcome::Held(id)
        } else {
            StopOutcome::Taken(id)
        };
        let tone = self.aloud(active, pour, taken, (tone, held), &shown);
        match former {
            // A person who went back to the stop measures it anew: the route stays there.
            Some(_) if self.walk.at() == Some(stop) => {
                self.walk.became_of(stop, became);
                out.readings.push(id);
                out.moved = true;
                if tone != SaidAs::Note {
                    out.say(tone, shown);
                }
            }
            _ => self.reading_kept(stop, became, id, tone, &shown, out),
        }
        if !held {
            self.third_round(stop, keep, out);
        }
        Ok(())
    }

    /// Keeps a repeat that disagrees, and asks for a third round.
    pub(super) fn third_round(&mut self, stop: usize, keep: &dyn RunJournal, out: &mut RunOutcome) {
        let spot = self.stops[stop].stop.spot.clone();
        let Some(apart) = keep.apart(&spot) else {
            self.needs_no_third(&spot, out);
            return;
        };
        let rounds = self.stops.iter().filter(|other| other.stop.spot == spot);
        if rounds.count() > 2 {
            return;
        }
        let mut third = self.stops[stop].clone();
        third.stop.round += 1;
        self.stops.push(third);
        self.walk.push();
        out.moved = true;
        out.say(SaidAs::Note, words::third_round(&spot, &apart));
    }

    /// The repeat that disagreed was a slip: the third round that was asked for because of it is
    /// needed no more, where it is the last stop, nothing came there, and `undo` does not lead there.
    fn needs_no_third(&mut self, spot: &Spot, out: &mut RunOutcome) {
        let last = self.stops.len().saturating_sub(1);
        let added = last >= self.planned && self.stops[last].stop.spot == *spot;
        let outcomes = self.actives.iter().flat_map(|a| a.outcomes.values());
        let goes_back = match self.undo {
            Some(Undo::Restore { stop, .. } | Undo::Void { stop, .. }) => stop == last,
            _ => false,
        };
        let empty = self.walk.became()[last] == StopOutcome::Left
            && !goes_back
            && outcomes.into_iter().all(|one| one.stop != last)
            && self
                .question
                .as_ref()
                .is_none_or(|asked| asked.stop != last);
        if added && empty {
            self.returns_to = self.returns_to.filter(|&stop| stop != last);
            self.stops.pop();
            self.walk.pop();
            out.moved = true;
            out.say(SaidAs::Note, words::no_third_round(spot));
        }
    }

    /// From where to where the burette's level went, what is left in it, and whether that is enough
    /// for the next chamber.
    fn at_the_burette(
        &self,
        stop: usize,
        taken: &CapturedValue,
        keep: &dyn RunJournal,
    ) -> Option<String> {
        let (from, to) = *taken.fills.last()?;
        let scale = taken.unit.to_base(1.0);
        let holds = self.stops[stop].capacity_cc.map(|holds| holds / scale);
        let left = holds.map(|holds| if to > from { holds - to } else { to });
        let after = (0..self.stops.len()).find(|&other| {
            other != stop
                && other > stop
                && self.walk.became()[other] == StopOutcome::Left
                && self.stops[other].gauge == self.stops[stop].gauge
        });
        let next = after.and_then(|next| {
            let expectation = self.expectation(next, taken.unit.kind(), keep)?;
            let middle = expectation.expected.middle / scale;
            Some((&self.stops[next].stop.spot, middle))
        });
        Some(words::burette(left, holds, next, taken))
    }

    /// A held value turned out to be no reading.
    fn withdraw(
        &mut self,
        active: usize,
        pour: u32,
        why: &CaptureNote,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let Some(outcome) = self.actives[active].outcomes.get_mut(&pour) else {
            self.unwait(active, pour);
            if why.loses_a_pour() {
                self.lost_pour(active, *why, out);
            }
            return Ok(());
        };
        let Some(id) = outcome.id.take() else {
            return Ok(());
        };
        outcome.held = false;
        let stop = outcome.stop;
        keep.keep(Fact::voided(id, why.to_string()))?;
        self.walk.again(stop);
        out.readings.push(id);
        out.moved = true;
        out.say(
            SaidAs::Again,
            words::withdrawn(&self.stops[stop].stop.spot, why),
        );
        if why.loses_a_pour() {
            self.lost_pour(active, *why, out);
        }
        Ok(())
    }

    /// A new reading at a stop replaces the reading that was taken there before.
    pub(super) fn void_former(
        &mut self,
        stop: usize,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        if let Some(id) = reading_of(self.walk.became()[stop]) {
            keep.keep(Fact::voided(id, "taken again at the same stop".to_owned()))?;
            out.readings.push(id);
        }
        Ok(())
    }

    pub(super) fn reading_kept(
        &mut self,
        stop: usize,
        became: StopOutcome,
        id: u64,
        tone: SaidAs,
        shown: &str,
        out: &mut RunOutcome,
    ) {
        let before = self.walk.at();
        self.walk.reading_kept(stop, became);
        if before == Some(stop)
            && let Some(stood) = self.returns_to.take()
            && self.walk.became()[stood] == StopOutcome::Left
        {
            self.walk.go(stood);
        }
        if self.walk.at() != before {
            self.stirred = false;
        }
        out.readings.push(id);
        out.moved = true;
        if tone == SaidAs::Note {
            return;
        }
        let next = self.walk.at().filter(|_| self.walk.at() != before);
        let next = next.map(|s| words::next(&self.stops[s].stop.spot));
        out.say(tone, words::joined(shown, next.as_deref()));
    }

    /// The stop that a new value of this capture belongs to: the present stop, if this capture
    /// serves it.
    pub(super) fn stop_for(&self, active: usize) -> Option<usize> {
        let stop = self.walk.at()?;
        let (a, s) = (&self.actives[active], &self.stops[stop]);
        (a.gauge == s.gauge && a.settings == s.settings).then_some(stop)
    }

    pub(super) fn reading(
        &self,
        stop: usize,
        taken: &CapturedValue,
        keep: &dyn RunJournal,
    ) -> Result<Reading, Refusal> {
        let arranged = &self.stops[stop];
        let value = figure_of(arranged.stop.figure, &arranged.basis, taken)?;
        let spot = arranged.stop.spot.to_string();
        let unit = taken.unit.symbol();
        let mut reading = Reading::new(spot, value, unit, ReadingSource::Captured);
        reading.raw = (value != taken.value).then_some(taken.value);
        reading.raw_unit = Some(unit.to_owned());
        reading.gauge = Some(arranged.gauge.clone());
        reading.by.clone_from(&arranged.by);
        reading.n = u32::try_from(taken.n).ok();
        reading.sd = taken.sd;
        reading.round = Some(arranged.stop.round);
        reading.mode = Some(arranged.settings.mode());
        reading.window.clone_from(&taken.window);
        reading.stream = keep.stream_at(&arranged.gauge, taken.at_us);
        reading.parts = arranged.parts(taken);
        // Without the expectation a replay would part the pours at other places.
        if let Some(expected) = taken.expected {
            let label = (EXPECTED.to_owned(), expected.to_string());
            reading.labels.extend([label]);
        }
        if !taken.fills.is_empty() {
            let level = |v: f64| format!("{} {unit}", words::number(v, Some(taken.resolution)));
            let fills = taken.fills.iter();
            let fills = fills.map(|(from, to)| format!("{} to {}", level(*from), level(*to)));
            let fills: Vec<String> = fills.collect();
            reading.labels.insert(LEVELS.to_owned(), fills.join(", "));
        }
        reading
            .labels
            .insert(STEP.to_owned(), taken.resolution.to_string());
        Ok(reading)
    }
}
