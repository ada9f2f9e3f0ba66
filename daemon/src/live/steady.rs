//! Whether a gauge rests just now, for zeroing and checking.
//!
//! Only the last samples are judged; no capture runs for it.

use std::collections::VecDeque;

use benchhand_drivers::{Sample, Unit};

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
        let oldest = sample.at_us.saturating_sub(WINDOW_US);
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
        let (low, high) = values
            .iter()
            .fold((f64::MAX, f64::MIN), |(l, h), &v| (l.min(v), h.max(v)));
        let rests = high - low <= RANGE_SIGMAS * sigma.at(last.resolution) + last.resolution;
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
        Some((mean, rests))
    }
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

    #[test]
    fn a_moving_gauge_and_one_just_plugged_in_give_nothing() {
        let moving: Vec<f64> = (0..15).map(|i| 5.0 + 0.01 * f64::from(i)).collect();
        assert_eq!(recent(&moving).steady(Sigma::default()), None);
        assert_eq!(recent(&[5.0, 5.0]).steady(Sigma::default()), None);
    }
}
