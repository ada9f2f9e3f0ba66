//! Whether a gauge may have been switched off: it went silent and came back with another number.
//!
//! The same number as before, where it is not 0, proves that the gauge kept counting or did not
//! move. A gauge that was switched on shows 0 wherever its plunger stands.

use benchhand_drivers::{Sample, Unit};
use jiff::Timestamp;

use super::GaugeLine;

/// A number counts as the same within so many counts.
const SAME: f64 = 3.0;
/// A number of more than so many counts is not 0.
const CLEAR_OF_ZERO: f64 = 20.0;

/// What is known of a gauge that goes silent and comes back.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Off {
    /// What the gauge showed last before it went silent; `None` where it did not go silent, or had shown
    /// no number.
    went: Option<LastNumber>,
    /// Whether the gauge came back with another number, and nobody was told yet.
    came: bool,
    /// When the gauge last came back with another number.
    at: Option<Timestamp>,
}

/// The number that a gauge showed last.
#[derive(Debug, Clone, Copy)]
struct LastNumber {
    value: f64,
    unit: Unit,
}

impl GaugeLine {
    /// What to tell a person where the gauge has just come back with another number.
    pub(in crate::live) fn was_off(&mut self, now: impl FnOnce() -> Timestamp) -> Option<String> {
        self.off.told(now)?;
        Some(format!("{} was off, and shows otherwise now", self.name))
    }
}

impl Off {
    /// The gauge is not heard any more.
    pub(super) fn went(&mut self, latest: Option<Sample>) {
        let showed = latest.and_then(|Sample { value, unit, .. }| {
            let value = value?;
            Some(LastNumber { value, unit })
        });
        self.went = self.went.or(showed);
    }

    /// The gauge is heard.
    pub(super) fn heard(&mut self, sample: &Sample) {
        let Some(value) = sample.value else { return };
        let Some(went) = self.went.take() else {
            return;
        };
        let count = sample.resolution.abs();
        let same = went.unit == sample.unit && (value - went.value).abs() <= SAME * count;
        let kept = same && went.value.abs() > CLEAR_OF_ZERO * count;
        self.came |= !kept;
    }

    /// Stamps that the gauge came back with another number; `Some` the first time after that
    /// happened.
    pub(super) fn told(&mut self, now: impl FnOnce() -> Timestamp) -> Option<()> {
        std::mem::take(&mut self.came).then(|| self.at = Some(now()))
    }

    /// When the gauge last came back with another number.
    pub(super) fn at(&self) -> Option<Timestamp> {
        self.at
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use benchhand_drivers::SampleStatus;

    fn shows(value: f64) -> Sample {
        Sample {
            at_us: 0,
            channel: 0,
            value: Some(value),
            unit: Unit::Millimetre,
            resolution: 0.01,
            status: SampleStatus::default(),
        }
    }

    fn asked(before: f64, after: f64) -> bool {
        let mut off = Off::default();
        off.went(Some(shows(before)));
        off.heard(&shows(after));
        off.heard(&shows(before));
        off.told(|| Timestamp::UNIX_EPOCH).is_some()
    }

    #[test]
    fn only_the_same_number_away_from_0_proves_that_it_counted_on() {
        assert!(!asked(10.46, 10.46));
        assert!(!asked(10.46, 10.48));
        for (before, after) in [(10.46, 0.0), (10.46, 9.2), (0.0, 0.0), (10.46, -10.46)] {
            assert!(asked(before, after), "{before} {after}");
        }
        let mut off = Off::default();
        off.heard(&shows(3.0));
        assert!(
            off.told(|| Timestamp::UNIX_EPOCH).is_none(),
            "it never went"
        );
    }
}
