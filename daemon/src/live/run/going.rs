//! Which stop a person means by `go chamber 2`.

use benchhand_blueprint::Spot;
use benchhand_blueprint::engine::LengthUnits;
use benchhand_blueprint::known_word::meant;
use benchhand_wire::{Reason, Refusal, SaidAs};

use super::{RouteRun, RunJournal, RunOutcome};
use crate::capture::{self, CaptureMode};
use crate::known::words;

/// The spot that a person named, in its canonical form, with the round where one was named; a lift
/// without a unit is in the engine's unit. A text that is no spot stays as it is, so that the
/// refusal names it.
pub(crate) fn as_said(text: &str, units: LengthUnits) -> String {
    let (spot, round) = parted(text);
    match (Spot::typed(spot, units), round) {
        (Ok(spot), Some(round)) => format!("{spot} round {round}"),
        (Ok(spot), None) => spot.to_string(),
        (Err(_), _) => text.to_owned(),
    }
}

/// `chamber 2 round 3` as the spot and the round.
fn parted(text: &str) -> (&str, Option<u32>) {
    let parts = text
        .rsplit_once(char::is_whitespace)
        .and_then(|(front, number)| {
            let front = front.trim_end();
            let word = front.rsplit(char::is_whitespace).next()?;
            let round = number.parse().ok()?;
            word.eq_ignore_ascii_case("round")
                .then(|| (front[..front.len() - word.len()].trim_end(), Some(round)))
        });
    parts.unwrap_or((text, None))
}

impl RouteRun {
    /// The stop of a spot: in the round that was named, else in the round that is shown. That is
    /// the round of the present stop, or of the last stop where none is left.
    pub(super) fn stop_said(&self, said: &str) -> Result<usize, Refusal> {
        let (spot, round) = parted(said);
        let wanted: Spot = spot.parse().map_err(|e| {
            Refusal::new(Reason::BadInput, format!("{e}")).expected(self.what_there_is())
        })?;
        let shown = self.walk.at().unwrap_or(self.stops.len().saturating_sub(1));
        let shown = self.stops.get(shown).map(|arranged| arranged.stop.round);
        let in_round = |round: Option<u32>| {
            self.stops.iter().position(|arranged| {
                arranged.stop.spot == wanted && round.is_none_or(|n| n == arranged.stop.round)
            })
        };
        let stop = match round {
            Some(_) => in_round(round),
            None => in_round(shown).or_else(|| in_round(None)),
        };
        let Some(stop) = stop else {
            let spots = self.spots();
            let near = meant(&wanted.to_string(), spots.iter().map(String::as_str));
            let todo = match near {
                Err(Some(near)) => format!("did you mean {near}?"),
                _ => "`job show` lists the stops; another route may have it".to_owned(),
            };
            let of_round = round.map_or_else(String::new, |n| format!(" in round {n}"));
            return Err(Refusal::new(
                Reason::NotFound,
                format!("the spot {wanted} is no stop of this route{of_round}"),
            )
            .expected(self.what_there_is())
            .todo(todo));
        };
        Ok(stop)
    }

    /// A person goes to a stop. The pours before are over, those of that very stop too: what comes
    /// next is measured there anew. `asked`: a value in question goes along.
    ///
    /// # Errors
    /// Where something must be asked about the amount at the present stop first.
    pub(super) fn goes_to(
        &mut self,
        stop: usize,
        asked: bool,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        if asked {
            self.walk.go(stop);
            return Ok(());
        }
        self.leave_stop(at_us, keep, out)?;
        self.walk.go(stop);
        for index in 0..self.actives.len() {
            if self.actives[index].holds() {
                self.tell(index, capture::CaptureControl::Over, at_us, keep, out);
            }
        }
        self.mark_under_way();
        Ok(())
    }

    /// An amount that was poured at the present stop and was too little to be told belongs there,
    /// and not to the stop where the person goes.
    pub(super) fn leave_stop(
        &mut self,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let Some(stop) = self.walk.at().filter(|_| self.stirred) else {
            return Ok(());
        };
        let gauge = self.stops[stop].gauge.clone();
        for index in 0..self.actives.len() {
            if self.actives[index].gauge == gauge {
                self.tell(index, capture::CaptureControl::Over, at_us, keep, out);
            }
        }
        self.settle_waiting(keep, out);
        match &self.question {
            Some(question) => Err(Refusal::new(Reason::Conflict, question.text.clone())
                .todo("answer first, then go on")),
            None => Ok(()),
        }
    }

    /// Liquid runs while a person goes elsewhere: nobody knows which of the two stops it is for,
    /// and its value is asked about.
    pub(super) fn mark_under_way(&mut self) {
        for active in &mut self.actives {
            let pours = active.capture.mode() == capture::CaptureMode::Pour;
            active.under_way = pours && active.delivers();
        }
    }

    /// A person went back to the stop of a capture's newest reading. The bridge or the valve may
    /// still stand as it stood, so no movement will show that the stop is measured anew.
    pub(super) fn measure_anew(
        &mut self,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        let at = self.walk.at();
        for index in 0..self.actives.len() {
            let newest = self.actives[index].outcomes.values().next_back();
            let here = newest.is_some_and(|newest| newest.id.is_some() && Some(newest.stop) == at);
            let place = matches!(
                self.actives[index].capture.mode(),
                CaptureMode::Extreme | CaptureMode::Average
            );
            if here && place && self.waiting.is_empty() {
                self.tell(
                    index,
                    capture::CaptureControl::MeasureAnew,
                    at_us,
                    keep,
                    out,
                );
            }
        }
    }

    /// Tells one capture a control and deals with its events.
    pub(super) fn tell(
        &mut self,
        index: usize,
        control: capture::CaptureControl,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        let mut events = Vec::new();
        self.actives[index].told(control, at_us, &mut events);
        for event in events {
            if let Err(refusal) = self.on_event(index, event, keep, out) {
                out.say(SaidAs::Again, words::not_kept(&refusal));
            }
        }
    }

    /// The spots of the route, each once, in the order of their first stops.
    fn spots(&self) -> Vec<String> {
        let mut spots: Vec<String> = Vec::new();
        for arranged in &self.stops {
            let spot = arranged.stop.spot.to_string();
            if !spots.contains(&spot) {
                spots.push(spot);
            }
        }
        spots
    }

    /// The spots of the route in words: all of a few, the first and last of many.
    fn what_there_is(&self) -> String {
        let spots = self.spots();
        match spots.as_slice() {
            [first @ .., last] if spots.len() > 16 => {
                format!("one of {} … {last}", first[..15].join(", "))
            }
            _ => format!("one of {}", spots.join(", ")),
        }
    }
}
