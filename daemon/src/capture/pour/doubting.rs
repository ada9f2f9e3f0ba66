//! What a person is asked of an amount: whether it is one pour or two.
//!
//! Drops tell the end of a pour from a pause in it. Where nobody drips, like amounts and long rests
//! tell.

use super::super::still::seconds;
use super::super::{CaptureNote, CapturedValue, Fit};
use super::account::{Account, Refilled};
use super::early::{ALIKE, RESTED_S};
use super::expecting::BrothersTell;
use super::level::Level;

/// Where nothing is expected, two deliveries of one filling whose amounts differ by less than this
/// share may be two chambers. Common practice, no source: chambers of one engine differ by less.
const LIKE_BROTHERS: f64 = 0.25;
/// A drop from a burette's tip, cc. Common practice, no source: twenty drops to the cc.
const DROP_CC: f64 = 0.05;
/// A pour seldom goes on after a rest of more than this, s: a pause lasts half a minute at most …
const LONG_PAUSE_S: f64 = 31.0;
/// … and more than this, cc, is no correction of a bubble.
pub(super) const MORE_CC: f64 = 3.0;

/// Whether the rest before `grown` was hardly a pause: it was long, and `grown` is much.
pub(super) fn is_late(rest: &Level, grown: f64, scale: f64) -> bool {
    seconds(rest.from_us, rest.to_us) > LONG_PAUSE_S && grown > MORE_CC * scale
}

/// A delivery that comes after drops and ends with drops is a correction up to this amount, cc.
/// Common practice, no source.
const CORRECTION_CC: f64 = 4.0;

impl Account {
    /// What was delivered if the pour ended at this rest, with the doubt that goes with the amount.
    pub(super) fn whole(&mut self, level: &Level) -> CapturedValue {
        self.drips |= level.dripped;
        let taken = self.amount(level);
        self.doubted(taken, true)
    }

    /// What was delivered up to this rest, with a doubt that holds already.
    pub(super) fn so_far(&mut self, level: &Level) -> CapturedValue {
        let taken = self.amount(level);
        self.doubted(taken, false)
    }

    /// Puts a doubt on a value that two pours would explain as well as one. Where nothing is
    /// expected: two like deliveries of one filling. Where the burette was refilled near its end: a
    /// little more than what had come before.
    pub(super) fn doubted(&mut self, mut taken: CapturedValue, ended: bool) -> CapturedValue {
        if self.poured_on_hold {
            taken.doubt = Some(CaptureNote::PouredOnHold);
            return taken;
        }
        if self.balance || self.across.is_some() {
            return taken;
        }
        if self.two.as_ref().is_none_or(|(_, rest)| !rest.dripped) {
            self.two = self.perhaps_two(&taken).or(self.two.take());
        }
        let needless = self.perhaps_needless(&taken, ended);
        let is_needless = needless.is_some();
        self.two = needless.or(self.two.take());
        if self.may_have_begun_before() {
            taken.doubt = Some(CaptureNote::MayHaveBegunBefore);
            return taken;
        }
        // For a person who ends pours with drops, a pause in the stream is no end. Whether a person
        // does so shows at the end of the first pour.
        let tells = |dripped: bool| dripped || (ended && !self.drips);
        let two = self.two.as_ref().filter(|(_, rest)| {
            tells(rest.dripped) || seconds(rest.from_us, rest.to_us) > LONG_PAUSE_S
        });
        // A little that ends with drops as well corrects the same pour.
        let corrects = |(first, _): &&(CapturedValue, Level)| {
            let more = taken.value - first.value;
            ended && !self.reopened && !is_needless && more <= CORRECTION_CC * self.scale
        };
        let two = two.filter(|two| !corrects(two));
        let early = self.early.as_ref().filter(|early| tells(early.dripped));
        let first = two.map(|(first, _)| first);
        if let Some(first) = first.or(early.map(|early| &early.first)) {
            taken.doubt = Some(CaptureNote::OneOrTwo {
                first: first.value,
                second: taken.value - first.value,
                unit: self.unit,
            });
        } else if self.fit(taken.value) != Some(Fit::Below) {
            taken.doubt = self.not_drained(&taken);
        }
        taken
    }

    /// Whether nothing is expected and two fillings gave alike amounts, of which the first left
    /// something in the burette: two chambers, for all that is known.
    pub(super) fn are_two_fillings(&self, first: f64, total: f64) -> bool {
        let second = total - first;
        self.refilled == Some(Refilled::PerhapsAll)
            && self.pour_expected.is_none()
            && !self.emptied()
            && (second - first).abs() <= ALIKE * first
    }

    /// Whether drops ended the pour before it had come to enough, and more came later.
    pub(super) fn ended_too_early(&self) -> bool {
        let ended = |(taken, rest): &(CapturedValue, Level)| {
            let rested = seconds(rest.from_us, rest.to_us) >= RESTED_S;
            rest.dripped && rested && self.fit(taken.value) == Some(Fit::Below)
        };
        self.rests.iter().rev().skip(1).any(ended)
    }

    /// Whether drops ended the delivery before the last refill.
    pub(super) fn dripped_before_refill(&self) -> bool {
        let refilled_from = self.fills.last().map(|(_, to)| *to);
        let mut rests = self.rests.iter().rev().map(|(_, rest)| rest);
        let near = |rest: &&Level| {
            refilled_from.is_some_and(|from| (rest.now - from).abs() <= 2.0 * DROP_CC * self.scale)
        };
        rests.find(near).is_some_and(|rest| rest.dripped)
    }

    /// The first of what may be two pours, and where the second would have begun.
    pub(super) fn perhaps_two(&self, taken: &CapturedValue) -> Option<(CapturedValue, Level)> {
        let refilled = self.perhaps_two_fillings(taken);
        match refilled.as_ref().is_some_and(|(_, rest)| rest.dripped) {
            true => refilled,
            false => self.perhaps_two_of_one_filling(taken).or(refilled),
        }
    }

    /// Like [`Self::perhaps_two`], where the burette was refilled: what came before and what came
    /// since.
    pub(super) fn perhaps_two_fillings(
        &self,
        taken: &CapturedValue,
    ) -> Option<(CapturedValue, Level)> {
        self.refilled?;
        let (held, base) = (self.held.as_ref()?, self.base.as_ref()?);
        let least = self.settings.least_cc * self.scale;
        let grown = taken.value - self.sum;
        let open = self.tells(self.sum, taken.value) != Some(BrothersTell::Total);
        let parts = self.waits_to_be_told(taken) && grown >= least && open;
        parts.then(|| {
            let dripped = self.dripped_before_refill();
            let base = base.clone();
            // The held amount may hold what came since the refill.
            let before = self.before_base().map(|(first, _)| first);
            let before = before.filter(|first| self.are_two_fillings(first.value, taken.value));
            let first = before.unwrap_or(held);
            (first.clone(), Level { dripped, ..base })
        })
    }

    /// Like [`Self::perhaps_two`], where both came from one filling.
    pub(super) fn perhaps_two_of_one_filling(
        &self,
        taken: &CapturedValue,
    ) -> Option<(CapturedValue, Level)> {
        let alike = |first: f64| {
            let grown = taken.value - first;
            (grown - first).abs() <= LIKE_BROTHERS * first
        };
        let since = self.base.as_ref().map_or(0, |base| base.from_us);
        let ended_in_drops = |(_, rest): &(CapturedValue, Level)| {
            rest.dripped && seconds(rest.from_us, rest.to_us) >= RESTED_S
        };
        let late = |one: &(CapturedValue, Level)| {
            let (first, rest) = one;
            let grown = taken.value - first.value;
            let after_drops = ended_in_drops(one) && grown > CORRECTION_CC * self.scale;
            is_late(rest, grown, self.scale)
                || after_drops && self.tells(first.value, taken.value) != Some(BrothersTell::Total)
        };
        let parted = |one: &&(CapturedValue, Level)| {
            let like = match self.pour_expected {
                None => alike(one.0.value) || self.can_be_asked() && late(one),
                Some(expected) if expected.holds(one.0.value) => self.can_be_asked() && late(one),
                // A nominal volume of twice the chambers fits two of them.
                Some(_) => {
                    let wide = self.can_be_asked() && !self.expects_narrowly();
                    wide && ended_in_drops(one) && alike(one.0.value)
                }
            };
            like && one.1.from_us >= since
        };
        // The rest where drops fell last is the likeliest end.
        let dripped = |one: &&(CapturedValue, Level)| one.1.dripped && parted(one);
        let last = self.rests.iter().rev().find(dripped);
        last.or_else(|| self.rests.iter().find(parted)).cloned()
    }

    /// Remembers a rest of this pour with the amount delivered up to it.
    pub(super) fn rests_at(&mut self, taken: &CapturedValue, level: &Level) {
        match self.rests.last_mut() {
            Some((before, rest)) if rest.from_us == level.from_us => {
                let dripped = rest.dripped || level.dripped;
                let level = level.clone();
                (*before, *rest) = (taken.clone(), Level { dripped, ..level });
            }
            last => {
                // A level that stands still has come to rest as before, whoever listened meanwhile.
                let stands = last.is_some_and(|(before, rest)| {
                    let moved = (before.value - taken.value).abs();
                    rest.dripped && moved < DROP_CC * self.scale
                });
                let dripped = level.dripped || stands;
                let level = level.clone();
                self.rests.push((taken.clone(), Level { dripped, ..level }));
            }
        }
    }
}
