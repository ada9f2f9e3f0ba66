//! What the answers to a question do, and how a control is taken back.

use benchhand_wire::{Control, Reason, Refusal, SaidAs};

use super::asking::{Doubt, StopQuestion, Undo, ValueOrigin, Waiting};
use super::taking_again::PARTED;
use super::{RouteRun, RunJournal, RunOutcome};
use crate::capture::{self, CaptureEvent, CapturedValue};
use crate::known::words;
use crate::route::StopOutcome;
use crate::store::fact::Fact;

impl RouteRun {
    /// Answers the question, where `control` is an answer. Returns whether it was.
    ///
    /// # Errors
    /// Where the control is no answer but would be mistaken for one, or the journal refused.
    pub(super) fn answer(
        &mut self,
        control: &Control,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<bool, Refusal> {
        let Some(question) = self.question.clone() else {
            return match control {
                Control::Keep | Control::Refill | Control::Delivered => {
                    Err(Refusal::new(Reason::Conflict, "nothing is asked"))
                }
                _ => Ok(false),
            };
        };
        if *control == Control::Take {
            return Err(Refusal::new(Reason::Conflict, question.text.clone())
                .todo("`take` answers no question: answer first"));
        }
        self.asked_aloud = None;
        // A later `undo` must not take back something older than the answer.
        if !matches!(control, Control::Undo) {
            self.undo = None;
        }
        match (&question.doubt, control) {
            (Doubt::WhichWay { .. }, Control::Refill | Control::Keep | Control::Delivered) => {
                self.question = None;
                let told = match control {
                    Control::Refill => capture::CaptureControl::Refilled,
                    _ => capture::CaptureControl::Delivered,
                };
                self.tell_capture(told, at_us, keep, out);
            }
            // Nothing is counted yet: the route must stand at the same stop when counting begins.
            (Doubt::WhichWay { .. }, Control::Go { .. } | Control::Skip | Control::Back) => {
                return Err(Refusal::new(Reason::Conflict, question.text.clone())
                    .todo("answer first: what was poured until now belongs to this stop"));
            }
            (Doubt::WhichWay { .. } | Doubt::Lost(_), Control::Again) => {
                self.question = None;
                if matches!(question.doubt, Doubt::WhichWay { .. }) {
                    self.tell_capture(capture::CaptureControl::Again, at_us, keep, out);
                } else {
                    self.forget_the_rest(question.stop, at_us, keep)?;
                }
                self.mark_meanwhile();
            }
            (Doubt::WhichAgain(stop), Control::Again) => {
                self.question = None;
                self.take_again(*stop, at_us, keep, out)?;
            }
            (Doubt::WhichAgain(_), Control::Keep) => self.question = None,
            (Doubt::WhichAgain(_), Control::Undo) => {
                self.question = None;
                out.say(SaidAs::Note, "taken back");
            }
            // The lost pour stays without a value. What came since belongs to the next stop, or,
            // after a leap, to a stop that nobody knows.
            (Doubt::Lost(_), Control::Skip | Control::Back | Control::Go { .. }) => {
                self.question = None;
                if *control != Control::Skip {
                    self.mark_meanwhile();
                }
                return Ok(false);
            }
            // A person who goes on leaves the reading as it is. What was poured meanwhile belongs
            // to the stop where the route stood until now.
            (Doubt::WhichAgain(_), Control::Go { .. } | Control::Skip | Control::Back) => {
                self.question = None;
                self.settle_waiting(keep, out);
                return match &self.question {
                    None => Ok(false),
                    Some(next) => Err(Refusal::new(Reason::Conflict, next.text.clone())
                        .todo("answer first, then go on")),
                };
            }
            (Doubt::Earlier(reading) | Doubt::BrokenOff(reading), Control::Keep) => {
                let (of, asked) = (reading.id, question.text.clone());
                keep.keep(Fact::Kept { of, asked })?;
                out.readings.push(of);
                self.question = None;
            }
            (Doubt::Earlier(_) | Doubt::BrokenOff(_), Control::Again) => {
                self.question = None;
                self.take_again(question.stop, at_us, keep, out)?;
            }
            (Doubt::OldZero(_), Control::Keep) => self.let_zero_stand(question.stop, keep)?,
            (
                Doubt::Far(_)
                | Doubt::Slip(_)
                | Doubt::OneOrTwo(_)
                | Doubt::Handling(_)
                | Doubt::OldZero(_)
                | Doubt::AskedBefore(_)
                | Doubt::Meanwhile,
                _,
            ) => {
                return self.answer_of_value(&question, control, at_us, keep, out);
            }
            _ => return no_answer(&question, control),
        }
        self.settle_waiting(keep, out);
        Ok(true)
    }

    /// Answers a question about the value that waits first.
    fn answer_of_value(
        &mut self,
        question: &StopQuestion,
        control: &Control,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<bool, Refusal> {
        let Some(head) = self.waiting.front().cloned() else {
            self.question = None;
            return Ok(false);
        };
        match control {
            // Whoever keeps a value that stood still has not said which place it is.
            Control::Keep if self.asks_next(&head) => {
                self.question = None;
                self.zero_is_kept(question, &head, at_us);
            }
            Control::Keep => {
                self.keep_waiting(&head, question.stop, Some(question), keep, out)?;
                self.waiting.pop_front();
                self.question = None;
                if let (ValueOrigin::Captured { active, .. }, false) = (&head.origin, head.is_final)
                {
                    let mut events = Vec::new();
                    self.actives[*active].told(capture::CaptureControl::Kept, at_us, &mut events);
                }
                self.zero_is_kept(question, &head, at_us);
                self.direction_is_kept(question);
                self.next_was_lost(question, &head);
            }
            Control::Again | Control::Refill => {
                let reason = match control {
                    Control::Again => "taken again",
                    _ => "no pour of a chamber",
                };
                self.forget_record(&head, reason, keep)?;
                self.question = None;
                self.waiting.pop_front();
                self.drop_from_capture(&head, at_us);
                // The route had gone on before the question: what waits was poured elsewhere.
                if *control == Control::Refill && self.returns_to.is_some() {
                    self.mark_meanwhile();
                }
                if *control == Control::Again {
                    self.forget_the_rest(question.stop, at_us, keep)?;
                    self.mark_meanwhile();
                    out.say(
                        SaidAs::Again,
                        words::again(&self.stops[question.stop].stop.spot),
                    );
                }
            }
            Control::Split => {
                self.split_waiting(&head, question, at_us, keep, out)?;
            }
            // The value moves with the route: it is judged at the route's new stop.
            Control::Skip | Control::Go { .. } | Control::Back => {
                self.question = None;
                // After a leap nobody knows which stop the later values belong to.
                self.place_is_named(question);
                let named = names_the_place(question);
                let leaps = !matches!(control, Control::Skip);
                for (place, one) in self.waiting.iter_mut().enumerate() {
                    // Whoever is asked for the place of the first value has named it so.
                    let first = place == 0 && named;
                    one.meanwhile = !first && (leaps || place > 0 && one.meanwhile);
                }
                return Ok(false);
            }
            _ => return no_answer(question, control),
        }
        self.settle_waiting(keep, out);
        Ok(true)
    }

    /// Whether something else must be asked about the value that waits first.
    fn asks_next(&mut self, head: &Waiting) -> bool {
        let ValueOrigin::Captured { taken, .. } = &head.origin else {
            return false;
        };
        let Some(also) = taken.also.filter(|_| taken.doubt.is_some()) else {
            return false;
        };
        if let Some(ValueOrigin::Captured { taken, .. }) =
            self.waiting.front_mut().map(|one| &mut one.origin)
        {
            (taken.doubt, taken.also) = (Some(also), None);
        }
        true
    }

    /// The person goes to the place where the first value belongs: nothing is left to ask about it.
    fn place_is_named(&mut self, question: &StopQuestion) {
        if names_the_place(question)
            && let Some(Waiting {
                origin: ValueOrigin::Captured { taken, .. },
                ..
            }) = self.waiting.front_mut()
        {
            taken.doubt = None;
        }
    }

    /// Whoever keeps a value although a key of the gauge may have been pressed says that none was.
    fn zero_is_kept(&mut self, question: &StopQuestion, head: &Waiting, at_us: u64) {
        if let (Doubt::Handling(note), ValueOrigin::Captured { active, .. }) =
            (&question.doubt, &head.origin)
            && note.doubts_the_zero()
        {
            let control = capture::CaptureControl::ZeroStands;
            self.actives[*active].told(control, at_us, &mut Vec::new());
        }
    }

    /// Parts the value that waits first into two pours. Nothing is lost where the value cannot be
    /// parted.
    fn split_waiting(
        &mut self,
        head: &Waiting,
        question: &StopQuestion,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let ValueOrigin::Captured {
            active,
            pour,
            taken,
        } = &head.origin
        else {
            return Err(cannot_part(question));
        };
        let mut events = Vec::new();
        let split = match self.poured_since(*active, *pour) {
            true => capture::CaptureControl::SplitFinal(*pour),
            false => capture::CaptureControl::Split,
        };
        self.actives[*active].told(split, at_us, &mut events);
        let none = events.iter().all(|e| matches!(e, CaptureEvent::Note(_)));
        let parts = taken.parts().filter(|_| none);
        if none && parts.is_none() {
            return Err(cannot_part(question));
        }
        self.forget_record(head, "two pours", keep)?;
        self.question = None;
        self.waiting.pop_front();
        if let Some((first, second)) = parts {
            // The capture is done with the value; what it told of its rests is still there.
            self.drop_from_capture(head, at_us);
            // Numbers that no pour of a capture has.
            let number = |n: u32| PARTED | (2 * pour + n);
            let part = |value: f64, n: u32| {
                let taken = CapturedValue {
                    value,
                    fills: Vec::new(),
                    parts_at: None,
                    doubt: None,
                    also: None,
                    ..(**taken).clone()
                };
                Waiting::whole(ValueOrigin::Captured {
                    active: *active,
                    pour: number(n),
                    taken: Box::new(taken),
                })
            };
            self.waiting.push_front(part(second, 1));
            self.waiting.push_front(part(first, 0));
            return Ok(());
        }
        // The two parts belong before the other waiting values, and among them.
        self.splitting = true;
        for event in events {
            if let Err(refusal) = self.on_event(*active, event, keep, out) {
                out.say(SaidAs::Again, words::not_kept(&refusal));
            }
        }
        self.splitting = false;
        self.in_their_order();
        Ok(())
    }

    /// Takes back the last control.
    ///
    /// # Errors
    /// Where there is none, or the journal refused.
    pub(super) fn undo(
        &mut self,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let Some(undo) = self.undo.take() else {
            return Err(
                Refusal::new(Reason::Conflict, "there is no control to take back").todo(
                    "of a reading: `again` takes the last one anew, `back` goes back to its stop, \
                     `move` puts it where it belongs",
                ),
            );
        };
        match undo {
            Undo::Walk {
                mut walk,
                meanwhile,
            } => {
                walk.fit(self.stops.len());
                self.walk.stand_as(&walk);
                // A value in question went along; it is judged again where the route stands now.
                let of_first = self.question.as_ref();
                if of_first.is_some_and(StopQuestion::is_of_the_first) {
                    self.question = None;
                    for (one, was) in self.waiting.iter_mut().zip(meanwhile) {
                        one.meanwhile = was;
                    }
                }
            }
            Undo::Hold(was) => self.set_hold(was, keep, out),
            Undo::Restore { id, stop, walk } => {
                keep.keep(Fact::Restored { of: id })?;
                self.walk = walk;
                self.walk.fit(self.stops.len());
                self.walk.became_of(stop, StopOutcome::Taken(id));
                out.readings.push(id);
                self.third_round(stop, keep, out);
            }
            Undo::Void { id, stop, walk } => {
                keep.keep(Fact::voided(id, "taken back".to_owned()))?;
                self.walk = walk;
                self.walk.fit(self.stops.len());
                self.walk.again(stop);
                out.readings.push(id);
                self.third_round(stop, keep, out);
            }
        }
        out.say(SaidAs::Note, "taken back");
        Ok(())
    }
}

/// Whether the question asks at which place the gauge stands.
fn names_the_place(question: &StopQuestion) -> bool {
    matches!(&question.doubt, Doubt::Handling(note) if note.asks_which_place())
}

fn cannot_part(question: &StopQuestion) -> Refusal {
    Refusal::new(
        Reason::Conflict,
        "no rest was seen at which it parts into two pours",
    )
    .todo(format!("the question stands: {}", question.text))
}

/// Refuses a control that is only ever an answer, but does not answer this question; the refusal
/// names the answers. Other controls go on to the route.
fn no_answer(question: &StopQuestion, control: &Control) -> Result<bool, Refusal> {
    if !matches!(
        control,
        Control::Keep | Control::Refill | Control::Delivered
    ) {
        return Ok(false);
    }
    let answers = words::answers(&question.answers());
    Err(Refusal::new(Reason::Conflict, question.text.clone())
        .todo(format!("the answers are: {answers}")))
}
