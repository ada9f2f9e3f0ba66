//! Two manometers under a flow that surges and drifts.

use benchhand_drivers::{Sample, Unit};

use super::{Dice, InventedGauge, sample};

/// What a flow is drawn from.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowRules {
    /// Length, s.
    pub seconds: f64,
    /// Correlation from one sample to the next.
    pub memory: f64,
    /// Standard deviation of the surge as a share of the mean.
    pub surge: (f64, f64),
    /// Drift over the whole length as a share of the mean.
    pub drift: (f64, f64),
}

impl Default for FlowRules {
    fn default() -> Self {
        Self {
            seconds: 15.2,
            memory: 0.95,
            surge: (0.01, 0.03),
            drift: (0.0, 0.02),
        }
    }
}

/// A flow with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeFlow {
    /// What channels 0 (test pressure) and 1 (metering pressure) sent.
    pub samples: Vec<Sample>,
    /// Mean of each channel at the middle, without surge.
    pub truth: [f64; 2],
    /// Run of channel 0 over the whole length.
    pub drift: f64,
}

/// Makes one flow at 20 Hz, in inches of water.
pub fn flow(seed: u64, rules: &FlowRules) -> MadeFlow {
    let mut dice = Dice::seeded(seed);
    let gauge = InventedGauge {
        unit: Unit::InchWater,
        resolution: 0.01,
        sigma: 0.005,
        hertz: 20.0,
    };
    let truth = [dice.uniform(10.0, 28.0), dice.uniform(2.0, 16.0)];
    let surge = dice.uniform(rules.surge.0, rules.surge.1);
    let drift = dice.uniform(rules.drift.0, rules.drift.1) * dice.sign();
    let mut swell = [dice.gauss(surge), dice.gauss(surge)];
    let fresh = surge * (1.0 - rules.memory * rules.memory).sqrt();
    let mut samples = Vec::new();
    let n = (rules.seconds * gauge.hertz).round() as usize;
    for i in 0..n {
        let t = i as f64 / gauge.hertz;
        let run = drift * (t / rules.seconds - 0.5);
        for channel in 0..2 {
            swell[channel] = rules.memory * swell[channel] + dice.gauss(fresh);
            let value = truth[channel] * (1.0 + swell[channel] + run) + dice.gauss(gauge.sigma);
            let shown = (value / gauge.resolution).round() * gauge.resolution;
            samples.push(sample(
                t + 0.002 * channel as f64,
                channel as u8,
                shown,
                &gauge,
            ));
        }
    }
    MadeFlow {
        samples,
        truth,
        drift: drift * truth[0],
    }
}
