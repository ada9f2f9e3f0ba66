//! A gauge's noise, learned while the gauge is still.
//!
//! The caller knows when the gauge is still; this module does not.

use serde::{Deserialize, Serialize};

/// Before anything is known of a gauge, its noise is taken to be this many counts.
///
/// Common practice for a last digit that "flickers by one". The samples of the first seconds at
/// rest replace it.
pub(crate) const START_COUNTS: f64 = 1.0;

/// The start value has the weight of so many samples.
const START_WEIGHT: f64 = 3.0;

/// How many samples are remembered: older ones fade, so that a gauge may change slowly.
const MEMORY: f64 = 3_000.0;

/// The standard deviation of a gauge's samples while it is still, as learned so far.
///
/// In the gauge's unit. Never below the quantisation of one count, q/√12.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Sigma {
    /// Mean square about the rest, in the gauge's unit squared.
    mean_square: f64,
    /// How many samples it was learned from.
    samples: f64,
}

impl Sigma {
    /// Nothing is known of this gauge yet.
    pub fn unknown() -> Self {
        Self::default()
    }

    /// A noise that is known from elsewhere, in the gauge's unit, with the weight of `samples`
    /// samples.
    pub fn known(value: f64, samples: u32) -> Self {
        Self {
            mean_square: value * value,
            samples: f64::from(samples),
        }
    }

    /// The same noise in a unit of which `factor` make one of the former.
    pub(crate) fn scaled(self, factor: f64) -> Self {
        Self {
            mean_square: self.mean_square * factor * factor,
            ..self
        }
    }

    /// The noise to judge samples by, in the gauge's unit, for a count of size `resolution`.
    pub fn at(&self, resolution: f64) -> f64 {
        let start = START_COUNTS * resolution;
        let sum = self.mean_square * self.samples + start * start * START_WEIGHT;
        let value = (sum / (self.samples + START_WEIGHT)).sqrt();
        value.max(floor(resolution))
    }

    /// How many samples at rest the noise was learned from; 0 where nothing is known.
    pub fn samples(&self) -> f64 {
        self.samples
    }

    /// Whether enough samples were seen to hold the gauge to this noise.
    pub fn is_learned(&self) -> bool {
        self.samples >= 60.0
    }

    /// Learns from `count` samples at rest; `sum_of_squares` is taken about their own mean.
    pub(crate) fn learn(&mut self, sum_of_squares: f64, count: usize) {
        if count < 2 || !sum_of_squares.is_finite() {
            return;
        }
        let degrees = (count - 1) as f64;
        let total = self.mean_square * self.samples + sum_of_squares;
        self.samples += degrees;
        self.mean_square = total / self.samples;
        self.samples = self.samples.min(MEMORY);
    }
}

/// The least noise a gauge can have: that of rounding to one count, q/√12.
///
/// Source: GUM (JCGM 100:2008) F.2.2.1, the standard uncertainty of a digital indication.
pub(crate) fn floor(resolution: f64) -> f64 {
    resolution / 12f64.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn starts_at_one_count_and_is_never_below_the_rounding() {
        assert!((Sigma::unknown().at(0.01) - 0.01).abs() < 1e-12);
        let mut quiet = Sigma::unknown();
        for _ in 0..100 {
            quiet.learn(0.0, 20);
        }
        assert!((quiet.at(0.01) - 0.01 / 12f64.sqrt()).abs() < 1e-9);
    }

    #[test]
    fn what_is_seen_outweighs_the_start() {
        let mut sigma = Sigma::unknown();
        for _ in 0..20 {
            sigma.learn(19.0 * 0.02f64.powi(2), 20);
        }
        assert!((sigma.at(0.01) - 0.02).abs() < 0.0005, "{}", sigma.at(0.01));
        assert!(sigma.is_learned());
    }
}
