//! What happens to a pour from outside: lost samples, pressed keys, lifted vessels, and the
//! requests of the person at the bench.
//!
//! Rests are known here, samples are not.

use super::super::still::seconds;
use super::super::{CaptureEvent, CaptureNote, CapturedValue, Fit};
use super::account::{Account, Amid, PourStage, Refilled, Unseen};
use super::early::RESTED_S;
use super::level::Level;

/// A level that runs by more than this before its first rest runs out of the burette, cc: two drops.
const LEAST_RUN_CC: f64 = 0.1;
/// A filled burette stands this near to its zero mark, cc. Common practice, no source.
const FULL_CC: f64 = 0.5;

impl Account {
    /// Samples were lost, the last one at `last`.
    pub(crate) fn lose(
        &mut self,
        level: Option<Level>,
        last: Option<f64>,
        out: &mut Vec<CaptureEvent>,
    ) {
        match self.stage {
            PourStage::Held => {
                let level = level.or(self.left.take());
                let stood = level.as_ref().map(|l| l.now);
                self.tell_what_came(level.as_ref(), out);
                // The held value stands on samples from before; nothing is added to it.
                self.across = self.across.or(stood).or(Some(f64::NAN));
            }
            PourStage::Delivering => {
                self.lose_delivery(last, out);
                self.stage = PourStage::Lost;
                self.base = None;
            }
            PourStage::Ready | PourStage::Refilling | PourStage::Lost => {
                if self.sum != 0.0 {
                    self.lose_pour(CaptureNote::DeliveredInGap, out);
                    self.stage = PourStage::Lost;
                }
                if self.stage == PourStage::Refilling {
                    self.stage = PourStage::Ready;
                }
                self.base = None;
                self.seen = level.map(|l| l.now);
            }
        }
        self.left = None;
        (self.listens_anew, self.heard) = (true, None);
    }

    /// What came since a value was told may have waited to be told as one pour or two. It was heard,
    /// and belongs to the value that stands from now on.
    fn tell_what_came(&mut self, level: Option<&Level>, out: &mut Vec<CaptureEvent>) {
        if let Some(level) = level.filter(|_| self.across.is_none()) {
            let taken = self.amount(level);
            if self.waits_to_be_told(&taken) {
                self.announce(taken, level, out);
            }
        }
    }

    /// The first rest after samples were lost while a value was held; `heard`: the first value since.
    pub(super) fn heard_again(
        &mut self,
        level: Level,
        heard: Option<f64>,
        out: &mut Vec<CaptureEvent>,
    ) {
        if self.resumed(&level, out) {
            return;
        }
        let Some(stood) = self.across else { return };
        let ran = heard.map_or(0.0, |heard| level.now - heard);
        let run = self.direction * (level.now - stood);
        if run > 0.05 * self.scale + 3.0 * self.resolution || run.is_nan() {
            self.withdraw(CaptureNote::DeliveredInGap, out);
            self.stage = PourStage::Lost;
        } else if self.ran_before(heard, Some(stood)) {
            self.lose_delivery(heard, out);
            self.stage = PourStage::Lost;
        } else if run < -self.settings.least_refill_cc * self.scale {
            let runs = self.direction * ran > LEAST_RUN_CC * self.scale + 3.0 * self.resolution;
            if let Some(mut held) = self.held.clone() {
                // A burette that is refilled near its end goes on with the same chamber, and so may
                // what runs by now.
                if (runs || self.is_near_end(stood)) && self.can_be_asked() {
                    held.doubt = held.doubt.or(Some(CaptureNote::MayHaveBegunBefore));
                }
                self.finish(held, out);
            }
            if runs {
                self.beginning_unseen(ran, out);
            } else {
                self.base = Some(level);
                self.stage = PourStage::Ready;
            }
        } else {
            // The level is where it was: nothing ran, whoever listened meanwhile, and the pour goes
            // on.
            self.across = None;
        }
    }

    /// Whether liquid ran while nobody listened: the level stood at `stood` before, and was first heard
    /// again at `heard`.
    pub(super) fn ran_before(&self, heard: Option<f64>, stood: Option<f64>) -> bool {
        let ran = heard.zip(stood).map(|(heard, stood)| heard - stood);
        ran.is_some_and(|ran| self.direction * ran >= self.settings.least_cc * self.scale)
    }

    /// The gauge was set to zero, or its sign or unit was changed. `zeroed` for the zero.
    pub(crate) fn rezeroed(&mut self, zeroed: bool, out: &mut Vec<CaptureEvent>) {
        match (self.stage, self.held.clone()) {
            (PourStage::Held, Some(held)) if zeroed => self.finish(held, out),
            (PourStage::Held | PourStage::Delivering, _) => {
                self.lose_pour(
                    CaptureNote::NoRestBetween {
                        uncertain: 0.0,
                        unit: self.unit,
                    },
                    out,
                );
            }
            _ => {}
        }
        self.base = None;
        self.left = None;
        self.stage = PourStage::Ready;
    }

    /// Forgets the slopes: what the pan showed before something was put on it says nothing of a
    /// run.
    pub(crate) fn unseen(&mut self) {
        self.seen = None;
    }

    /// A vessel is back on the balance where it stood, but for `shift`.
    pub(crate) fn back(&mut self, shift: f64, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        let Some(level) = level else { return };
        match self.stage {
            PourStage::Held => {
                if let Some(base) = &mut self.base {
                    base.now += shift;
                }
            }
            PourStage::Ready => self.base = Some(level),
            _ => self.rested(level, out),
        }
        self.left = None;
    }

    /// Another vessel stands on the balance, at this level.
    pub(crate) fn swapped(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        match (self.stage, self.held.clone()) {
            (PourStage::Held, Some(held)) => self.finish(held, out),
            (PourStage::Delivering, _) => self.lose_pour(CaptureNote::MovedMidPour, out),
            _ => {}
        }
        self.evaporation.clear();
        self.base = level;
        self.left = None;
        self.stage = PourStage::Ready;
    }

    /// The balance was tared while liquid ran, which has come to rest at this level: the amount is
    /// not known, and the next pour begins here.
    pub(crate) fn tared(&mut self, level: Level, out: &mut Vec<CaptureEvent>) {
        self.lose_pour(CaptureNote::MovedMidPour, out);
        self.evaporation.clear();
        (self.base, self.left) = (Some(level), None);
        self.stage = PourStage::Ready;
    }

    /// Takes the value now.
    pub(crate) fn take(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        match (self.stage, level) {
            (PourStage::Held, Some(level)) => {
                let taken = self.whole(&level);
                self.finish(taken, out);
                self.base = Some(level);
                self.stage = PourStage::Ready;
            }
            (PourStage::Held | PourStage::Delivering, _) => {
                out.push(CaptureEvent::Note(CaptureNote::NotStill))
            }
            _ => out.push(CaptureEvent::Note(CaptureNote::NothingToTake)),
        }
    }

    /// A person went on to another chamber: the held pour is over. What comes next belongs to
    /// another pour, even if it was let out before a refill.
    pub(crate) fn over(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        let refilled = matches!(
            self.refilled,
            Some(Refilled::PerhapsAll | Refilled::TooLittle)
        );
        let so_far = self.rests.last().map(|(taken, _)| taken.clone());
        match (self.stage, level, self.held.clone().or(so_far)) {
            // An amount that was too little to be told is all that came there.
            (PourStage::Held, Some(level), _) => self.take(Some(level), out),
            // A refill parts the two pours as well.
            (PourStage::Ready | PourStage::Refilling, _, Some(held)) if refilled => {
                self.finish(held, out);
            }
            // A drop falls just now: it belongs to no pour.
            (PourStage::Held, None, Some(held)) if self.fit(held.value) != Some(Fit::Below) => {
                self.finish(held, out);
                (self.base, self.left) = (None, None);
                self.stage = PourStage::Ready;
            }
            (PourStage::Delivering, _, Some(held)) if self.fit(held.value) != Some(Fit::Below) => {
                self.over_while_more_runs(held, out);
            }
            _ => {}
        }
    }

    /// The held pour is over, and what runs now is the next one. It began at the rest where the pour
    /// was held, or at the refill since.
    fn over_while_more_runs(&mut self, held: CapturedValue, out: &mut Vec<CaptureEvent>) {
        let rest = self.held_at.take();
        let refilled_us = self.base.as_ref().map(|base| base.from_us);
        self.finish(held, out);
        let later = |rest: &Level| refilled_us.is_none_or(|refilled| rest.from_us > refilled);
        if let Some(rest) = rest.filter(later) {
            self.base = Some(rest);
        }
        self.begins();
    }

    /// A lost pour, or one too small to be told, is poured again: the next pour begins at the
    /// present rest.
    pub(crate) fn begins_here(&mut self, level: Option<Level>) {
        let untold =
            matches!(self.stage, PourStage::Ready | PourStage::Lost) && self.held.is_none();
        if let (true, Some(level)) = (untold && self.sum == 0.0, level) {
            self.clear_pour();
            self.unseen = None;
            self.stage = PourStage::Ready;
            self.base = Some(level);
        }
    }

    /// Forgets the last pour: it is poured again.
    pub(crate) fn again(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        if self.held.is_some() {
            self.withdraw(CaptureNote::Again, out);
        } else if self.stage == PourStage::Delivering {
            out.push(CaptureEvent::Note(CaptureNote::Again));
        } else if self.last_final.take().is_some() {
            self.number -= 1;
            out.push(CaptureEvent::Withdrawn {
                pour: self.number,
                why: CaptureNote::Again,
            });
        }
        self.clear_pour();
        self.unseen = None;
        self.stage = match (&level, self.stage) {
            (None, PourStage::Delivering) => PourStage::Lost,
            (None, PourStage::Held) => PourStage::Ready,
            (None, stage) => stage,
            _ => PourStage::Ready,
        };
        self.base = level;
    }

    /// Samples were lost while liquid ran. Where drops had ended the pour before, or the rest was
    /// long enough for drops, a person is asked whether the liquid belongs to that pour or to the
    /// next. Where both are too much for one pour, the liquid belongs to the next.
    fn lose_delivery(&mut self, last: Option<f64>, out: &mut Vec<CaptureEvent>) {
        let ends = |rest: &Level| rest.dripped || seconds(rest.from_us, rest.to_us) >= RESTED_S;
        let ended = self.rests.last().is_some_and(|(_, rest)| ends(rest));
        let total = last.and_then(|v| self.delivered(v));
        let too_much = total.and_then(|total| self.fit(total)) == Some(Fit::Above);
        let held = self
            .held
            .clone()
            .filter(|held| ended && self.can_be_asked() && self.may_be_whole(held));
        let over = self.refilled == Some(Refilled::PerhapsAll) && self.dripped_before_refill();
        match held {
            // The burette was refilled since: the liquid belongs to the next pour.
            Some(held) if over && held.value == self.sum || too_much => {
                self.finish(held, out);
                self.lose_pour(CaptureNote::DeliveredInGap, out);
            }
            Some(mut held) => {
                held.doubt = Some(CaptureNote::DeliveredInGap);
                self.finish(held, out);
                self.taken_up();
            }
            None => self.lose_pour(CaptureNote::DeliveredInGap, out),
        }
    }

    /// Forgets what has come of the present pour. Final pours stand.
    pub(crate) fn anew(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        let last_final = self.last_final.take();
        self.again(level, out);
        self.last_final = last_final;
    }

    /// The work was broken off and goes on now: part of a pour may have come meanwhile.
    pub(crate) fn taken_up(&mut self) {
        self.unseen = Some(Unseen { refilled: None });
    }

    /// Whether part of the present pour may have come before anybody listened. Either the pour
    /// began where the level was first seen, or it went over a refill before which another pour may
    /// have ended.
    pub(super) fn may_have_begun_before(&self) -> bool {
        let Some(unseen) = self.unseen else {
            return false;
        };
        let fresh = match unseen.refilled {
            Some(amid) => amid == Amid::Hardly,
            None => self.begins_full(),
        };
        !fresh || self.refilled.is_some() || self.ended_too_early()
    }

    /// Whether the pour began at the zero mark: nothing has left the burette since it was filled.
    fn begins_full(&self) -> bool {
        let full = match self.direction > 0.0 {
            true => 0.0,
            false => self.settings.capacity_cc * self.scale,
        };
        let near = |base: &Level| (base.now - full).abs() <= FULL_CC * self.scale;
        !self.balance && self.fills.is_empty() && self.base.as_ref().is_some_and(near)
    }

    /// The next delivery belongs to the reading before it.
    pub(crate) fn add(&mut self, out: &mut Vec<CaptureEvent>) {
        if self.held.is_some() {
            self.goes_on = true;
        } else if let Some(last) = self.last_final.take() {
            self.number -= 1;
            self.sum = last.value;
            self.fills.clone_from(&last.fills);
            self.refilled = Some(Refilled::GoesOn);
            self.added = true;
            self.held = Some(last);
        } else {
            out.push(CaptureEvent::Note(CaptureNote::NothingToTake));
        }
    }

    /// The delivery was asked to be added: the rests before it ended no pour, and everything is one
    /// pour.
    pub(super) fn adds(&mut self) {
        if std::mem::take(&mut self.goes_on) {
            self.added = true;
            (self.two, self.early, self.amid) = (None, None, None);
            self.rests.clear();
        }
    }

    /// The route ends.
    pub(crate) fn end(&mut self, level: Option<Level>, out: &mut Vec<CaptureEvent>) {
        match (self.stage, level, self.held.clone()) {
            (PourStage::Held, Some(level), _) => {
                let taken = self.whole(&level);
                self.finish(taken, out);
            }
            // Liquid still ran: the held amount is no longer the delivered amount.
            (PourStage::Delivering, ..) => self.withdraw(CaptureNote::NotStill, out),
            (_, _, Some(held)) => self.finish(held, out),
            _ => {}
        }
        self.stage = PourStage::Ready;
        self.base = None;
    }
}
