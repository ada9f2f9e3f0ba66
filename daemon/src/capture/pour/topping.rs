//! A burette that is topped up or filled while an amount is held: the amount stands, and a person
//! who then leaves the level at rest is asked in the end.
//!
//! Rests are known here. What a refill parts is decided elsewhere.

use super::super::CaptureEvent;
use super::super::still::seconds;
use super::account::{Account, PourStage, Refilled};
use super::legs::Leg;
use super::level::Level;

/// A level that has risen by more than this is no draining film, cc …
const RISEN_CC: f64 = 0.15;
/// … and by more than this, it was no person leaning on the stand, cc. Common practice, no source.
const LEANED_CC: f64 = 0.4;
/// A person who leans on the stand lets go within this, s. Common practice, no source.
const LEANS_S: f64 = 3.0;

impl Account {
    /// Whether the burette is fuller than at the rest from which the held amount was calculated.
    pub(super) fn has_risen(&self, level: &Level) -> bool {
        let since = self.base.as_ref().map(|base| base.from_us);
        // A value held before the last refill says nothing of this filling.
        let here = |rest: &&Level| since.is_some_and(|since| rest.from_us > since);
        let held_at = self.held_at.as_ref().filter(here);
        !self.balance
            && self.across.is_none()
            && self.held.is_some()
            && held_at.is_some_and(|held_at| {
                let risen = self.direction * (held_at.now - level.now);
                let stood = seconds(held_at.from_us, held_at.to_us) >= LEANS_S;
                risen > LEANED_CC * self.scale || stood && risen > RISEN_CC * self.scale
            })
    }

    /// Whether the burette was topped up by less than makes a plain refill. With the tap shut a
    /// level rises in no other way, and the amount before it stands. A level that has just risen
    /// may come back.
    pub(super) fn is_topped_up(
        &mut self,
        level: &Level,
        rested_s: f64,
        out: &mut Vec<CaptureEvent>,
    ) -> bool {
        if !self.risen {
            return false;
        }
        let from = self.held_at.clone();
        if let (true, Some(from)) = (rested_s >= LEANS_S, from) {
            self.risen = false;
            let leg = Leg {
                sign: -self.direction,
                from: from.now,
                rested: true,
                uncertain: 0.0,
                turn: Vec::new(),
            };
            self.refill(from, &leg, out);
            self.base = Some(level.clone());
            self.stage = PourStage::Ready;
        }
        true
    }

    /// The level has rested for `rested_s` after a refill; far too little came before the refill,
    /// and nothing more comes.
    pub(super) fn rests_behind_refill(&mut self, rested_s: f64, out: &mut Vec<CaptureEvent>) {
        if self.refilled.is_none() || self.goes_on {
            return;
        }
        let Some(held) = self.held.clone() else {
            return;
        };
        match self.kept_behind {
            true => self.finish(held, out),
            false => {
                self.lingers(&held, rested_s, out);
            }
        }
    }

    /// A person kept what had come before the refill: what comes after it is the next pour.
    pub(super) fn kept_behind_refill(&mut self) {
        if self.refilled == Some(Refilled::TooLittle) && self.lingered {
            self.refilled = Some(Refilled::PerhapsAll);
            self.kept_behind = self.stage != PourStage::Held;
        }
    }
}
