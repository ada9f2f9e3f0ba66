//! A whole run of samples played through one capture.
//!
//! It does not know where the samples come from.

use benchhand_drivers::Sample;

use super::{CaptureEvent, Expected, Settings, Sigma, Taken, start};

/// What a replay gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Replayed {
    /// Every event, with the time of the sample that brought it, in microseconds.
    pub events: Vec<(u64, CaptureEvent)>,
    /// What was learned of the gauge's noise.
    pub sigma: Sigma,
}

impl Replayed {
    /// The readings that are final, in their order.
    pub fn finals(&self) -> impl Iterator<Item = &Taken> {
        self.events.iter().filter_map(|(_, event)| match event {
            CaptureEvent::Final { taken, .. } => Some(taken),
            _ => None,
        })
    }
}

impl CaptureEvent {
    /// The word for the state of a reading (`held`, `revised`, `final`) with its number and
    /// value; `None` for what is not a value.
    pub fn reading(&self) -> Option<(&'static str, u32, &Taken)> {
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

/// Plays samples through a fresh capture; the end of the samples ends the route.
pub fn replay(
    samples: impl IntoIterator<Item = Sample>,
    settings: &Settings,
    sigma: Sigma,
) -> Replayed {
    replay_expecting(samples, settings, sigma, &[])
}

/// The same with what was expected at the time: each expectation holds up to its moment, in
/// microseconds, the moments ascending.
pub fn replay_expecting(
    samples: impl IntoIterator<Item = Sample>,
    settings: &Settings,
    sigma: Sigma,
    expected: &[(u64, Option<Expected>)],
) -> Replayed {
    let mut capture = start(settings, sigma);
    let (mut out, mut events, mut at_us) = (Vec::new(), Vec::new(), 0);
    let mut expected = expected.iter().peekable();
    if let Some((_, first)) = expected.peek() {
        capture.expect(*first);
    }
    for sample in samples {
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
