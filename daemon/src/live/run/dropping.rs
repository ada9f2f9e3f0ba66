//! What a value leaves behind that is not kept, or only in part: its capture, its record, what waits.

use benchhand_wire::Refusal;

use super::asking::{Doubt, Origin, Question, Waiting};
use super::{Keep, Run, Took};
use crate::capture::{self, Note};
use crate::store::fact::Fact;

impl Run {
    /// A pour that was lost sight of, or is not kept, is poured again: the rest of it that came
    /// since is no beginning of the new one.
    pub(super) fn forget_the_rest(
        &mut self,
        stop: usize,
        at_us: u64,
        keep: &mut dyn Keep,
    ) -> Result<(), Refusal> {
        let Some(front) = self.waiting.front().cloned() else {
            let gauge = &self.stops[stop].gauge;
            for active in self.actives.iter_mut().filter(|a| a.gauge == *gauge) {
                active.told(capture::Control::FromHere, at_us, &mut Vec::new());
            }
            return Ok(());
        };
        if !front.is_final && self.is_far_too_little(&front, stop, keep) {
            self.forget_record(&front, "taken again", keep)?;
            self.waiting.pop_front();
            if let Origin::Captured { active, .. } = front.origin {
                self.actives[active].told(capture::Control::Anew, at_us, &mut Vec::new());
            }
        }
        Ok(())
    }

    /// A value was kept although more ran while the gauge was not heard: that was the next one,
    /// and nobody knows how much it was.
    pub(super) fn next_was_lost(&mut self, kept: &Question, value: &Waiting) {
        if let (Doubt::Handling(note @ Note::DeliveredInGap), Origin::Captured { active, .. }) =
            (&kept.doubt, &value.origin)
        {
            if self.waiting.is_empty() {
                self.lost = Some((*active, *note));
            } else {
                self.mark_meanwhile();
            }
        }
    }

    /// Whether a later pour of the same capture waits: what is told of the present one is that one's.
    pub(super) fn poured_since(&self, active: usize, pour: u32) -> bool {
        self.waiting.iter().any(|one| match one.origin {
            Origin::Captured {
                active: a, pour: p, ..
            } => a == active && p > pour,
            _ => false,
        })
    }

    /// What came behind a value that was dropped may be the same stop measured again, or the
    /// next stop: each is asked about.
    pub(super) fn mark_meanwhile(&mut self) {
        if let Some(front) = self.waiting.front_mut() {
            front.meanwhile = true;
        }
    }

    /// A value that was not kept is forgotten by its capture too, where that may still revise it.
    pub(super) fn drop_from_capture(&mut self, one: &Waiting, at_us: u64) {
        if let Origin::Captured { active, pour, .. } = &one.origin {
            if !one.is_final {
                let mut events = Vec::new();
                self.actives[*active].told(capture::Control::Again, at_us, &mut events);
            } else {
                // Its number must not be taken up by a late event.
                let took = Took {
                    stop: self.stops.len(),
                    id: None,
                    held: false,
                    value: 0.0,
                    confirmed: false,
                };
                self.actives[*active].took.entry(*pour).or_insert(took);
            }
        }
    }

    /// What is typed for a stop takes the place of what was captured there and not kept.
    pub(super) fn replaced_by_typing(
        &mut self,
        stop: usize,
        at_us: u64,
        keep: &mut dyn Keep,
    ) -> Result<(), Refusal> {
        let about_value = matches!(
            self.question.as_ref().map(|q| &q.doubt),
            Some(
                Doubt::Far(_)
                    | Doubt::Slip(_)
                    | Doubt::OneOrTwo(_)
                    | Doubt::Handling(_)
                    | Doubt::OldZero(_)
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

    /// What was kept safe while it waited is taken back.
    pub(super) fn forget_record(
        &self,
        one: &Waiting,
        reason: &str,
        keep: &mut dyn Keep,
    ) -> Result<(), Refusal> {
        if let Some(of) = one.record {
            let reason = reason.to_owned();
            keep.keep(Fact::Voided { of, reason })?;
        }
        Ok(())
    }
}
