//! A dial that is set down and comes to rest: zero faces, depths of pistons, a gasket.

use benchhand_drivers::stream::Stream;

use super::bytes::Sheet;
use crate::demo::scenario::{CROWN_DEPTH_IN, DEPTH_S, GASKET_IN, ORDER, ZERO_S};
use crate::synth::Dice;

/// The dial's own noise: a quarter of its count, in.
pub(super) const SIGMA: f64 = 0.000_125;
/// What the dial shows on the deck: its plunger is pushed in by so much, in.
pub(super) const ON_DECK: f64 = 0.5;
/// What it shows with its plunger hanging free, in.
pub(super) const HANGING: f64 = 0.02;
/// What it shows on the plate on which the gasket is measured, in.
const ON_PLATE: f64 = 0.3;

/// The dial on the deck, before the deck clearances.
pub(super) fn deck_zero(seed: u64) -> Stream {
    let mut dial = Dial::new(seed ^ 0xd0);
    dial.rest(ON_DECK, ZERO_S);
    dial.sheet.finish()
}

/// The dial on the plate, before the gasket.
pub(super) fn gasket_zero(seed: u64) -> Stream {
    let mut dial = Dial::new(seed ^ 0x6a0);
    dial.rest(ON_PLATE, ZERO_S);
    dial.sheet.finish()
}

/// Three times on the fire ring, lifted in between.
pub(super) fn gasket(seed: u64) -> Stream {
    let mut dial = Dial::new(seed ^ 0x6a1);
    dial.rest(ON_PLATE, 1.0);
    for _ in 0..3 {
        dial.go_to(ON_PLATE + 0.2, 2.0);
        let spread = dial.dice.gauss(0.0003);
        dial.go_to(ON_PLATE + GASKET_IN + spread, 6.0);
    }
    dial.go_to(ON_PLATE + 0.2, 2.0);
    dial.sheet.finish()
}

/// How deep a piston stands while its crown is measured, in: never quite the same.
pub(super) fn crown_depth_in(cylinder: u32) -> f64 {
    CROWN_DEPTH_IN + 0.0015 * f64::from(cylinder % 4)
}

/// Each piston's depth, in pieces of [`DEPTH_S`] seconds.
pub(super) fn crown_depths(seed: u64) -> Stream {
    let mut dial = Dial::new(seed ^ 0xc2d);
    for (i, cylinder) in ORDER.iter().enumerate() {
        dial.go_to(HANGING, 2.0);
        let until = (i + 1) as f64 * DEPTH_S;
        let left = until - dial.sheet.seconds();
        dial.go_to(ON_DECK - crown_depth_in(*cylinder), left);
    }
    dial.sheet.finish()
}

pub(super) struct Dial {
    pub(super) sheet: Sheet,
    pub(super) dice: Dice,
    at: f64,
}

impl Dial {
    pub(super) fn new(seed: u64) -> Dial {
        Dial {
            sheet: Sheet::dial(),
            dice: Dice::seeded(seed),
            at: HANGING,
        }
    }

    pub(super) fn write(&mut self, shown: f64) {
        self.at = shown;
        let noisy = shown + self.dice.gauss(SIGMA);
        self.sheet.write(noisy);
    }

    /// Stays where it is.
    fn rest(&mut self, at: f64, seconds: f64) {
        let n = (seconds / self.sheet.step()).round() as usize;
        for _ in 0..n {
            self.write(at);
        }
    }

    /// Comes to rest elsewhere, with the time constant of a damped plunger.
    pub(super) fn go_to(&mut self, target: f64, seconds: f64) {
        let from = self.at;
        let n = (seconds / self.sheet.step()).round() as usize;
        for i in 1..=n {
            let gone = (-(i as f64) * self.sheet.step() / 0.15).exp();
            self.write(target + (from - target) * gone);
        }
        self.at = target;
    }
}
