//! Signals made by hand, with the truth beside them.
//!
//! Pours, sweeps over top dead centre, pushes at the thrust sides, settles, idle hours and
//! flows, each from a seed, so that capture can be measured and a demonstration has streams
//! to play. Nothing here was read from a gauge. It does not know how capture decides; only
//! `measure` puts the two together.

mod crank;
mod dice;
#[cfg(test)]
pub mod evening;
mod flow;
mod hand;
pub mod measure;
mod pours;
mod rests;

pub use crank::{MadeSweep, MadeThrust, SweepRules, WrongSweep, sweep, thrust};
pub use dice::Dice;
pub use flow::{FlowRules, MadeFlow, flow};
pub use hand::HandEvenness;
pub use pours::{MadePour, MadeRoute, PourRules, ReadBy, pour_route};
pub use rests::{IdleRules, MadeSettle, Manner, depth_gauge, idle, settle, settle_of};

use benchhand_drivers::{Sample, SampleStatus, Unit};

/// How an invented gauge shows a true value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InventedGauge {
    /// The unit it sends.
    pub unit: Unit,
    /// The size of one count, in that unit.
    pub resolution: f64,
    /// Standard deviation of its Gaussian noise before rounding, in that unit.
    pub sigma: f64,
    /// Samples a second.
    pub hertz: f64,
}

/// Writes samples down at a gauge's even pace.
pub(crate) struct Recorder<'a> {
    gauge: InventedGauge,
    dice: &'a mut Dice,
    samples: Vec<Sample>,
    next: u64,
}

impl<'a> Recorder<'a> {
    pub(crate) fn new(gauge: InventedGauge, dice: &'a mut Dice) -> Self {
        Self {
            gauge,
            dice,
            samples: Vec::new(),
            next: 0,
        }
    }

    /// The time of the next sample, s.
    pub(crate) fn time(&self) -> f64 {
        self.next as f64 / self.gauge.hertz
    }

    pub(crate) fn dice(&mut self) -> &mut Dice {
        self.dice
    }

    /// Writes the next sample of a true value.
    pub(crate) fn write(&mut self, truth: f64) {
        let noisy = truth + self.dice.gauss(self.gauge.sigma);
        let value = (noisy / self.gauge.resolution).round() * self.gauge.resolution;
        self.samples
            .push(sample(self.time(), 0, value, &self.gauge));
        self.next += 1;
    }

    /// Writes the last value once more, as a gauge does that has nothing new.
    pub(crate) fn repeat(&mut self) {
        let value = self.samples.last().and_then(|s| s.value).unwrap_or(0.0);
        self.samples
            .push(sample(self.time(), 0, value, &self.gauge));
        self.next += 1;
    }

    pub(crate) fn finish(self) -> Vec<Sample> {
        self.samples
    }
}

pub(crate) fn sample(seconds: f64, channel: u8, value: f64, gauge: &InventedGauge) -> Sample {
    Sample {
        at_us: (seconds * 1e6).round() as u64,
        channel,
        value: Some(value),
        unit: gauge.unit,
        resolution: gauge.resolution,
        status: SampleStatus::default(),
    }
}

/// Shakes the arrival times as a USB line does: each late by up to `jitter_s`, and now and
/// then a stall after which everything held back arrives at one moment. No sample is lost
/// and the order stays.
pub fn shake(samples: &mut [Sample], jitter_s: f64, stall_chance: f64, dice: &mut Dice) {
    let (mut last, mut held_until) = (0, 0);
    for sample in samples {
        if dice.chance(stall_chance) {
            held_until = sample.at_us + (dice.uniform(0.2, 0.9) * 1e6) as u64;
        }
        let late = sample.at_us + (dice.uniform(0.0, jitter_s) * 1e6) as u64;
        last = late.max(held_until.min(late + 1_000_000)).max(last);
        sample.at_us = last;
    }
}
