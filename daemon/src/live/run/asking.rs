//! Questions about values that lie far from what was expected, and what their answers do.
//!
//! A value in doubt is not kept and does not move the route on. Later values wait in their order.
//! Each answer is a control. `take` is no answer, so a pedal never answers.

use benchhand_blueprint::units::QuantityKind;
use benchhand_drivers::Unit;
use benchhand_wire::{AnswerWord, QuestionAbout, SaidAs};

use super::worded::question;
use super::{DoubtedReading, RouteRun, RunJournal, RunOutcome, reading_of};
use crate::capture::{CaptureNote, CapturedValue};
use crate::known::expectation::Expectation;
use crate::known::typed::ReadOff;
use crate::known::words;
use crate::live::figuring::figure_of;
use crate::route::{RouteWalk, StopOutcome};
use crate::store::fact::WHY_ASKED;
use crate::store::view::KeptReading;

/// A value that is not kept yet.
#[derive(Debug, Clone)]
pub(super) struct Waiting {
    pub(super) origin: ValueOrigin,
    /// Whether the value will not change any more.
    pub(super) is_final: bool,
    /// Whether the value rested for so long that it may be complete.
    pub(super) lingers: bool,
    /// Whether the value came during a question whose answer left open which stop the value belongs
    /// to.
    pub(super) meanwhile: bool,
    /// The slip that a typed value looks like.
    pub(super) slip: Option<String>,
    /// Whether the person who typed the value is sure.
    pub(super) sure: bool,
    /// Whether a person heard how much has come so far.
    pub(super) told: bool,
    /// The number under which the value is kept safe while it waits.
    pub(super) record: Option<u64>,
}

impl Waiting {
    /// A value that will not change any more, and of which nothing else is known.
    pub(super) fn whole(origin: ValueOrigin) -> Waiting {
        Waiting {
            origin,
            is_final: true,
            lingers: false,
            meanwhile: false,
            slip: None,
            sure: false,
            told: true,
            record: None,
        }
    }

    /// Why it is asked about where it came during a question, or before the work was broken off.
    pub(super) fn as_asked_before(&self) -> Doubt {
        let why = match &self.origin {
            ValueOrigin::Recorded(kept) => kept.labels.get(WHY_ASKED).cloned(),
            _ => None,
        };
        why.map_or(Doubt::Meanwhile, Doubt::AskedBefore)
    }
}

/// Where a waiting value comes from.
#[derive(Debug, Clone)]
pub(super) enum ValueOrigin {
    /// A capture: its index among the run's captures, and the number of the reading.
    Captured {
        active: usize,
        pour: u32,
        taken: Box<CapturedValue>,
    },
    /// A person typed it.
    Typed(ReadOff),
    /// The journal: the value was kept safe when the work was broken off.
    Recorded(Box<KeptReading>),
}

/// Why a person is asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Doubt {
    /// The value lies far from what was expected.
    Far(Expectation),
    /// A typed value looks like this slip.
    Slip(String),
    /// The value may be one pour or two.
    OneOrTwo(CaptureNote),
    /// Something done at the gauge puts the value in doubt.
    Handling(CaptureNote),
    /// The zero that the value counts from no longer holds, for this reason.
    OldZero(String),
    /// The amount of a pour was lost: there is no value.
    Lost(CaptureNote),
    /// Nobody knows which way the scale runs; the first movement is given in the gauge's unit.
    WhichWay {
        /// Where the level stood before.
        from: f64,
        /// Where the level stands now.
        to: f64,
        /// The unit of both.
        unit: Unit,
    },
    /// The value came during another question.
    Meanwhile,
    /// The value was asked about for this reason when the work was broken off.
    AskedBefore(String),
    /// `again` came before anything moved: this earlier stop may be meant.
    WhichAgain(usize),
    /// Later readings disagree with this earlier one.
    Earlier(DoubtedReading),
    /// This reading was still open when the work was broken off.
    BrokenOff(DoubtedReading),
}

impl Doubt {
    /// What the question is about, as the API names it.
    pub fn about(&self) -> QuestionAbout {
        match self {
            Doubt::Far(_) => QuestionAbout::FarOff,
            Doubt::Slip(_) => QuestionAbout::Slip,
            Doubt::OneOrTwo(_) => QuestionAbout::OneOrTwo,
            Doubt::Handling(_) => QuestionAbout::Handling,
            Doubt::OldZero(_) => QuestionAbout::OldZero,
            Doubt::AskedBefore(_) => QuestionAbout::Handling,
            Doubt::Lost(_) => QuestionAbout::LostPour,
            Doubt::WhichWay { .. } => QuestionAbout::WhichWay,
            Doubt::Meanwhile => QuestionAbout::Meanwhile,
            Doubt::WhichAgain(_) => QuestionAbout::WhichAgain,
            Doubt::Earlier(_) => QuestionAbout::Earlier,
            Doubt::BrokenOff(_) => QuestionAbout::BrokenOff,
        }
    }

    /// The reason in words, as it is kept with the value.
    pub(super) fn why(&self) -> String {
        match self {
            Doubt::Handling(note) | Doubt::OneOrTwo(note) | Doubt::Lost(note) => note.to_string(),
            Doubt::Slip(why) | Doubt::OldZero(why) | Doubt::AskedBefore(why) => why.clone(),
            Doubt::Far(_) => "it was far from what was expected".to_owned(),
            _ => "it came while something else was asked".to_owned(),
        }
    }

    /// The controls that answer this doubt.
    pub fn answers(&self) -> Vec<AnswerWord> {
        use AnswerWord::{Again, Delivered, Keep, Refill, Skip, Split, Type};
        match self {
            Doubt::Far(far) if is_poured(far) => vec![Keep, Again, Type, Refill],
            Doubt::Handling(note) if note.asks_which_place() => vec![Keep, Skip, Again, Type],
            Doubt::Far(_) | Doubt::Handling(_) | Doubt::OldZero(_) => vec![Keep, Again, Type],
            Doubt::AskedBefore(_) => vec![Keep, Skip, Again, Type],
            Doubt::Slip(_) => vec![Keep, Type],
            Doubt::OneOrTwo(_) => vec![Keep, Split, Again, Type],
            Doubt::Lost(_) => vec![Again, Type, Skip],
            Doubt::WhichWay { .. } => vec![Refill, Delivered, Again],
            Doubt::Meanwhile => vec![Keep, Skip, Again],
            Doubt::WhichAgain(_) => vec![Again, Keep],
            Doubt::Earlier(_) | Doubt::BrokenOff(_) => vec![Keep, Again],
        }
    }
}

fn is_poured(far: &Expectation) -> bool {
    matches!(far.unit.kind(), QuantityKind::Volume | QuantityKind::Mass)
}

/// A question that waits for its answer.
#[derive(Debug, Clone, PartialEq)]
pub struct StopQuestion {
    /// The stop that the question concerns.
    pub stop: usize,
    /// Why the person is asked.
    pub doubt: Doubt,
    /// The value in doubt as shown; empty where there is none.
    pub shown: String,
    /// The question in words.
    pub text: String,
    /// Whether the value in doubt may be parted into two pours.
    pub parts: bool,
}

impl StopQuestion {
    /// Whether it is about the value that waits first, and not about a kept reading or none.
    pub(super) fn is_of_the_first(&self) -> bool {
        let kept = matches!(self.doubt, Doubt::Earlier(_) | Doubt::BrokenOff(_));
        !self.shown.is_empty() && !kept
    }

    /// The controls that answer this question.
    pub fn answers(&self) -> Vec<AnswerWord> {
        let mut all = self.doubt.answers();
        if self.parts && !all.contains(&AnswerWord::Split) {
            all.insert(1, AnswerWord::Split);
        }
        all
    }
}

/// What it takes to take back the last control.
#[derive(Debug, Clone)]
pub(super) enum Undo {
    /// The route stood at another stop.
    Walk {
        walk: RouteWalk,
        /// Which of the waiting values had come during a question.
        meanwhile: Vec<bool>,
    },
    /// The route was on hold, or was not.
    Hold(bool),
    /// A reading was voided.
    Restore {
        id: u64,
        stop: usize,
        walk: RouteWalk,
    },
    /// A reading was kept.
    Void {
        id: u64,
        stop: usize,
        walk: RouteWalk,
    },
}

impl RouteRun {
    /// The question that waits for an answer.
    pub fn question(&self) -> Option<&StopQuestion> {
        self.question.as_ref()
    }

    /// How many values wait behind the question.
    pub fn waiting(&self) -> usize {
        let asked = self
            .question
            .as_ref()
            .is_some_and(StopQuestion::is_of_the_first);
        self.waiting.len().saturating_sub(usize::from(asked))
    }

    /// What went into the present chamber so far, where that is far from enough.
    pub fn so_far(&self) -> Option<&CapturedValue> {
        match &self.waiting.front()?.origin {
            ValueOrigin::Captured { taken, .. } if self.question.is_none() => Some(taken),
            _ => None,
        }
    }

    /// Tells a question to the person. A question about a value that grows drop by drop is shown at
    /// once, and told again only when the drops have ended.
    fn ask_aloud(&mut self, stop: usize, doubt: &Doubt, text: &str, out: &mut RunOutcome) {
        let about = doubt.about();
        let grows = matches!(
            doubt,
            Doubt::Far(_) | Doubt::OneOrTwo(_) | Doubt::Handling(_) | Doubt::Meanwhile
        );
        let again =
            |(at, before, _): &(usize, QuestionAbout, String)| (*at, *before) == (stop, about);
        if !(grows && self.asked_aloud.as_ref().is_some_and(again)) {
            self.asked_aloud = Some((stop, about, text.to_owned()));
            out.say(SaidAs::Asked, text);
        }
    }

    /// Asks a question and tells it.
    pub(super) fn ask(
        &mut self,
        stop: usize,
        doubt: Doubt,
        about: Option<&Waiting>,
        out: &mut RunOutcome,
    ) {
        let told = self.stops[stop].told;
        let shown = match (about.map(|one| &one.origin), &doubt) {
            (_, Doubt::Earlier(reading) | Doubt::BrokenOff(reading)) => reading.shown.clone(),
            (Some(ValueOrigin::Captured { taken, .. }), _) => {
                let arranged = &self.stops[stop];
                let value = figure_of(arranged.stop.figure, &arranged.basis, taken);
                let (value, step) = (value.unwrap_or(taken.value), Some(taken.resolution));
                words::value(value, taken.unit.symbol(), step, told)
            }
            // As many decimals as were typed: 0.020 stays 0.020.
            (Some(ValueOrigin::Typed(read)), _) => {
                let step = words::step_of(&read.labels.iter().cloned().collect());
                words::value(read.value.value, read.value.unit.symbol(), step, told)
            }
            (Some(ValueOrigin::Recorded(kept)), _) => words::shown_in(kept, told),
            (None, _) => String::new(),
        };
        let spot = match &doubt {
            Doubt::Earlier(reading) | Doubt::BrokenOff(reading) => &reading.spot,
            Doubt::WhichAgain(earlier) => &self.stops[*earlier].stop.spot,
            _ => &self.stops[stop].stop.spot,
        };
        // Where part of the amount may have been missed, the levels tell more than their
        // difference.
        let said = match (about.map(|one| &one.origin), &doubt) {
            (Some(ValueOrigin::Captured { taken, .. }), Doubt::Handling(_)) => {
                format!("{shown}{}", words::levels(taken))
            }
            _ => shown.clone(),
        };
        let far = matches!(doubt, Doubt::Far(_));
        let parts = far
            && matches!(about.map(|one| &one.origin),
            Some(ValueOrigin::Captured { taken, .. }) if taken.parts_at.is_some());
        let typed = matches!(about.map(|one| &one.origin), Some(ValueOrigin::Typed(_)));
        let text = question(spot, &doubt, (&said, parts, typed));
        self.ask_aloud(stop, &doubt, &text, out);
        out.moved = true;
        self.question = Some(StopQuestion {
            stop,
            doubt,
            shown,
            text,
            parts,
        });
    }

    pub(super) fn ask_about_reading(&mut self, doubt: Doubt, out: &mut RunOutcome) {
        let (Doubt::Earlier(reading) | Doubt::BrokenOff(reading)) = &doubt else {
            return;
        };
        let of = |b: &StopOutcome| reading_of(*b) == Some(reading.id);
        let stop = self.walk.became().iter().position(of);
        // A reading that no stop of this route has is left to the findings of the report.
        if let Some(stop) = stop {
            self.ask(stop, doubt, None, out);
        }
    }

    /// Asks about readings that were still open when the work was broken off: more may have come
    /// that nobody saw.
    pub fn broken_off(
        &mut self,
        readings: Vec<DoubtedReading>,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        // A person went back to measure the present stop anew: its old reading is replaced.
        let here = self.walk.at().map(|stop| self.walk.became()[stop]);
        let here = here.and_then(reading_of);
        let open = readings.into_iter().filter(|one| Some(one.id) != here);
        self.doubted.extend(open.map(Doubt::BrokenOff));
        self.settle_waiting(keep, out);
    }

    /// The amount of a pour was lost: the next pour may be the same one again, or the next one.
    pub(super) fn lost_pour(&mut self, active: usize, note: CaptureNote, out: &mut RunOutcome) {
        if self.question.is_none()
            && self.waiting.is_empty()
            && let Some(stop) = self.stop_for(active)
        {
            self.ask(stop, Doubt::Lost(note), None, out);
        } else {
            self.lost = Some((active, note));
        }
    }

    /// Asks about a pour that was lost during another question, unless another value has come
    /// meanwhile.
    pub(super) fn ask_about_lost(&mut self, out: &mut RunOutcome) {
        if let Some((active, note)) = self.lost.take()
            && self.waiting.is_empty()
            && let Some(stop) = self.stop_for(active)
        {
            self.ask(stop, Doubt::Lost(note), None, out);
        }
    }
}
