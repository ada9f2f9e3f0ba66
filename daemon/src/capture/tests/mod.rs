//! What a person at the bench would notice, mode by mode, on scripted signals.

mod averages;
mod bars;
mod extremes;
mod pours;
mod presses;
mod scales;
mod settles;
mod unheard;
mod wrong_order;

use super::*;
use crate::synth::Dice;
use benchhand_drivers::{Sample, SampleStatus, Unit};

/// A gauge whose value is scripted: rests and straight runs, with noise and rounding.
pub(crate) struct Script {
    pub(crate) samples: Vec<Sample>,
    unit: Unit,
    resolution: f64,
    sigma: f64,
    step_us: u64,
    at_us: u64,
    value: f64,
    dice: Dice,
}

impl Script {
    /// A gauge of ten samples a second.
    pub(crate) fn new(unit: Unit, resolution: f64, sigma: f64, value: f64) -> Self {
        Self {
            samples: Vec::new(),
            unit,
            resolution,
            sigma,
            step_us: 100_000,
            at_us: 0,
            value,
            dice: Dice::seeded(7),
        }
    }

    pub(crate) fn burette(value: f64) -> Self {
        Self::new(Unit::CubicCentimetre, 0.01, 0.008, value)
    }

    pub(crate) fn balance(value: f64) -> Self {
        Self::new(Unit::Gram, 0.01, 0.008, value)
    }

    pub(crate) fn dial(value: f64) -> Self {
        Self::new(Unit::Millimetre, 0.001, 0.0015, value)
    }

    fn sample(&self, value: Option<f64>, status: SampleStatus) -> Sample {
        Sample {
            at_us: self.at_us,
            channel: 0,
            value,
            unit: self.unit,
            resolution: self.resolution,
            status,
        }
    }

    /// Adds one raw sample as given.
    pub(crate) fn raw(&mut self, value: Option<f64>, status: SampleStatus) -> &mut Self {
        self.samples.push(self.sample(value, status));
        self.at_us += self.step_us;
        self
    }

    /// Adds samples of a true value over time, from now.
    pub(crate) fn follow(&mut self, seconds: f64, truth: impl Fn(f64) -> f64) -> &mut Self {
        let from = self.at_us;
        while self.at_us < from + (seconds * 1e6) as u64 {
            let t = (self.at_us - from) as f64 * 1e-6;
            self.value = truth(t);
            let noisy = self.value + self.dice.gauss(self.sigma);
            let shown = (noisy / self.resolution).round() * self.resolution;
            self.raw(Some(shown), SampleStatus::default());
        }
        self
    }

    pub(crate) fn rest(&mut self, seconds: f64) -> &mut Self {
        let value = self.value;
        self.follow(seconds, |_| value)
    }

    /// Adds an even run to a value.
    pub(crate) fn run(&mut self, to: f64, per_second: f64) -> &mut Self {
        let from = self.value;
        let seconds = (to - from).abs() / per_second;
        self.follow(seconds, |t| from + (to - from) * t / seconds);
        self.value = to;
        self
    }

    pub(crate) fn jump(&mut self, to: f64) -> &mut Self {
        self.value = to;
        self
    }

    /// Adds a time in which nothing is heard.
    pub(crate) fn silence(&mut self, seconds: f64) -> &mut Self {
        self.at_us += (seconds * 1e6) as u64;
        self
    }

    pub(crate) fn play(&self, settings: &CaptureSettings) -> Vec<CaptureEvent> {
        let replayed = replay(self.samples.iter().copied(), settings, Sigma::unknown());
        replayed
            .events
            .into_iter()
            .map(|(_, event)| event)
            .collect()
    }
}

pub(crate) fn finals(events: &[CaptureEvent]) -> Vec<f64> {
    let value = |event: &CaptureEvent| match event {
        CaptureEvent::Final { taken, .. } => Some(taken.value),
        _ => None,
    };
    events.iter().filter_map(value).collect()
}

pub(crate) fn notes(events: &[CaptureEvent]) -> Vec<CaptureNote> {
    let note = |event: &CaptureEvent| match event {
        CaptureEvent::Note(note) => Some(*note),
        _ => None,
    };
    events.iter().filter_map(note).collect()
}

#[track_caller]
pub(crate) fn assert_values(events: &[CaptureEvent], expected: &[f64], within: f64) {
    let got = finals(events);
    let near = got
        .iter()
        .zip(expected)
        .all(|(a, b)| (a - b).abs() <= within);
    assert!(
        got.len() == expected.len() && near,
        "{got:?} for {expected:?}: {events:#?}"
    );
}

#[test]
fn every_mode_starts_with_its_defaults_and_says_its_name() {
    for mode in [
        CaptureMode::Settle,
        CaptureMode::Pour,
        CaptureMode::Extreme,
        CaptureMode::Average,
        CaptureMode::Press,
    ] {
        let capture = start(&CaptureSettings::of(mode), Sigma::unknown());
        assert_eq!(capture.mode(), mode);
        assert_eq!(capture.live().value, None);
    }
}

#[test]
fn what_was_learned_of_a_gauge_can_be_carried_to_the_next_capture() {
    let mut script = Script::new(Unit::Millimetre, 0.001, 0.003, 1.0);
    script.rest(30.0);
    let replayed = replay(
        script.samples,
        &CaptureSettings::of(CaptureMode::Settle),
        Sigma::unknown(),
    );
    let learned = replayed.sigma.at(0.001);
    assert!((learned - 0.003).abs() < 0.0005, "{learned}");
    let next = start(&CaptureSettings::of(CaptureMode::Settle), replayed.sigma);
    assert_eq!(next.sigma(), replayed.sigma);
}

#[test]
fn samples_of_other_channels_and_nonsense_times_are_borne() {
    for mode in [
        CaptureMode::Settle,
        CaptureMode::Pour,
        CaptureMode::Extreme,
        CaptureMode::Average,
        CaptureMode::Press,
    ] {
        let mut script = Script::dial(1.0);
        script
            .rest(3.0)
            .run(4.0, 1.0)
            .rest(3.0)
            .run(1.0, 1.0)
            .rest(3.0);
        let mut samples = script.samples;
        for (i, sample) in samples.iter_mut().enumerate() {
            sample.at_us = [sample.at_us, 0, 5_000_000][i % 3];
            sample.channel = (i % 5 == 0).into();
            sample.value = if i % 7 == 0 {
                Some(f64::NAN)
            } else {
                sample.value
            };
        }
        let replayed = replay(samples, &CaptureSettings::of(mode), Sigma::unknown());
        for taken in replayed.finals() {
            assert!(taken.value.is_finite());
        }
    }
}
