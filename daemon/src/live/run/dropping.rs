//! What remains of a value that is not kept, or only in part: its capture, its record, the values
//! behind it.

use benchhand_wire::{Reason, Refusal, SaidAs};

use super::asking::{Doubt, StopQuestion, ValueOrigin, Waiting};
use super::{NOWHERE, RouteRun, RunJournal, RunOutcome, ValueOutcome};
use crate::capture::{self, CaptureNote};
use crate::store::fact::Fact;

impl RouteRun {
    /// A lost or dropped pour is poured again: what came after it is no beginning of the new one.
    pub(super) fn forget_the_rest(
        &mut self,
        stop: usize,
        at_us: u64,
        keep: &mut dyn RunJournal,
    ) -> Result<(), Refusal> {
        let Some(front) = self.waiting.front().cloned() else {
            let gauge = &self.stops[stop].gauge;
            for active in self.actives.iter_mut().filter(|a| a.gauge == *gauge) {
                active.told(capture::CaptureControl::FromHere, at_us, &mut Vec::new());
            }
            return Ok(());
        };
        if !front.is_final && self.is_far_too_little(&front, stop, keep) {
            self.forget_record(&front, "taken again", keep)?;
            self.waiting.pop_front();
            if let ValueOrigin::Captured { active, .. } = front.origin {
                self.actives[active].told(capture::CaptureControl::Anew, at_us, &mut Vec::new());
            }
        }
        Ok(())
    }

    /// A value was kept, and more ran while the gauge was not heard. That was the next pour, and
    /// nobody knows how much it was.
    pub(super) fn next_was_lost(&mut self, kept: &StopQuestion, value: &Waiting) {
        if let (
            Doubt::Handling(note @ CaptureNote::DeliveredInGap),
            ValueOrigin::Captured { active, .. },
        ) = (&kept.doubt, &value.origin)
        {
            if self.waiting.is_empty() {
                self.lost = Some((*active, *note));
            } else {
                self.mark_meanwhile();
            }
        }
    }

    /// Whether a later pour of the same capture waits: then what the capture is told concerns the
    /// later pour.
    pub(super) fn poured_since(&self, active: usize, pour: u32) -> bool {
        self.waiting.iter().any(|one| match one.origin {
            ValueOrigin::Captured {
                active: a, pour: p, ..
            } => a == active && p > pour,
            _ => false,
        })
    }

    /// Values behind a dropped value may belong to the same stop measured again, or to the next
    /// stop: each is asked about.
    pub(super) fn mark_meanwhile(&mut self) {
        if let Some(front) = self.waiting.front_mut() {
            front.meanwhile = true;
        }
    }

    /// Tells the capture of a dropped value to forget it too, where the capture may still revise
    /// it.
    pub(super) fn drop_from_capture(&mut self, one: &Waiting, at_us: u64) {
        if let ValueOrigin::Captured { active, pour, .. } = &one.origin {
            if !one.is_final {
                let mut events = Vec::new();
                self.actives[*active].told(capture::CaptureControl::Again, at_us, &mut events);
            } else {
                // A late event must find the number taken.
                let outcome = ValueOutcome {
                    stop: NOWHERE,
                    id: None,
                    held: false,
                    value: 0.0,
                    confirmed: false,
                    first_us: None,
                };
                self.actives[*active]
                    .outcomes
                    .entry(*pour)
                    .or_insert(outcome);
            }
        }
    }

    /// A value typed for a stop replaces a captured value that was not kept there.
    pub(super) fn replaced_by_typing(
        &mut self,
        stop: usize,
        at_us: u64,
        keep: &mut dyn RunJournal,
    ) -> Result<(), Refusal> {
        let about_value = matches!(
            self.question.as_ref().map(|q| &q.doubt),
            Some(
                Doubt::Far(_)
                    | Doubt::Slip(_)
                    | Doubt::OneOrTwo(_)
                    | Doubt::Handling(_)
                    | Doubt::OldZero(_)
                    | Doubt::AskedBefore(_)
                    | Doubt::Meanwhile
            )
        );
        let lost = matches!(
            self.question.as_ref().map(|q| &q.doubt),
            Some(Doubt::Lost(_))
        );
        let more_to_come = self.question.is_none() && !self.waiting.is_empty();
        if (about_value || more_to_come)
            && let Some(head) = self.waiting.pop_front()
        {
            self.forget_record(&head, "typed anew", keep)?;
            self.drop_from_capture(&head, at_us);
        }
        let here = self.question.as_ref().is_some_and(|q| q.stop == stop);
        if here && (about_value || lost) {
            self.question = None;
        }
        Ok(())
    }

    /// Drops every value that waits behind the question: what ran while nobody looked is no reading.
    ///
    /// # Errors
    /// Where nothing is asked or nothing waits, or the journal refused.
    pub(super) fn drop_waiting(
        &mut self,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) -> Result<(), Refusal> {
        let Some(question) = &self.question else {
            return Err(Refusal::new(Reason::Conflict, "nothing is asked"));
        };
        let stays = usize::from(question.is_of_the_first());
        let count = self.waiting.len().saturating_sub(stays);
        if count == 0 {
            return Err(
                Refusal::new(Reason::Conflict, "nothing waits behind the question")
                    .todo(format!("answer it: {}", question.text)),
            );
        }
        while self.waiting.len() > stays {
            let Some(one) = self.waiting.back().cloned() else {
                break;
            };
            self.forget_record(&one, "dropped", keep)?;
            self.waiting.pop_back();
            self.drop_from_capture(&one, at_us);
        }
        let said = match count {
            1 => "1 value that waited is dropped".to_owned(),
            _ => format!("{count} values that waited are dropped"),
        };
        out.say(SaidAs::Note, said);
        Ok(())
    }

    /// Takes back the record of a value that was kept safe while it waited.
    pub(super) fn forget_record(
        &self,
        one: &Waiting,
        reason: &str,
        keep: &mut dyn RunJournal,
    ) -> Result<(), Refusal> {
        if let Some(of) = one.record {
            let reason = reason.to_owned();
            keep.keep(Fact::voided(of, reason))?;
        }
        Ok(())
    }
}
