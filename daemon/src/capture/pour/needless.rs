//! A refill that nothing called for: the burette still held what was to come.
//!
//! What had come before the refill may have been spilt, and what comes after it may be the next
//! pour. A person is asked about the sum. Nothing is parted here.

use super::super::{CapturedValue, Fit};
use super::account::{Account, Needless, Refilled};
use super::level::Level;

/// Two drops or more that come after a refill …
const LEAST_CC: f64 = 0.1;
/// … and no more than this, cc, count as a correction if they end in drops …
const MOST_CC: f64 = 4.0;
/// … where the burette had held this much more than them, cc. Common practice, no source: the last
/// drops of a pour come to 2.5 cc at most, and nobody refills for what the burette plainly holds.
const SPARE_CC: f64 = 3.0;

impl Account {
    /// The burette is refilled at `level`, and the pour goes on. What was left in the burette shows
    /// whether the refill was needed.
    pub(super) fn remembers_refill(&mut self, first: &CapturedValue, level: &Level, why: Refilled) {
        let left = self.left_in(level);
        let would_do = self
            .pour_expected
            .is_some_and(|e| e.middle - first.value <= left);
        let asks = self.asks_of_amounts()
            && match why {
                Refilled::GoesOn => false,
                Refilled::TooLittle => !self.little_left(level) && would_do,
                Refilled::PerhapsAll => true,
            };
        // What was let out before a needless refill stays in doubt over the next refill.
        let stands = |amid: &Needless| amid.why == Refilled::TooLittle;
        if asks && !self.amid.as_ref().is_some_and(stands) {
            let first = first.clone();
            self.amid = Some(Needless { first, left, why });
        }
    }

    /// The first of two pours that a needless refill may have parted, and where the second would
    /// have begun. `ended`: drops or the next refill ended the amount.
    pub(super) fn perhaps_needless(
        &self,
        taken: &CapturedValue,
        ended: bool,
    ) -> Option<(CapturedValue, Level)> {
        let (amid, base) = (self.amid.as_ref()?, self.base.as_ref()?);
        let grown = taken.value - amid.first.value;
        let least = self.settings.least_cc * self.scale;
        let doubted = match amid.why {
            // As long as more must come, nobody is asked.
            Refilled::TooLittle => grown >= least && self.fit(taken.value) != Some(Fit::Below),
            _ => {
                let little = (LEAST_CC * self.scale..=MOST_CC * self.scale).contains(&grown);
                let spare = grown + SPARE_CC * self.scale <= amid.left;
                little && spare && (ended || grown < least)
            }
        };
        let base = base.clone();
        doubted.then(|| {
            (
                amid.first.clone(),
                Level {
                    dripped: true,
                    ..base
                },
            )
        })
    }
}
