//! Which deliveries make up one pour: told by what the pour should come to.
//!
//! A pause within a pour and the end of a pour look alike, and so do a refill amid a large chamber
//! and a refill for the next one. An expectation tells them apart where the amounts do; where they
//! do not, the value carries a doubt and a person is asked.

use super::super::settings::Counts;
use super::super::still::seconds;
use super::super::{CaptureEvent, Expected, Fit, Note, Taken};
use super::account::{Account, Refilled, Stage};
use super::early::{LEAST_STREAM_CC, RESTED_S};
use super::level::Level;

/// Where nothing is expected: two deliveries of one filling whose amounts differ by less than this
/// share may be two chambers. Common practice, no source: chambers of one engine differ by less.
const LIKE_FELLOWS: f64 = 0.25;
/// Bounds this narrow, as a share of their middle, come from fellows or an earlier round. The
/// widths: 25 % either side for a nominal, 10 % for fellows, 5 % for an earlier round.
const NARROW: f64 = 0.25;
/// A drop from a burette's tip, cc. Common practice, no source: twenty drops to the cc.
const DROP_CC: f64 = 0.05;
/// A burette with no more than this left was let out to its end, cc. Common practice, no source.
const EMPTIED_CC: f64 = 1.25;
/// Fellows tell for one of two amounts where it lies so much nearer to their middle.
const PLAIN: f64 = 0.4;
/// What was kept on a question grows by no more than this share. Common practice, no source.
const KEPT: f64 = 0.10;
/// A burette that is refilled with no more than this left may be refilled amid a chamber, cc.
/// Common practice, no source: nobody lets the level run off the scale.
const LITTLE_LEFT_CC: f64 = 10.0;
/// After a rest of more than this a pour seldom goes on, s: a pause lasts half a minute at most …
const LONG_PAUSE_S: f64 = 31.0;
/// … and more than this much more, cc, is no correction of a bubble.
const MORE_CC: f64 = 3.0;

/// What fellows tell of a rest amid what came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Told {
    /// One pour had ended there.
    First,
    /// It was a pause in one pour.
    Total,
}

/// Whether `grown` came so late after a rest, and is so much, that the rest was hardly a pause.
fn is_late(rest: &Level, grown: f64, scale: f64) -> bool {
    seconds(rest.from_us, rest.to_us) > LONG_PAUSE_S && grown > MORE_CC * scale
}

impl Account {
    /// What the next pour should come to, in the gauge's unit.
    pub(crate) fn expect(&mut self, expected: Option<Expected>) {
        self.expected = expected;
        // A value far below what is expected keeps the route where it stands: the same stop's
        // expectation may have become known meanwhile.
        if self.held.is_none() {
            (self.pour_expected, self.begun) = (None, false);
        } else if std::mem::take(&mut self.renew) {
            self.pour_expected = expected;
        }
    }

    /// A pour has begun: what is expected now holds for it to its end.
    pub(super) fn begins(&mut self) {
        // A pour of which nothing was expected is its own first fellow: that says nothing of it.
        if !self.begun {
            (self.pour_expected, self.begun) = (self.expected, true);
        }
    }

    fn fit(&self, value: f64) -> Option<Fit> {
        self.pour_expected.map(|expected| expected.fit(value))
    }

    /// Whether a pour goes on after the refill that leaves `level`, and why.
    pub(super) fn goes_on_after(&mut self, level: &Level) -> Option<Refilled> {
        let near_end = self.is_near_end(level.now);
        if std::mem::take(&mut self.goes_on) {
            return Some(Refilled::GoesOn);
        }
        match self.fit(self.amount(level).value) {
            None if self.can_be_asked() => self.little_left(level).then_some(Refilled::PerhapsAll),
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

    /// A little that was let out from where the pour before had ended, and then a refill: it may
    /// belong to that one.
    fn perhaps_of_the_one_before(&mut self, level: &Level) {
        let ended = self.last_final.as_ref().map(|last| last.from_us);
        let from_there = self.base.as_ref().map(|base| base.from_us) == ended;
        let taken = self.amount(level);
        let little = taken.value <= MORE_CC * self.scale;
        let asks = self.can_be_asked() && !self.balance && self.across.is_none();
        if asks && from_there && little && ended.is_some() && self.refilled.is_none() {
            let dripped = true;
            let rest = Level {
                dripped,
                ..level.clone()
            };
            self.two = Some((taken, rest));
        }
    }

    /// A little more, let out in drops where the last pour had ended, may be a correction of that
    /// one, however long ago it ended, and is asked about. Says whether it was one.
    pub(super) fn goes_on_after_final(
        &mut self,
        amount: f64,
        level: &Level,
        out: &mut Vec<CaptureEvent>,
    ) -> bool {
        let ended = self.last_final.as_ref().map(|last| last.from_us);
        let from_there = self.base.as_ref().map(|base| base.from_us) == ended && ended.is_some();
        let little_held = |held: &Taken| held.value <= MORE_CC * self.scale;
        let fresh = self.held.as_ref().is_none_or(little_held) && self.refilled.is_none();
        let little = (LEAST_STREAM_CC * self.scale..=MORE_CC * self.scale).contains(&amount);
        let asks = self.can_be_asked() && !self.balance && self.across.is_none();
        if !(asks && from_there && fresh && little && level.dripped && self.drips) {
            return false;
        }
        let (Some(last), Some(base)) = (self.last_final.take(), self.base.clone()) else {
            return false;
        };
        // The stream before the drops may have been told as the beginning of the next.
        self.withdraw(Note::NothingDelivered, out);
        self.number -= 1;
        self.two = Some((
            last.clone(),
            Level {
                dripped: true,
                ..base
            },
        ));
        self.sum = last.value;
        self.fills.clone_from(&last.fills);
        self.held = Some(last);
        self.stage = Stage::Held;
        self.begins();
        let taken = self.amount(level);
        self.announce(taken, level, out);
        true
    }

    /// A little let out before a refill, too little to be told for a pour: the pour may have begun
    /// with it.
    pub(super) fn begins_with_little(&self, from: &Level) -> bool {
        let Some(base) = &self.base else { return false };
        let amount = self.direction * (from.now - base.now);
        let little = amount >= LEAST_STREAM_CC * self.scale;
        let asks = self.can_be_asked() && !self.balance && self.across.is_none();
        asks && little && self.expected.is_some_and(|e| e.fit(amount) == Fit::Below)
    }

    /// Whether somebody can answer: a recorded stream has nobody to ask.
    pub(super) fn can_be_asked(&self) -> bool {
        self.settings.counts != Counts::Auto
    }

    /// Whether so little is left in the burette that it may be refilled amid a chamber.
    pub(super) fn little_left(&self, level: &Level) -> bool {
        let full = self.settings.capacity_cc * self.scale;
        let left = if self.direction > 0.0 {
            full - level.now
        } else {
            level.now
        };
        !self.balance && left <= LITTLE_LEFT_CC * self.scale
    }

    /// Whether a full burette would not do for what is expected.
    fn wants_refill(&self) -> bool {
        let full = self.settings.capacity_cc * self.scale;
        !self.balance && self.pour_expected.is_some_and(|e| e.middle > full)
    }

    /// Whether what is expected comes from fellows or an earlier round.
    pub(super) fn expects_narrowly(&self) -> bool {
        self.pour_expected
            .is_some_and(|e| e.high - e.low <= NARROW * e.middle)
    }

    /// Whether the filling before was let out to its end: then the burette had no more to give.
    fn emptied(&self) -> bool {
        let full = self.settings.capacity_cc * self.scale;
        let end = if self.direction > 0.0 { full } else { 0.0 };
        let to = self.fills.last().map(|(_, to)| *to);
        to.is_some_and(|to| (to - end).abs() <= EMPTIED_CC * self.scale)
    }

    /// Parts two pours that the movements alone do not part, where the amounts tell them apart.
    /// Says whether the rest at `level` was dealt with.
    pub(super) fn part_pours(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) -> bool {
        self.part_late(level, out) || self.part(level, out)
    }

    /// After a long rest at what the fellows came to, much more is the next pour.
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
            && self.tells(held.value, total) == Some(Told::First);
        if parts {
            self.next_begins_at_rest(held, level, out);
        }
        parts
    }

    /// Which of two amounts the fellows tell for, where they do.
    fn tells(&self, first: f64, total: f64) -> Option<Told> {
        let expected = self.pour_expected.filter(|_| self.expects_narrowly())?;
        let off = |value: f64| (value - expected.middle).abs();
        let (first, total) = (off(first), off(total));
        if first <= PLAIN * total {
            Some(Told::First)
        } else if total <= PLAIN * first {
            Some(Told::Total)
        } else {
            None
        }
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
            // It was whole after the refill already: the rest there ends it.
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
            // Before the refill stood one pour, after it another.
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

    /// Whether what is held was made out after the last refill and is enough.
    fn held_since_refill(&self, expected: Expected) -> bool {
        let (Some(held), Some(rest), Some(base)) = (&self.held, &self.held_at, &self.base) else {
            return false;
        };
        rest.from_us > base.from_us && expected.holds(held.value)
    }

    /// The last rest before the refill, where the pour was held at one since.
    fn before_base(&self) -> Option<&(Taken, Level)> {
        let (rest, base) = (self.held_at.as_ref()?, self.base.as_ref()?);
        let before = |one: &&(Taken, Level)| one.1.from_us < base.from_us;
        let held_since = rest.from_us > base.from_us;
        self.rests.iter().rev().find(before).filter(|_| held_since)
    }

    /// Of a rest before the refill and the one that is held since: whether the first one ended
    /// the pour: drops tell.
    fn base_tells(&self) -> bool {
        let (Some((_, before)), Some(since)) = (self.before_base(), &self.held_at) else {
            return false;
        };
        if self.expects_narrowly() {
            return false;
        }
        before.dripped && !since.dripped
    }

    /// What had come before the refill is one pour, what came since is the next.
    fn next_begins_at_base(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) {
        let before = self.before_base().map(|(taken, _)| taken.clone());
        if let Some(first) = before.or(self.held.clone()) {
            self.finish(first, out);
        }
        self.clear_pour();
        self.follow(level, out);
    }

    /// What had come at the rest before is one pour, what came since is the next.
    fn next_begins_at_rest(&mut self, held: Taken, level: &Level, out: &mut Vec<CaptureEvent>) {
        let rest = self.held_at.take();
        self.finish(held, out);
        self.base = rest;
        self.follow(level, out);
    }

    /// A pour that has come to `level` is told as one of its own.
    fn follow(&mut self, level: &Level, out: &mut Vec<CaptureEvent>) {
        self.stage = Stage::Held;
        self.begins();
        // What the pour before came to is taken in once it is known.
        self.renew = true;
        let taken = self.amount(level);
        self.announce(taken, level, out);
    }

    /// A person kept what is held: it is one pour, and much more is the next one.
    pub(crate) fn kept(&mut self) {
        let Some(held) = &self.held else { return };
        self.pour_expected = Some(Expected::around(held.value, KEPT * held.value));
        self.begun = true;
        (self.two, self.early, self.unseen) = (None, None, None);
        self.rests.retain(|(taken, _)| taken.value == held.value);
    }

    /// A person said that what is held is more than one pour.
    pub(crate) fn split(&mut self, out: &mut Vec<CaptureEvent>) {
        // What was said is what is parted.
        let said = |(first, _): &(Taken, Level)| match self.held.as_ref().and_then(|h| h.doubt) {
            Some(Note::OneOrTwo { first: said, .. }) => said == first.value,
            _ => true,
        };
        let is_said = self.two.as_ref().is_some_and(said);
        if (self.early.is_none() || !is_said) && self.split_early(out) {
            return;
        }
        match (self.held.clone(), self.two.take()) {
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
            _ => out.push(CaptureEvent::Note(Note::NothingToTake)),
        }
    }

    /// The same where the burette was refilled since the first one ended.
    fn split_over_fillings(&mut self, first: Taken, out: &mut Vec<CaptureEvent>) {
        let known = first.fills.len();
        let since = self.fills.get(known..).unwrap_or_default();
        // The first may have ended amid a filling.
        let ended = first.fills.last().map(|(_, to)| *to);
        let filling = known.checked_sub(1).and_then(|n| self.fills.get(n));
        let rest_of_it = ended
            .zip(filling)
            .map(|(ended, (_, to))| (ended, *to))
            .filter(|(ended, to)| ended != to);
        let fills = rest_of_it.into_iter().chain(since.iter().copied());
        let fills = fills.collect();
        let more = self.sum - first.value;
        self.carry_on(first, (more, fills), out);
    }

    /// Where a refill amid a pour may as well have been one between two, nothing is said before
    /// the amounts tell.
    pub(super) fn waits_to_be_told(&self, taken: &Taken) -> bool {
        self.refilled == Some(Refilled::PerhapsAll)
            && !(self.wants_refill() && (self.expects_narrowly() || self.emptied()))
            && matches!(self.fit(taken.value), Some(Fit::Within) | None)
    }

    /// What was delivered if it ended at this rest, with the doubt that it carries.
    pub(super) fn whole(&mut self, level: &Level) -> Taken {
        self.drips |= level.dripped;
        let taken = self.amount(level);
        self.doubted(taken, true)
    }

    /// What was delivered up to this rest, with the doubt that it carries already.
    pub(super) fn so_far(&mut self, level: &Level) -> Taken {
        let taken = self.amount(level);
        self.doubted(taken, false)
    }

    /// Whether nothing says that more must come.
    pub(super) fn may_be_whole(&self, taken: &Taken) -> bool {
        matches!(self.fit(taken.value), None | Some(Fit::Within))
    }

    /// A value far below what is expected is not final, however long the rest: more may come.
    pub(super) fn lingers(
        &mut self,
        taken: &Taken,
        rested_s: f64,
        out: &mut Vec<CaptureEvent>,
    ) -> bool {
        if self.fit(taken.value) != Some(Fit::Below) {
            return false;
        }
        if rested_s >= self.settings.final_s && !self.lingered {
            self.lingered = true;
            out.push(CaptureEvent::Lingers { pour: self.number });
        }
        true
    }

    /// A value that two pours would give as well as one carries that doubt: where nothing is
    /// expected, two like deliveries of one filling; where the burette was refilled near its end,
    /// a little more than what had come before.
    pub(super) fn doubted(&mut self, mut taken: Taken, ended: bool) -> Taken {
        if self.balance || self.across.is_some() {
            return taken;
        }
        if self.two.as_ref().is_none_or(|(_, rest)| !rest.dripped) {
            self.two = self.perhaps_two(&taken).or(self.two.take());
        }
        if self.may_have_begun_before() {
            taken.doubt = Some(Note::MayHaveBegunBefore);
            return taken;
        }
        // A pause in the stream is no end where this person ends with drops; whether he does is
        // seen at the end of the first pour.
        let tells = |dripped: bool| dripped || (ended && !self.drips);
        let two = self.two.as_ref().filter(|(_, rest)| {
            tells(rest.dripped) || seconds(rest.from_us, rest.to_us) > LONG_PAUSE_S
        });
        let early = self.early.as_ref().filter(|early| tells(early.dripped));
        let first = two.map(|(first, _)| first);
        if let Some(first) = first.or(early.map(|early| &early.first)) {
            taken.doubt = Some(Note::OneOrTwo {
                first: first.value,
                second: taken.value - first.value,
                unit: self.unit,
            });
        }
        taken
    }

    /// Whether drops ended the pour before it had come to enough, and more came later.
    pub(super) fn ended_too_early(&self) -> bool {
        let ended = |(taken, rest): &(Taken, Level)| {
            let rested = seconds(rest.from_us, rest.to_us) >= RESTED_S;
            rest.dripped && rested && self.fit(taken.value) == Some(Fit::Below)
        };
        self.rests.iter().rev().skip(1).any(ended)
    }

    /// Whether drops had ended what came before the last refill.
    pub(super) fn dripped_before_refill(&self) -> bool {
        let refilled_from = self.fills.last().map(|(_, to)| *to);
        let mut rests = self.rests.iter().rev().map(|(_, rest)| rest);
        let near = |rest: &&Level| {
            refilled_from.is_some_and(|from| (rest.now - from).abs() <= 2.0 * DROP_CC * self.scale)
        };
        rests.find(near).is_some_and(|rest| rest.dripped)
    }

    /// The first of what may be two pours, and where the second would have begun.
    fn perhaps_two(&self, taken: &Taken) -> Option<(Taken, Level)> {
        let refilled = self.perhaps_two_fillings(taken);
        match refilled.as_ref().is_some_and(|(_, rest)| rest.dripped) {
            true => refilled,
            false => self.perhaps_two_of_one_filling(taken).or(refilled),
        }
    }

    /// The same where the burette was refilled: what came before and what came since.
    fn perhaps_two_fillings(&self, taken: &Taken) -> Option<(Taken, Level)> {
        self.refilled?;
        let (held, base) = (self.held.as_ref()?, self.base.as_ref()?);
        let least = self.settings.least_cc * self.scale;
        let grown = taken.value - self.sum;
        let open = self.tells(self.sum, taken.value) != Some(Told::Total);
        let parts = self.waits_to_be_told(taken) && grown >= least && open;
        parts.then(|| {
            let dripped = self.dripped_before_refill();
            let base = base.clone();
            (held.clone(), Level { dripped, ..base })
        })
    }

    /// The same where both came from one filling.
    fn perhaps_two_of_one_filling(&self, taken: &Taken) -> Option<(Taken, Level)> {
        let alike = |first: f64| {
            let grown = taken.value - first;
            (grown - first).abs() <= LIKE_FELLOWS * first
        };
        let since = self.base.as_ref().map_or(0, |base| base.from_us);
        let late = |(first, rest): &(Taken, Level)| {
            let grown = taken.value - first.value;
            let after_drops = rest.dripped && grown > MORE_CC * self.scale;
            is_late(rest, grown, self.scale)
                || after_drops && self.tells(first.value, taken.value) != Some(Told::Total)
        };
        let parted = |one: &&(Taken, Level)| {
            let like = match self.pour_expected {
                None => alike(one.0.value) || self.can_be_asked() && late(one),
                Some(expected) => self.can_be_asked() && expected.holds(one.0.value) && late(one),
            };
            like && one.1.from_us >= since
        };
        // Where drops fell last is the likeliest end.
        let dripped = |one: &&(Taken, Level)| one.1.dripped && parted(one);
        let last = self.rests.iter().rev().find(dripped);
        last.or_else(|| self.rests.iter().find(parted)).cloned()
    }

    /// Remembers a rest of this pour, with what had come by then.
    pub(super) fn rests_at(&mut self, taken: &Taken, level: &Level) {
        match self.rests.last_mut() {
            Some((before, rest)) if rest.from_us == level.from_us => {
                let dripped = rest.dripped || level.dripped;
                let level = level.clone();
                (*before, *rest) = (taken.clone(), Level { dripped, ..level });
            }
            last => {
                // A level that stands says how it was come to, whoever listened meanwhile.
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
