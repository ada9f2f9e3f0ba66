//! Whether a gauge rests just now, for zeroing and checking.
//!
//! Only the last samples are judged; no capture runs for it.

use std::collections::VecDeque;

use benchhand_drivers::{QuantityKind, Sample, Unit};

use crate::capture::Sigma;

/// How far back samples are judged, µs: long enough to show the creep of a plunger, short enough
/// that nobody waits.
const WINDOW_US: u64 = 1_500_000;
/// Least number of samples in the window.
const LEAST: usize = 5;
/// The range of a resting gauge, in its own standard deviations. For normal noise the range of 15
/// samples stays below 5.8 σ in 99 % of cases (Harter's tables, from memory). One count is allowed
/// on top for the last digit.
const RANGE_SIGMAS: f64 = 6.0;

/// How far back a pressure is judged, µs. Air is never quite still: a manometer wavers by some
/// counts with nothing flowing, so it rests where its mean does.
const AIR_WINDOW_US: u64 = 5_000_000;
/// The samples of a pressure span at least this, µs.
const AIR_LEAST_US: u64 = 3_000_000;
/// A pressure at rest wavers by no more than this many counts (standard deviation) …
const AIR_COUNTS: f64 = 3.0;
/// … or by this, Pa: 0.04 in of water. Common practice, no source.
const AIR_PA: f64 = 10.0;
/// The mean of the first third and that of the last differ by no more than a count, or by this
/// share of what it wavers by. For white noise that is 1.7 of its standard deviations at 50
/// samples, so a manometer at rest is seen to rest within a second.
const AIR_DRIFT: f64 = 0.6;

/// The last samples of a gauge's main channel.
#[derive(Debug, Default)]
pub(crate) struct Recent {
    samples: VecDeque<Sample>,
}

/// A gauge at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct RestingValue {
    /// The mean of its samples, in `unit`.
    pub(crate) raw: f64,
    /// The gauge's unit.
    pub(crate) unit: Unit,
    /// The spread of the samples, in `unit`.
    pub(crate) sd: f64,
    /// How many samples.
    pub(crate) n: usize,
    /// The size of one count, in `unit`.
    pub(crate) resolution: f64,
}

impl RestingValue {
    /// How far off the mean may be by the scatter of its samples alone, in `unit`; 95 %.
    pub(crate) fn open_by_scatter(&self) -> f64 {
        2.0 * self.sd / (self.n.max(1) as f64).sqrt()
    }
}

impl Recent {
    /// Takes in a sample; samples older than the window are dropped.
    pub(crate) fn push(&mut self, sample: &Sample) {
        if self
            .samples
            .back()
            .is_some_and(|last| last.unit != sample.unit)
        {
            self.samples.clear();
        }
        self.samples.push_back(*sample);
        let window = match sample.unit.kind() {
            QuantityKind::Pressure => AIR_WINDOW_US,
            _ => WINDOW_US,
        };
        let oldest = sample.at_us.saturating_sub(window);
        while self
            .samples
            .front()
            .is_some_and(|first| first.at_us < oldest)
        {
            self.samples.pop_front();
        }
    }

    /// Forgets all samples: those from before a loss say nothing of now.
    pub(crate) fn clear(&mut self) {
        self.samples.clear();
    }

    /// The gauge's resting value; `None` while the gauge moves or too little is known.
    pub(crate) fn steady(&self, sigma: Sigma) -> Option<RestingValue> {
        self.mean(sigma)
            .filter(|(_, rests)| *rests)
            .map(|(mean, _)| mean)
    }

    /// The mean of the samples, and whether the gauge rests; `None` where too little is known, or
    /// not every sample is a value.
    pub(crate) fn mean(&self, sigma: Sigma) -> Option<(RestingValue, bool)> {
        let values: Vec<f64> = self
            .samples
            .iter()
            .map(|s| s.value)
            .collect::<Option<_>>()?;
        let last = self.samples.back()?;
        let n = values.len();
        if n < LEAST
            || self
                .samples
                .iter()
                .any(|s| s.status.overrange || s.status.hold)
        {
            return None;
        }
        let air = last.unit.kind() == QuantityKind::Pressure;
        let spans = |first: &Sample| last.at_us.saturating_sub(first.at_us) >= AIR_LEAST_US;
        if air && !self.samples.front().is_some_and(spans) {
            return None;
        }
        let mean = values.iter().sum::<f64>() / n as f64;
        let squares = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
        let sd = (squares / (n - 1) as f64).sqrt();
        let mean = RestingValue {
            raw: mean,
            unit: last.unit,
            sd,
            n,
            resolution: last.resolution,
        };
        let rests = if air {
            air_rests(&values, &mean)
        } else {
            let (low, high) = values
                .iter()
                .fold((f64::MAX, f64::MIN), |(l, h), &v| (l.min(v), h.max(v)));
            high - low <= RANGE_SIGMAS * sigma.at(last.resolution) + last.resolution
        };
        Some((mean, rests))
    }
}

/// Whether a pressure rests: it wavers by little, and its mean stays where it is.
fn air_rests(values: &[f64], mean: &RestingValue) -> bool {
    let least = AIR_PA / mean.unit.difference_to_base(1.0);
    let third = (values.len() / 3).max(1);
    let of = |part: &mut dyn Iterator<Item = &f64>| part.take(third).sum::<f64>() / third as f64;
    let went = of(&mut values.iter().rev()) - of(&mut values.iter());
    mean.sd <= least.max(AIR_COUNTS * mean.resolution)
        && went.abs() <= (AIR_DRIFT * mean.sd).max(mean.resolution)
}

#[cfg(test)]
mod tests {
    use super::*;
    use benchhand_drivers::SampleStatus;

    fn recent(values: &[f64]) -> Recent {
        let mut recent = Recent::default();
        for (i, &value) in values.iter().enumerate() {
            recent.push(&Sample {
                at_us: 100_000 * i as u64,
                channel: 0,
                value: Some(value),
                unit: Unit::Millimetre,
                resolution: 0.001,
                status: SampleStatus::default(),
            });
        }
        recent
    }

    #[test]
    fn a_resting_gauge_gives_its_mean() {
        let values: Vec<f64> = (0..15).map(|i| 5.0 + 0.001 * f64::from(i % 2)).collect();
        let steady = recent(&values).steady(Sigma::default()).unwrap();
        assert!((steady.raw - 5.0005).abs() < 2e-4);
        assert_eq!(steady.n, 15);
    }

    /// A manometer of 0.01 in of water with nothing flowing: it wavers by two counts, and rests.
    #[test]
    fn a_manometer_that_wavers_rests_and_one_that_sinks_does_not() {
        let air = |value: &dyn Fn(usize) -> f64, count: usize| {
            let mut recent = Recent::default();
            // Noise of the unit's size that repeats every eleven samples.
            let noise = [0.3, -1.4, 0.9, -0.2, 1.6, -0.8, -1.1, 0.5, 1.2, -0.6, -0.4];
            for i in 0..count {
                let wavering = value(i) + 0.02 * noise[i % noise.len()];
                recent.push(&Sample {
                    at_us: 100_000 * i as u64,
                    channel: 0,
                    value: Some((wavering * 100.0).round() / 100.0),
                    unit: Unit::InchWater,
                    resolution: 0.01,
                    status: SampleStatus::default(),
                });
            }
            recent.steady(Sigma::default())
        };
        let resting = air(&|_| 0.40, 80).expect("it rests");
        assert!((resting.raw - 0.40).abs() < 0.005, "{resting:?}");
        assert!((0.015..0.03).contains(&resting.sd), "{resting:?}");
        assert!(resting.n >= 50, "the mean of five seconds: {resting:?}");
        // The blower was shut off, and the level sinks by a count in half a second.
        assert_eq!(air(&|i| 0.40 - 0.002 * i as f64, 80), None);
        assert_eq!(air(&|_| 0.40, 20), None, "heard for two seconds only");
        assert_eq!(
            air(&|i| 28.0 + 0.4 * (i as f64).sin(), 80),
            None,
            "flow surges"
        );
    }

    #[test]
    fn a_moving_gauge_and_one_just_plugged_in_give_nothing() {
        let moving: Vec<f64> = (0..15).map(|i| 5.0 + 0.01 * f64::from(i)).collect();
        assert_eq!(recent(&moving).steady(Sigma::default()), None);
        assert_eq!(recent(&[5.0, 5.0]).steady(Sigma::default()), None);
    }
}
