//! What a pour should come to, and what that says of an amount.
//!
//! It knows bounds and how much the burette holds; it parts nothing and asks nothing.

use super::super::settings::Counts;
use super::super::{CaptureEvent, Expected, Fit, Taken};
use super::account::{Account, Refilled};
use super::level::Level;

/// Bounds this narrow, as a share of their middle, come from fellows or an earlier round. The
/// widths: 25 % either side for a nominal, 10 % for fellows, 5 % for an earlier round.
const NARROW: f64 = 0.25;
/// A burette with no more than this left was let out to its end, cc. Common practice, no source.
const EMPTIED_CC: f64 = 1.25;
/// Fellows tell for one of two amounts where it lies so much nearer to their middle.
const PLAIN: f64 = 0.4;
/// A burette that is refilled with no more than this left may be refilled amid a chamber, cc.
/// Common practice, no source: nobody lets the level run off the scale.
const LITTLE_LEFT_CC: f64 = 10.0;

/// What fellows tell of a rest amid what came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    /// One pour had ended there.
    First,
    /// It was a pause in one pour.
    Total,
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

    pub(super) fn fit(&self, value: f64) -> Option<Fit> {
        self.pour_expected.map(|expected| expected.fit(value))
    }

    /// Whether what is expected comes from fellows or an earlier round.
    pub(super) fn expects_narrowly(&self) -> bool {
        self.pour_expected
            .is_some_and(|e| e.high - e.low <= NARROW * e.middle)
    }

    /// Whether a full burette would not do for what is expected.
    pub(super) fn wants_refill(&self) -> bool {
        let full = self.settings.capacity_cc * self.scale;
        !self.balance && self.pour_expected.is_some_and(|e| e.middle > full)
    }

    /// Whether the filling before was let out to its end: then the burette had no more to give.
    pub(super) fn emptied(&self) -> bool {
        let full = self.settings.capacity_cc * self.scale;
        let end = if self.direction > 0.0 { full } else { 0.0 };
        let to = self.fills.last().map(|(_, to)| *to);
        to.is_some_and(|to| (to - end).abs() <= EMPTIED_CC * self.scale)
    }

    /// Whether a person is asked whose an amount is: a balance tells vessels apart by itself, and
    /// across a gap nothing is added.
    pub(super) fn asks_of_amounts(&self) -> bool {
        self.can_be_asked() && !self.balance && self.across.is_none()
    }

    /// Whether so little is left in the burette that it may be refilled amid a chamber.
    pub(super) fn little_left(&self, level: &Level) -> bool {
        !self.balance && self.left_in(level) <= LITTLE_LEFT_CC * self.scale
    }

    /// What is left in the burette at this level, in the gauge's unit.
    pub(super) fn left_in(&self, level: &Level) -> f64 {
        match self.direction > 0.0 {
            true => self.settings.capacity_cc * self.scale - level.now,
            false => level.now,
        }
    }

    /// Whether somebody can answer: a recorded stream has nobody to ask.
    pub(super) fn can_be_asked(&self) -> bool {
        self.settings.counts != Counts::Auto
    }

    /// Which of two amounts the fellows tell for, where they do.
    pub(super) fn tells(&self, first: f64, total: f64) -> Option<Told> {
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

    /// Whether nothing says that more must come.
    pub(super) fn may_be_whole(&self, taken: &Taken) -> bool {
        matches!(self.fit(taken.value), None | Some(Fit::Within))
    }

    /// Where a refill amid a pour may as well have been one between two, nothing is said before
    /// the amounts tell.
    pub(super) fn waits_to_be_told(&self, taken: &Taken) -> bool {
        self.refilled == Some(Refilled::PerhapsAll)
            && !(self.wants_refill() && (self.expects_narrowly() || self.emptied()))
            && matches!(self.fit(taken.value), Some(Fit::Within) | None)
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
}
