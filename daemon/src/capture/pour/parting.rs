//! Which deliveries make up one pour: told by what the pour should come to.
//!
//! A pause within a pour and the end of a pour look alike, and so do a refill amid a large chamber
//! and a refill for the next chamber. An expectation tells them apart where the amounts do.
//! Elsewhere the value carries a doubt and a person is asked.

use super::super::{CaptureEvent, CaptureNote, CapturedValue, ExpectedBounds, Fit};
use super::account::{Account, PourStage, Refilled};
use super::doubting::is_late;
use super::early::fills_since;
use super::expecting::BrothersTell;
use super::level::Level;

/// A value that a person kept grows by no more than this share. Common practice, no source.
const KEPT: f64 = 0.10;

impl Account {
    /// Why the pour goes on after a refill from `level`; `None` where the pour ends.
    pub(super) fn goes_on_after(&mut self, level: &Level) -> Option<Refilled> {
        let near_end = self.is_near_end(level.now);
        if std::mem::take(&mut self.goes_on) {
            return Some(Refilled::GoesOn);
        }
        match self.fit(self.amount(level).value) {
            // Otherwise the third filling would swallow a chamber of its own while the first two are
            // asked about.
            None if self.can_be_asked() => {
                let total = self.amount(level).value;
                let alike = self.are_two_fillings(self.sum, total);
                let may_go_on = near_end || !alike && self.little_left(level);
                may_go_on.then_some(Refilled::PerhapsAll)
            }
            None => near_end.then_some(Refilled::GoesOn),
            Some(Fit::Below) => {
                self.perhaps_of_the_one_before(level);
                Some(Refilled::TooLittle)
            }
            Some(Fit::Within) => {
                let may_go_on = near_end || self.little_left(level);
                may_go_on.then_some(Refilled::PerhapsAll)
            }
            Some(Fit::Above) => None,
        }
    }

    /// Parts two pours where the amounts tell what the movements alone do not. Returns whether the
    /// rest at `level` is dealt with.
    pub(super) fn part_pours(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) -> bool {
        self.part_late(level, out) || self.part(level, out)
    }

    /// Parts after a long rest at what the other chambers came to: much more is the next pour.
    fn part_late(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) -> bool {
        let (Some(held), Some(rest)) = (self.held.clone(), &self.held_at) else {
            return false;
        };
        let total = self.amount(level).value;
        let parts = self.refilled.is_none()
            && self.across.is_none()
            && !self.added
            && self.can_be_asked()
            && is_late(rest, total - held.value, self.scale)
            && self.tells(held.value, total) == Some(BrothersTell::First);
        if parts {
            self.next_begins_at_rest(held, level, out);
        }
        parts
    }

    fn part(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) -> bool {
        let Some(expected) = self.pour_expected else {
            return false;
        };
        let total = self.amount(level).value;
        if expected.fit(total) != Fit::Above || self.across.is_some() || self.added {
            return false;
        }
        match self.refilled {
            // The pour was complete after the refill already: the rest there ended it.
            Some(why) if self.held_since_refill(expected) => {
                let Some(held) = self.held.clone() else {
                    return false;
                };
                match why {
                    Refilled::PerhapsAll if self.base_tells() => {
                        self.next_begins_at_base(level, out);
                    }
                    _ => self.next_begins_at_rest(held, level, out),
                }
                true
            }
            Some(Refilled::GoesOn) => false,
            // One pour came before the refill, another one after it.
            Some(why) => {
                let after = total - self.sum;
                let next = self.expected.unwrap_or(expected);
                if why == Refilled::TooLittle && next.fit(after) == Fit::Below {
                    return false;
                }
                self.next_begins_at_base(level, out);
                true
            }
            None => {
                let Some(held) = self.held.clone() else {
                    return false;
                };
                let next = total - held.value;
                let whole =
                    expected.holds(held.value) && next >= self.settings.least_cc * self.scale;
                if whole && self.held_at.is_some() {
                    self.next_begins_at_rest(held, level, out);
                }
                whole
            }
        }
    }

    /// Whether the held value was calculated after the last refill and is enough.
    fn held_since_refill(&self, expected: ExpectedBounds) -> bool {
        let (Some(held), Some(rest), Some(base)) = (&self.held, &self.held_at, &self.base) else {
            return false;
        };
        rest.from_us > base.from_us && expected.holds(held.value)
    }

    /// The last rest before the refill, where a value was held since.
    pub(super) fn before_base(&self) -> Option<&(CapturedValue, Level)> {
        let (rest, base) = (self.held_at.as_ref()?, self.base.as_ref()?);
        let before = |one: &&(CapturedValue, Level)| one.1.from_us < base.from_us;
        let held_since = rest.from_us > base.from_us;
        self.rests.iter().rev().find(before).filter(|_| held_since)
    }

    /// Whether the rest before the refill, rather than the one held since, ended the pour: drops
    /// tell.
    fn base_tells(&self) -> bool {
        let (Some((_, before)), Some(since)) = (self.before_base(), &self.held_at) else {
            return false;
        };
        if self.expects_narrowly() {
            return false;
        }
        before.dripped && !since.dripped
    }

    /// What came before the refill is one pour, what came since is the next.
    fn next_begins_at_base(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) {
        let before = self.before_base().map(|(taken, _)| taken.clone());
        if let Some(first) = before.or(self.held.clone()) {
            self.finish(first, out);
        }
        self.clear_pour();
        self.follow(level, out);
    }

    /// What came up to the rest before is one pour, what came since is the next.
    fn next_begins_at_rest(
        &mut self,
        held: CapturedValue,
        level: &Level,
        out: &mut Vec<CaptureEvent>,
    ) {
        let rest = self.held_at.take();
        self.finish(held, out);
        self.base = rest;
        self.follow(level, out);
    }

    /// Tells a pour that has come to `level` as one of its own.
    fn follow(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) {
        self.stage = PourStage::Held;
        self.begins();
        // The amount of the pour before goes into the expectation once it is known.
        self.renew = true;
        let taken = self.amount(level);
        self.announce(taken, level, out);
    }

    /// A person kept the held value: it is one pour, and much more is the next pour.
    pub(crate) fn kept(&mut self) {
        let Some(held) = &self.held else { return };
        self.pour_expected = Some(ExpectedBounds::around(held.value, KEPT * held.value));
        self.begun = true;
        (self.two, self.early, self.unseen) = (None, None, None);
        self.undrained = None;
        self.amid = None;
        self.poured_on_hold = false;
        self.rests.retain(|(taken, _)| taken.value == held.value);
        self.kept_behind_refill();
    }

    /// A person said that the held value is more than one pour.
    pub(crate) fn split(&mut self, out: &mut Vec<CaptureEvent>) {
        // The pour is parted where the doubt said.
        let said =
            |(first, _): &(CapturedValue, Level)| match self.held.as_ref().and_then(|h| h.doubt) {
                Some(CaptureNote::OneOrTwo { first: said, .. }) => said == first.value,
                _ => true,
            };
        let is_said = self.two.as_ref().is_some_and(said);
        if (self.early.is_none() || !is_said) && self.split_early(out) {
            return;
        }
        let held = self.held.clone();
        let by_rest = held
            .as_ref()
            .and_then(|held| self.half_way(held.value).cloned());
        let two = self.two.take().or(by_rest);
        match (held, two) {
            (Some(_), Some((first, rest))) => {
                let base = self.base.as_ref().map(|base| base.from_us);
                if base.is_none_or(|base| base > rest.from_us) {
                    self.split_over_fillings(first, out);
                    return;
                }
                let end = self.held_at.take();
                let later = std::mem::take(&mut self.rests);
                let later = later.into_iter().map(|(_, level)| level);
                let mut later: Vec<Level> =
                    later.filter(|level| level.from_us > rest.from_us).collect();
                let known = |level: &Level| later.iter().any(|one| one.from_us == level.from_us);
                let end = end.filter(|level| !known(level));
                later.extend(end.filter(|level| level.from_us > rest.from_us));
                self.finish(first, out);
                self.base = Some(rest);
                for level in later {
                    if !self.part_pours(&level, out) {
                        self.follow(&level, out);
                    }
                }
            }
            _ => out.push(CaptureEvent::Note(CaptureNote::NothingToTake)),
        }
    }

    /// The same where the burette was refilled since the first pour ended.
    fn split_over_fillings(&mut self, first: CapturedValue, out: &mut Vec<CaptureEvent>) {
        let fills = fills_since(&first.fills, &self.fills);
        let more = self.sum - first.value;
        self.carry_on(first, (more, fills), out);
    }
}
