//! Pours from a burette that counts up: fast, then drop by drop, then still, then a refill.

use benchhand_drivers::stream::Stream;

use super::bytes::Sheet;
use crate::demo::scenario::{BORE_IN, CHAMBERS, CROWNS, ORDER, PAUSE_S, PAUSED_POUR, SET_UP_CC};
use crate::synth::Dice;

/// The burette's own noise, cc.
const SIGMA: f64 = 0.006;
/// A drop, cc. Common practice, no source.
const DROP: f64 = 0.05;
/// Where the burette stands after a refill, cc.
const FULL: f64 = 0.4;

/// All chambers in two rounds.
pub(super) fn chambers(seed: u64) -> Stream {
    let mut dice = Dice::seeded(seed ^ 0xc4a);
    let mut bench = Burette::new(seed);
    for round in 0..2 {
        for (i, cylinder) in ORDER.iter().enumerate() {
            let pauses = round * ORDER.len() + i == PAUSED_POUR;
            let truth = CHAMBERS[*cylinder as usize - 1];
            bench.pour(truth + dice.gauss(SET_UP_CC), pauses);
            let last = round == 1 && i == ORDER.len() - 1;
            // The last value is final once the glass has had its time to drain.
            if last {
                bench.still(50.0)
            } else {
                bench.refill()
            }
        }
    }
    bench.sheet.finish()
}

/// All crowns: what fits over the piston is the bore down to its flat, less the dome.
pub(super) fn crowns(seed: u64) -> Stream {
    let mut dice = Dice::seeded(seed ^ 0xc20);
    let mut bench = Burette::new(seed ^ 1);
    let bore_mm = BORE_IN * 25.4;
    for (i, cylinder) in ORDER.iter().enumerate() {
        let depth_mm = super::rests::crown_depth_in(*cylinder) * 25.4;
        let cylinder_cc = std::f64::consts::FRAC_PI_4 * bore_mm * bore_mm * depth_mm / 1000.0;
        let truth = cylinder_cc - CROWNS[*cylinder as usize - 1];
        bench.pour(truth + dice.gauss(SET_UP_CC), false);
        if i == ORDER.len() - 1 {
            bench.still(50.0)
        } else {
            bench.refill()
        }
    }
    bench.sheet.finish()
}

struct Burette {
    sheet: Sheet,
    dice: Dice,
    level: f64,
}

impl Burette {
    fn new(seed: u64) -> Burette {
        Burette {
            sheet: Sheet::burette(),
            dice: Dice::seeded(seed ^ 0xb0e),
            level: FULL,
        }
    }

    fn write(&mut self) {
        let shown = self.level + self.dice.gauss(SIGMA);
        self.sheet.write(shown);
    }

    fn still(&mut self, seconds: f64) {
        let until = self.sheet.seconds() + seconds;
        while self.sheet.seconds() < until - 1e-9 {
            self.write();
        }
    }

    /// Delivers exactly `cc`, with the tap throttled before the end.
    fn pour(&mut self, cc: f64, pauses: bool) {
        let end = self.level + cc;
        let (rate, slow_from) = (
            self.dice.uniform(3.5, 5.0),
            end - self.dice.uniform(0.4, 0.9),
        );
        let half = self.level + cc / 2.0;
        self.still(4.0);
        let mut paused = !pauses;
        while self.level < slow_from {
            if !paused && self.level >= half {
                paused = true;
                self.still(PAUSE_S);
            }
            let swing = 1.0 + 0.2 * (self.sheet.seconds() * 1.7).sin();
            self.level = (self.level + rate * swing * self.sheet.step()).min(slow_from);
            self.write();
        }
        while self.level < end {
            let wait = self.dice.uniform(0.5, 1.1);
            self.still(wait);
            self.level = (self.level + DROP).min(end);
        }
        self.still(8.0);
    }

    fn refill(&mut self) {
        while self.level > FULL {
            self.level = (self.level - 8.0 * self.sheet.step()).max(FULL);
            self.write();
        }
    }
}
