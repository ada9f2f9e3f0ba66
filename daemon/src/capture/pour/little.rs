//! A small delivery by itself: a correction of the pour before, or the beginning of the next.

use super::super::{CaptureEvent, CaptureNote, CapturedValue, Fit};
use super::account::{Account, PourStage};
use super::doubting::MORE_CC;
use super::early::LEAST_STREAM_CC;
use super::level::Level;

impl Account {
    /// Whether the present delivery begins at the rest that ended the last pour, without a refill
    /// between.
    fn begins_where_the_last_ended(&self) -> bool {
        let ended = self.last_final.as_ref().map(|last| last.from_us);
        ended.is_some() && self.base.as_ref().map(|base| base.from_us) == ended
    }

    /// A little was let out from where the pour before had ended, and then the burette was
    /// refilled: the little may belong to that pour.
    pub(super) fn perhaps_of_the_one_before(&mut self, level: &Level) {
        let from_there = self.begins_where_the_last_ended();
        let taken = self.amount(level);
        let little = taken.value <= MORE_CC * self.scale;
        if self.asks_of_amounts() && from_there && little && self.refilled.is_none() {
            let level = level.clone();
            self.two = Some((
                taken,
                Level {
                    dripped: true,
                    ..level
                },
            ));
        }
    }

    /// A little more, let out in drops where the last pour had ended, may be a correction of that
    /// pour, however long ago it ended. A person is asked. Returns whether this was such a little.
    pub(super) fn goes_on_after_final(
        &mut self,
        amount: f64,
        level: &Level,
        out: &mut Vec<CaptureEvent>,
    ) -> bool {
        let from_there = self.begins_where_the_last_ended();
        let little_held = |held: &CapturedValue| held.value <= MORE_CC * self.scale;
        let fresh = self.held.as_ref().is_none_or(little_held) && self.refilled.is_none();
        let little = (LEAST_STREAM_CC * self.scale..=MORE_CC * self.scale).contains(&amount);
        if !(self.asks_of_amounts() && from_there && fresh && little && level.dripped && self.drips)
        {
            return false;
        }
        let (Some(last), Some(base)) = (self.last_final.take(), self.base.clone()) else {
            return false;
        };
        // The stream before the drops may have been told as the beginning of the next pour.
        self.withdraw(CaptureNote::NothingDelivered, out);
        self.number -= 1;
        self.two = Some((
            last.clone(),
            Level {
                dripped: true,
                ..base
            },
        ));
        self.reopened = true;
        self.sum = last.value;
        self.fills.clone_from(&last.fills);
        self.held = Some(last);
        self.stage = PourStage::Held;
        self.begins();
        let taken = self.amount(level);
        self.announce(taken, level, out);
        true
    }

    /// Whether the pour may have begun with a little that was let out before a refill and was too
    /// little to be told.
    pub(super) fn begins_with_little(&self, from: &Level) -> bool {
        let Some(base) = &self.base else { return false };
        let amount = self.direction * (from.now - base.now);
        let little = amount >= LEAST_STREAM_CC * self.scale;
        self.asks_of_amounts()
            && little
            && self.expected.is_some_and(|e| e.fit(amount) == Fit::Below)
    }
}
