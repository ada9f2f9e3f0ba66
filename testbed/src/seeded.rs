//! A small seeded generator, so that damage, random cuts and failing disks can be repeated.

/// SplitMix64 (G. L. Steele, D. Lea, C. H. Flood: "Fast splittable pseudorandom number
/// generators", OOPSLA 2014). It is good enough for choosing places, not for secrets.
#[derive(Debug, Clone)]
pub struct SplitMix64(u64);

impl SplitMix64 {
    /// The same seed gives the same sequence.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below `end`. 0 if `end` is 0.
    pub fn below(&mut self, end: usize) -> usize {
        let end = u64::try_from(end).unwrap_or(u64::MAX).max(1);
        usize::try_from(self.draw() % end).unwrap_or(0)
    }

    /// A number from 0 to `most`, both included.
    pub fn up_to(&mut self, most: usize) -> usize {
        self.below(most.saturating_add(1))
    }

    /// `true` once in `times` on average. Never if `times` is 0.
    pub fn one_in(&mut self, times: usize) -> bool {
        times > 0 && self.below(times) == 0
    }

    /// Any byte.
    pub fn byte(&mut self) -> u8 {
        self.draw().to_le_bytes()[7]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gives_the_reference_sequence() {
        // First outputs for seed 1234567 of the reference C code of the same generator
        // (S. Vigna, prng.di.unimi.it, splitmix64.c), as given by Rosetta Code.
        let mut random = SplitMix64::new(1_234_567);
        assert_eq!(random.draw(), 6_457_827_717_110_365_317);
        assert_eq!(random.draw(), 3_203_168_211_198_807_973);
        assert_eq!(random.draw(), 9_817_491_932_198_370_423);
    }
}
