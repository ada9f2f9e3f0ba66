//! How much was delivered between two rests, and what is odd about their levels.
//!
//! Amounts are calculated from two rests and the settings; nothing is changed here.

use super::super::still::seconds;
use super::super::{CaptureNote, CapturedValue};
use super::account::Account;
use super::early::RESTED_S;
use super::level::Level;

/// A rest between these shares of an amount may part it into two chambers of one engine: such
/// chambers differ by less. Common practice, no source.
const HALF_WAY: (f64, f64) = (0.3, 0.7);

/// A person who lets a burette down to its zero mark stops within this of the mark, cc. Common
/// practice, no source.
const BESIDE_MARK_CC: f64 = 0.5;

impl Account {
    /// How much was let out down to the zero mark of a burette filled beyond it: no pour.
    pub(super) fn zero_set(&self, level: &Level) -> Option<f64> {
        let base = self.base.as_ref()?;
        if self.balance {
            return None;
        }
        let full = if self.direction > 0.0 {
            0.0
        } else {
            self.settings.capacity_cc * self.scale
        };
        let beyond = self.direction * (full - base.now);
        let let_out = self.direction * (level.now - base.now);
        // A burette filled far beyond the mark is not let down to the mark to a drop.
        let far = beyond > BESIDE_MARK_CC * self.scale;
        let beside = if far { BESIDE_MARK_CC } else { 0.15 };
        let at_mark = (level.now - full).abs() < beside * self.scale;
        let plain = beyond > 0.05 * self.scale && beyond < 10.0 * self.scale;
        (plain && at_mark).then_some(let_out)
    }

    /// What was delivered if the pour ended at this rest; across a gap, the amount held before it.
    pub(super) fn amount(&self, level: &Level) -> CapturedValue {
        if let (Some(held), true) = (&self.held, self.across.is_some()) {
            return held.clone();
        }
        let part = self.base.as_ref().map_or(0.0, |base| {
            self.direction * (level.settled - base.now - self.evaporated(base, level))
        });
        let mut fills = self.fills.clone();
        fills.extend(self.base.as_ref().map(|base| (base.now, level.now)));
        let value = self.sum + part;
        CapturedValue {
            value,
            unit: self.unit,
            n: level.window.len(),
            sd: level.sd,
            se: None,
            at_us: level.to_us,
            from_us: level.from_us,
            window: level.window.clone(),
            others: Vec::new(),
            resolution: self.resolution,
            fills,
            expected: self.pour_expected,
            parts_at: self.half_way(value).map(|(first, _)| first.value),
            doubt: None,
            also: None,
        }
    }

    /// The rest that parts an amount most evenly into two pours, with the amount up to it.
    pub(super) fn half_way(&self, value: f64) -> Option<&(CapturedValue, Level)> {
        let half = |(first, _): &&(CapturedValue, Level)| (first.value / value - 0.5).abs();
        let rested = |(first, rest): &&(CapturedValue, Level)| {
            let long = seconds(rest.from_us, rest.to_us) >= RESTED_S;
            long && (HALF_WAY.0..=HALF_WAY.1).contains(&(first.value / value))
        };
        let all = self.rests.iter().filter(rested);
        all.min_by(|a, b| half(a).total_cmp(&half(b)))
    }

    /// Whether the burette is nearly empty at this level.
    pub(super) fn is_near_end(&self, now: f64) -> bool {
        if self.balance {
            return false;
        }
        let end = if self.direction > 0.0 {
            self.settings.capacity_cc * self.scale
        } else {
            0.0
        };
        (now - end).abs() <= self.settings.near_end_cc * self.scale
    }

    /// Whether a run to this first rest, whose beginning was not seen, was a delivery. Where the
    /// direction is not known, a run that ends at full or empty was a refill.
    pub(super) fn was_under_way(&self, run: f64, level: &Level) -> bool {
        let least = self.settings.least_cc * self.scale;
        if self.direction != 0.0 {
            return self.direction * run >= least;
        }
        let at_end = |end: f64| (level.now - end).abs() <= self.settings.near_end_cc * self.scale;
        let filled =
            !self.balance && (at_end(0.0) || at_end(self.settings.capacity_cc * self.scale));
        run.abs() >= least && !filled
    }

    /// What evaporates between the two rests, to be told with the amount.
    pub(super) fn evaporation(&self, level: &Level) -> Option<CaptureNote> {
        let base = self.base.as_ref()?;
        let gone = self.evaporated(base, level);
        let per_min = 60.0 * self.evaporation.rate(base, level, self.scale);
        let unit = self.unit;
        (gone != 0.0).then_some(CaptureNote::Evaporation {
            per_min,
            taken_off: gone.abs(),
            unit,
        })
    }

    /// What a balance lost between two rests besides delivery: 0 or negative.
    fn evaporated(&self, base: &Level, level: &Level) -> f64 {
        if self.balance {
            self.evaporation.between(base, level, self.scale)
        } else {
            0.0
        }
    }
}
