//! How much was delivered between two rests, and what is odd about their levels.
//!
//! It sees two rests and the settings; it changes nothing.

use super::super::still::seconds;
use super::super::{Note, Taken};
use super::account::Account;
use super::early::RESTED_S;
use super::level::Level;

/// Shares of an amount at which it may be two chambers of one engine: they differ by less.
/// Common practice, no source.
const HALF_WAY: (f64, f64) = (0.3, 0.7);

/// Who lets a burette down to its zero mark stops within this of it, cc. Common practice, no source.
const BESIDE_MARK_CC: f64 = 0.5;

impl Account {
    /// A burette filled beyond its zero mark and let out down to it: not a pour.
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
        // Whoever fills far beyond the mark does not hit it to a drop.
        let far = beyond > BESIDE_MARK_CC * self.scale;
        let beside = if far { BESIDE_MARK_CC } else { 0.15 };
        let at_mark = (level.now - full).abs() < beside * self.scale;
        let plain = beyond > 0.05 * self.scale && beyond < 10.0 * self.scale;
        (plain && at_mark).then_some(let_out)
    }

    /// What was delivered if it ended at this rest; across a gap, what was held before it.
    pub(super) fn amount(&self, level: &Level) -> Taken {
        if let (Some(held), true) = (&self.held, self.across.is_some()) {
            return held.clone();
        }
        let part = self.base.as_ref().map_or(0.0, |base| {
            self.direction * (level.settled - base.now - self.evaporated(base, level))
        });
        let mut fills = self.fills.clone();
        fills.extend(self.base.as_ref().map(|base| (base.now, level.now)));
        let value = self.sum + part;
        Taken {
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
        }
    }

    /// The rest that parts an amount best into two pours, with what had come by then.
    pub(super) fn half_way(&self, value: f64) -> Option<&(Taken, Level)> {
        let half = |(first, _): &&(Taken, Level)| (first.value / value - 0.5).abs();
        let rested = |(first, rest): &&(Taken, Level)| {
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

    /// Whether a run that was not seen from its beginning, to this first rest, was a delivery.
    /// Where the direction is not known, one that ends at full or empty was a refill.
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

    /// What evaporation takes between the two rests, to be said with the amount.
    pub(super) fn evaporation(&self, level: &Level) -> Option<Note> {
        let base = self.base.as_ref()?;
        let gone = self.evaporated(base, level);
        let per_min = 60.0 * self.evaporation.rate(base, level, self.scale);
        let unit = self.unit;
        (gone != 0.0).then_some(Note::Evaporation {
            per_min,
            taken_off: gone.abs(),
            unit,
        })
    }

    /// What went between two rests on a balance that is not delivery: 0 or negative.
    fn evaporated(&self, base: &Level, level: &Level) -> f64 {
        if self.balance {
            self.evaporation.between(base, level, self.scale)
        } else {
            0.0
        }
    }
}
