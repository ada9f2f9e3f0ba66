//! Chance that can be repeated: the same seed gives the same faults.
//!
//! SplitMix64 (Steele, Lea and Flood, OOPSLA 2014; constants from memory). Good enough to pick
//! where a disk fails; never used for keys or tokens.

#[derive(Debug, Clone)]
pub(super) struct Chance(u64);

impl Chance {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// A number from 0 to `most`, both included.
    pub(super) fn up_to(&mut self, most: usize) -> usize {
        let choices = (most as u64).saturating_add(1);
        usize::try_from(self.next() % choices).unwrap_or(most)
    }

    /// True once in `times` on average; never where `times` is 0.
    pub(super) fn one_in(&mut self, times: usize) -> bool {
        times > 0 && self.up_to(times - 1) == 0
    }
}
