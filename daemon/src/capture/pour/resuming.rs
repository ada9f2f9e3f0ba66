//! A pour goes on that the work was broken off amid.
//!
//! Where the level stands as it rested, nothing ran meanwhile. Where it moved, what ran while nobody
//! listened may have gone into the chamber, and a person is asked about the whole.

use super::super::PourSoFar;
use super::super::settings::per_base;
use super::super::{CaptureEvent, CaptureNote, Fit};
use super::Pour;
use super::account::{Account, Amid, PourStage, Refilled, Unseen};
use super::level::Level;

impl Pour {
    /// Goes on with a pour that came to `so_far` before the work was broken off. Returns whether it
    /// could.
    pub(super) fn resume(&mut self, so_far: &PourSoFar) -> bool {
        let fresh = !self.known && self.which_way.is_none();
        fresh && self.account.resume(so_far)
    }
}

impl Account {
    /// What the present pour had come to at its last rest, where far too little came and nothing is
    /// in doubt but what came while nobody listened.
    pub(crate) fn stands_at(&self) -> Option<PourSoFar> {
        let (held, base) = (self.held.as_ref()?, self.base.as_ref()?);
        let doubted = !matches!(held.doubt, None | Some(CaptureNote::MayHaveBegunBefore));
        let open = self.two.is_some() || self.early.is_some() || self.amid.is_some();
        let asked_for = self.reopened || self.added || self.goes_on;
        let little = self.fit(held.value) == Some(Fit::Below);
        if !self.asks_of_amounts() || doubted || open || asked_for || !little {
            return None;
        }
        // A rest behind a refill, or one after a delivery of the present filling.
        let here = |rest: &&Level| rest.from_us > base.from_us;
        let held_at = self.held_at.as_ref().filter(here);
        let rest = match self.stage {
            PourStage::Held | PourStage::Delivering => held_at?,
            PourStage::Ready if self.refilled.is_some() => base,
            _ => return None,
        };
        Some(PourSoFar {
            unit: self.unit.symbol().to_owned(),
            resolution: self.resolution,
            value: held.value,
            sum: self.sum,
            from: base.now,
            at: rest.now,
            fills: self.fills.clone(),
            drips: self.drips,
            unheard: held.doubt.is_some(),
        })
    }

    fn resume(&mut self, so_far: &PourSoFar) -> bool {
        let Some(held) = so_far.captured() else {
            return false;
        };
        if self.direction == 0.0 {
            return false;
        }
        (self.unit, self.scale) = (held.unit, per_base(held.unit));
        self.resolution = so_far.resolution;
        self.sum = so_far.sum;
        self.fills.clone_from(&so_far.fills);
        self.refilled = (!so_far.fills.is_empty()).then_some(Refilled::TooLittle);
        self.drips = so_far.drips;
        self.base = Some(Level::at(so_far.from));
        self.across = Some(so_far.at);
        self.resumes = Some(so_far.unheard);
        self.held = Some(held);
        self.stage = PourStage::Held;
        // What the chamber should come to is looked up when the gauge is heard.
        (self.begun, self.renew) = (true, true);
        true
    }

    /// The gauge sends another unit than when the work was broken off: the pour cannot go on.
    pub(super) fn resumes_in(
        &mut self,
        unit: benchhand_drivers::Unit,
        out: &mut Vec<CaptureEvent>,
    ) {
        if self.resumes.is_some() && self.unit != unit {
            self.resumes = None;
            self.withdraw(CaptureNote::DeliveredInGap, out);
            self.base = None;
            self.stage = PourStage::Lost;
        }
    }

    /// The first rest since the work was broken off amid this pour. Returns whether it was.
    pub(super) fn resumed(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) -> bool {
        let (Some(unheard), Some(stood)) = (self.resumes, self.across) else {
            return false;
        };
        let run = self.direction * (level.now - stood);
        if run > 0.05 * self.scale + 3.0 * self.resolution {
            self.ran_unheard();
            self.delivered_to(level.clone(), out);
        } else if run < -self.settings.least_refill_cc * self.scale {
            self.refilled_unheard();
            self.base = Some(level.clone());
            self.stage = PourStage::Ready;
        } else {
            // The level is where it was: nothing ran.
            (self.resumes, self.across) = (None, None);
            self.unseen = unheard.then_some(UNHEARD);
            self.delivered_to(level.clone(), out);
        }
        true
    }

    /// What ran while nobody listened is counted, and a person is asked about the whole.
    pub(super) fn ran_unheard(&mut self) {
        (self.resumes, self.across) = (None, None);
        self.unseen = Some(UNHEARD);
    }

    /// The burette was refilled while nobody listened: what had been heard counts, and a person is
    /// asked about the whole.
    pub(super) fn refilled_unheard(&mut self) {
        let stood = self.across;
        self.ran_unheard();
        if let (Some(held), Some(stood), Some(base)) = (&self.held, stood, &self.base) {
            self.sum = held.value;
            self.fills.push((base.now, stood));
        }
        self.refilled = Some(Refilled::TooLittle);
        self.base = None;
    }
}

/// Part of the pour may have come while nobody listened.
const UNHEARD: Unseen = Unseen {
    refilled: Some(Amid::Perhaps),
};
