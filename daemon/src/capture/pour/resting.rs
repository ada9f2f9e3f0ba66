//! What a level that has come to rest says of the present pour.

use super::super::still::seconds;
use super::super::{CaptureEvent, CaptureNote, CapturedValue};
use super::account::{Account, PourStage};
use super::early::LEAST_STREAM_CC;
use super::level::Level;

/// A step this soon after the last rest belongs to the delivery that follows, s.
const SOON_S: f64 = 20.0;
/// The least amount that counts as let out to the zero mark, cc. A smaller one is a stray drop.
const LEAST_LET_OUT_CC: f64 = 0.2;
/// The least by which a pour goes on after a refill, cc: two drops.
const LEAST_MORE_CC: f64 = 0.1;
/// A value that may be one pour or two is told after a rest of this length, s. Most pauses are over
/// by then.
const TOLD_S: f64 = 4.0;

impl Account {
    /// The level has come to rest.
    pub(crate) fn rested(&mut self, level: Level, out: &mut Vec<CaptureEvent>) {
        let left_us = self.left.take().map(|left| left.to_us);
        let heard = self.heard.take();
        let ran = heard.map_or(0.0, |heard| level.now - heard);
        match self.stage {
            PourStage::Ready if self.base.is_none() && self.was_under_way(ran, &level) => {
                self.beginning_unseen(ran, out);
            }
            // What ran before the refill went into the chamber that is filled up now.
            PourStage::Ready if self.base.is_none() && self.ran_before(heard, self.seen) => {
                self.beginning_unseen(self.direction, out);
            }
            PourStage::Ready => self.small_step(level, left_us, out),
            PourStage::Refilling => {
                self.base = Some(level);
                self.stage = PourStage::Ready;
            }
            // More of the lost amount may come: only a refill or a long rest ends it.
            PourStage::Lost => {}
            PourStage::Held if self.across.is_some() => self.heard_again(level, heard, out),
            PourStage::Held if self.has_risen(&level) => self.risen = true,
            PourStage::Held | PourStage::Delivering => {
                self.risen = false;
                self.delivered_to(level, out);
            }
        }
    }

    /// Handles a move that is too small for a leg, before a pour.
    pub(super) fn small_step(
        &mut self,
        level: Level,
        left_us: Option<u64>,
        out: &mut Vec<CaptureEvent>,
    ) {
        let Some(base) = &self.base else {
            let run = self.seen.map_or(0.0, |seen| level.now - seen);
            if self.was_under_way(run, &level) {
                self.beginning_unseen(run, out);
            } else {
                self.base = Some(level);
            }
            return;
        };
        let run = level.now - base.now;
        let amount = if self.direction == 0.0 {
            run.abs()
        } else {
            self.direction * run
        };
        // A pour that goes on after a refill may need no more than a few drops.
        let least = match self.refilled {
            Some(_) => LEAST_MORE_CC,
            None => self.settings.least_cc,
        };
        if self.goes_on_after_final(amount, &level, out) {
            return;
        }
        let zero_set = amount >= LEAST_LET_OUT_CC * self.scale && self.zero_set(&level).is_some();
        if amount >= least * self.scale || zero_set {
            if self.direction == 0.0 {
                self.direction = run.signum();
            }
            self.delivered_to(level, out);
        } else if amount < 0.0 || !self.is_soon(amount, left_us, &level) {
            self.base = Some(level);
        }
    }

    /// A delivery ran before anybody saw where it began: its amount is not known.
    pub(super) fn beginning_unseen(&mut self, run: f64, out: &mut Vec<CaptureEvent>) {
        let note = if self.direction == 0.0 {
            CaptureNote::BeginningUnseen
        } else {
            CaptureNote::DeliveredInGap
        };
        self.direction = run.signum();
        out.push(CaptureEvent::Note(note));
        self.stage = PourStage::Lost;
    }

    /// Whether a step is no slow run: it came soon after the rest before, or is larger than one
    /// drop.
    pub(super) fn is_soon(&self, amount: f64, left_us: Option<u64>, level: &Level) -> bool {
        let since = |from: u64| seconds(from, level.from_us) <= SOON_S;
        let stream = amount >= LEAST_STREAM_CC * self.scale && left_us.is_some_and(since);
        stream || self.base.as_ref().is_some_and(|base| since(base.to_us))
    }

    pub(super) fn delivered_to(&mut self, level: Level, out: &mut Vec<CaptureEvent>) {
        if let Some(let_out) = self.zero_set(&level) {
            out.push(CaptureEvent::Note(CaptureNote::ZeroSet {
                let_out,
                unit: self.unit,
            }));
            // What came before the refill stands.
            if self.held.is_some() && self.sum == 0.0 {
                self.withdraw(
                    CaptureNote::ZeroSet {
                        let_out,
                        unit: self.unit,
                    },
                    out,
                );
            }
            self.base = Some(level);
            self.stage = PourStage::Ready;
            return;
        }
        if self.part_pours(&level, out) {
            return;
        }
        let taken = self.amount(&level);
        if self.goes_on_after_final(taken.value, &level, out) {
            return;
        }
        if taken.value < self.settings.least_cc * self.scale {
            if self.held.is_some() {
                self.withdraw(CaptureNote::NothingDelivered, out);
            }
            self.base = Some(level);
            self.stage = PourStage::Ready;
            return;
        }
        let grown = |held: &CapturedValue| taken.value - held.value >= LEAST_MORE_CC * self.scale;
        if self.held.as_ref().is_some_and(grown) {
            self.adds();
        }
        self.stage = PourStage::Held;
        self.begins();
        if self.waits_to_be_told(&taken) {
            return;
        }
        self.say_evaporation(&level, out);
        self.announce(taken, &level, out);
    }

    /// The level has rested for `rested_s` with a held value: creep is followed, and in the end the
    /// value is final.
    pub(crate) fn resting(&mut self, level: Level, rested_s: f64, out: &mut Vec<CaptureEvent>) {
        if self.stage == PourStage::Lost && rested_s >= self.settings.final_s {
            self.base = Some(level);
            self.stage = PourStage::Ready;
            return;
        }
        if self.stage == PourStage::Ready {
            self.rests_behind_refill(rested_s, out);
        }
        if self.stage != PourStage::Held || self.is_topped_up(&level, rested_s, out) {
            return;
        }
        let near_end = self.is_near_end(level.now);
        let taken = self.amount(&level);
        let waits = self.waits_to_be_told(&taken) && rested_s < TOLD_S;
        if self.across.is_none() && !waits {
            self.say_evaporation(&level, out);
            self.announce(taken.clone(), &level, out);
        }
        if rested_s >= TOLD_S && self.held.is_some() && !self.settled {
            self.settled = true;
            out.push(CaptureEvent::Settled { pour: self.number });
        }
        if self.lingers(&taken, rested_s, out) {
            return;
        }
        let rested = rested_s >= self.settings.final_s;
        if rested && !near_end && !self.goes_on {
            let taken = self.whole(&level);
            self.finish(taken, out);
            self.base = Some(level);
            self.stage = PourStage::Ready;
        }
    }
}
