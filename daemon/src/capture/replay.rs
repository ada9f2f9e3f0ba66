//! A whole run of samples played through one capture.
//!
//! It does not know where the samples come from.

use benchhand_drivers::Sample;
use serde::{Deserialize, Serialize};

use super::{
    CaptureControl, CaptureEvent, CaptureSettings, CapturedValue, ExpectedBounds, PourSoFar, Sigma,
    start,
};

/// What a capture is told besides the samples.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Steer {
    /// What a person asked for, or what the route made of a person's answer.
    Control(CaptureControl),
    /// Samples were lost, or the gauge went away.
    Gap,
    /// The work was broken off amid a pour of which so much had come.
    Resume(PourSoFar),
}

/// What else reached a capture while its samples came.
#[derive(Debug, Clone, Copy, Default)]
pub struct Meanwhile<'a> {
    /// What the value was expected to come to. Each expectation holds up to its moment, in
    /// microseconds; the moments ascend.
    pub expected: &'a [(u64, Option<ExpectedBounds>)],
    /// What the capture was told. Each control came after the last sample up to its moment, in
    /// microseconds; the moments ascend, and `None` is before the first sample.
    pub told: &'a [(Option<u64>, Steer)],
}

/// The result of a replay.
#[derive(Debug, Clone, PartialEq)]
pub struct Replayed {
    /// Every event, with the time of the sample that caused it, in microseconds.
    pub events: Vec<(u64, CaptureEvent)>,
    /// What was learned of the gauge's noise.
    pub sigma: Sigma,
}

impl Replayed {
    /// The final readings in their order.
    pub fn finals(&self) -> impl Iterator<Item = &CapturedValue> {
        self.events.iter().filter_map(|(_, event)| match event {
            CaptureEvent::Final { taken, .. } => Some(taken),
            _ => None,
        })
    }
}

impl CaptureEvent {
    /// The event's word for the state of a reading (`held`, `revised`, `final`), with the reading's
    /// number and value; `None` for other events.
    pub fn reading(&self) -> Option<(&'static str, u32, &CapturedValue)> {
        match self {
            Self::Held { pour, taken } => Some(("held", *pour, taken)),
            Self::Revised { pour, taken } => Some(("revised", *pour, taken)),
            Self::Final { pour, taken } => Some(("final", *pour, taken)),
            Self::Withdrawn { .. }
            | Self::Note(_)
            | Self::Lingers { .. }
            | Self::Settled { .. }
            | Self::WhichWay { .. }
            | Self::Learned(_) => None,
        }
    }
}

/// Plays samples through a new capture; the end of the samples ends the route.
pub fn replay(
    samples: impl IntoIterator<Item = Sample>,
    settings: &CaptureSettings,
    sigma: Sigma,
) -> Replayed {
    replay_meanwhile(samples, settings, sigma, Meanwhile::default())
}

/// Like [`replay`], with what else reached the capture meanwhile.
pub fn replay_meanwhile(
    samples: impl IntoIterator<Item = Sample>,
    settings: &CaptureSettings,
    sigma: Sigma,
    meanwhile: Meanwhile<'_>,
) -> Replayed {
    let mut capture = start(settings, sigma);
    let (mut out, mut events, mut at_us) = (Vec::new(), Vec::new(), 0);
    let mut expected = meanwhile.expected.iter().peekable();
    let mut told = meanwhile.told.iter().peekable();
    if let Some((_, first)) = expected.peek() {
        capture.expect(*first);
    }
    for sample in samples {
        // What the capture was told between the sample before and this one.
        while let Some((after_us, steer)) =
            told.next_if(|(after_us, _)| after_us.is_none_or(|after_us| after_us < sample.at_us))
        {
            let at_us = after_us.unwrap_or(0);
            match steer {
                Steer::Control(control) => capture.control(*control, at_us, &mut out),
                Steer::Gap => capture.gap(at_us, &mut out),
                Steer::Resume(so_far) => {
                    capture.resume(so_far);
                }
            }
            events.extend(out.drain(..).map(|event| (at_us, event)));
        }
        at_us = sample.at_us;
        let mut passed = false;
        while expected
            .next_if(|(until_us, _)| *until_us < at_us)
            .is_some()
        {
            passed = true;
        }
        if passed && let Some((_, next)) = expected.peek() {
            capture.expect(*next);
        }
        capture.sample(&sample, &mut out);
        events.extend(out.drain(..).map(|event| (at_us, event)));
    }
    capture.end(at_us, &mut out);
    events.extend(out.drain(..).map(|event| (at_us, event)));
    Replayed {
        events,
        sigma: capture.sigma(),
    }
}
