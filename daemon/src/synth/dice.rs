//! Seeded chance: the same seed gives the same signal on every machine.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A seeded source of chance.
#[derive(Debug, Clone)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// From a seed.
    pub fn seeded(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Uniform from `low` (included) to `high` (not included); `low` where they are equal.
    pub fn uniform(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }

    /// A whole number from `low` to `high`, both included.
    pub fn whole(&mut self, low: u32, high: u32) -> u32 {
        self.0.random_range(low..=high)
    }

    /// True with this chance.
    pub fn chance(&mut self, chance: f64) -> bool {
        self.0.random::<f64>() < chance
    }

    /// One of several, equally likely; `values` must not be empty.
    pub fn pick<T: Copy>(&mut self, values: &[T]) -> T {
        values[self.0.random_range(0..values.len())]
    }

    /// +1 or −1.
    pub fn sign(&mut self) -> f64 {
        if self.chance(0.5) { 1.0 } else { -1.0 }
    }

    /// Gaussian with mean 0 (G. E. P. Box and M. E. Muller, 1958, from memory).
    pub fn gauss(&mut self, sigma: f64) -> f64 {
        let (u, v) = (1.0 - self.0.random::<f64>(), self.0.random::<f64>());
        sigma * (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
}
