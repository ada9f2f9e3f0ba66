//! What a pour should come to, and what an expectation says of an amount.
//!
//! The module knows bounds and how much the burette holds. It parts no pours and asks no questions.

use super::super::settings::PourCounts;
use super::super::{CaptureEvent, CapturedValue, ExpectedBounds, Fit};
use super::account::{Account, Refilled};
use super::level::Level;

/// Bounds no wider than this share of their middle come from other chambers or an earlier round.
/// The widths: 25 % on either side for a nominal volume, 10 % for other chambers, 5 % for an
/// earlier round.
const NARROW: f64 = 0.25;
/// A burette with no more than this left was emptied, cc. Common practice, no source.
const EMPTIED_CC: f64 = 1.25;
/// An expectation tells for one of two amounts that lies this much nearer to its middle.
const PLAIN: f64 = 0.4;
/// A burette with no more than this left may be refilled amid a chamber, cc. Common practice, no
/// source: nobody lets the level run off the scale.
const LITTLE_LEFT_CC: f64 = 10.0;

/// What the other chambers tell of a rest amid an amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum BrothersTell {
    /// One pour ended at the rest.
    First,
    /// The rest was a pause in one pour.
    Total,
}

impl Account {
    /// Sets what the next pour should come to, in the gauge's unit.
    pub(crate) fn expect(&mut self, expected: Option<ExpectedBounds>) {
        self.expected = expected;
        // A value far below the expectation keeps the route at its stop. That stop's expectation
        // may have become known meanwhile.
        if self.held.is_none() {
            (self.pour_expected, self.begun) = (None, false);
        } else if std::mem::take(&mut self.renew) {
            self.pour_expected = expected;
        }
    }

    /// A pour has begun: the present expectation holds to its end.
    pub(super) fn begins(&mut self) {
        // A pour for which nothing was expected becomes the first of the other chambers. An
        // expectation made from it says nothing of it.
        if !self.begun {
            (self.pour_expected, self.begun) = (self.expected, true);
        }
    }

    pub(super) fn fit(&self, value: f64) -> Option<Fit> {
        self.pour_expected.map(|expected| expected.fit(value))
    }

    /// Whether the expectation comes from other chambers or an earlier round.
    pub(super) fn expects_narrowly(&self) -> bool {
        self.pour_expected
            .is_some_and(|e| e.high - e.low <= NARROW * e.middle)
    }

    /// Whether a full burette holds less than the expected amount.
    pub(super) fn wants_refill(&self) -> bool {
        let full = self.settings.capacity_cc * self.scale;
        !self.balance && self.pour_expected.is_some_and(|e| e.middle > full)
    }

    /// Whether the filling before was emptied: the burette had no more to give.
    pub(super) fn emptied(&self) -> bool {
        let full = self.settings.capacity_cc * self.scale;
        let end = if self.direction > 0.0 { full } else { 0.0 };
        let to = self.fills.last().map(|(_, to)| *to);
        to.is_some_and(|to| (to - end).abs() <= EMPTIED_CC * self.scale)
    }

    /// Whether a person is asked which pour an amount belongs to. A balance tells vessels apart by
    /// itself, and across a gap nothing is added.
    pub(super) fn asks_of_amounts(&self) -> bool {
        self.can_be_asked() && !self.balance && self.across.is_none()
    }

    /// Whether so little is left in the burette that it may be refilled amid a chamber.
    pub(super) fn little_left(&self, level: &Level) -> bool {
        !self.balance && self.left_in(level) <= LITTLE_LEFT_CC * self.scale
    }

    /// How much is left in the burette at this level, in the gauge's unit.
    pub(super) fn left_in(&self, level: &Level) -> f64 {
        match self.direction > 0.0 {
            true => self.settings.capacity_cc * self.scale - level.now,
            false => level.now,
        }
    }

    /// Whether a person can answer: a recorded stream has nobody to ask.
    pub(super) fn can_be_asked(&self) -> bool {
        self.settings.counts != PourCounts::Auto
    }

    /// Which of two amounts the other chambers tell for, if any.
    pub(super) fn tells(&self, first: f64, total: f64) -> Option<BrothersTell> {
        let expected = self.pour_expected.filter(|_| self.expects_narrowly())?;
        let off = |value: f64| (value - expected.middle).abs();
        let (first, total) = (off(first), off(total));
        if first <= PLAIN * total {
            Some(BrothersTell::First)
        } else if total <= PLAIN * first {
            Some(BrothersTell::Total)
        } else {
            None
        }
    }

    /// Whether the pour may be complete: nothing says that more must come.
    pub(super) fn may_be_whole(&self, taken: &CapturedValue) -> bool {
        matches!(self.fit(taken.value), None | Some(Fit::Within))
    }

    /// Whether an amount waits to be told: a refill amid a pour may have been one between two pours
    /// until the amounts tell.
    pub(super) fn waits_to_be_told(&self, taken: &CapturedValue) -> bool {
        self.refilled == Some(Refilled::PerhapsAll)
            && !(self.wants_refill() && (self.expects_narrowly() || self.emptied()))
            && matches!(self.fit(taken.value), Some(Fit::Within) | None)
    }

    /// Keeps a value far below the expectation from becoming final, however long the rest: more may
    /// come.
    pub(super) fn lingers(
        &mut self,
        taken: &CapturedValue,
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
