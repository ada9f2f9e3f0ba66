//! Decodes a whole stream at once.

use super::{LineEvent, LinkChange, Stream};
use crate::driver::{Decoded, Driver};
use crate::profile::{DriverOptions, Profile};
use crate::sample::Sample;

/// A decoded result with its time.
#[derive(Debug, Clone, PartialEq)]
pub struct TimedDecoded {
    /// Time of the event that completed the result, in microseconds.
    pub at_us: u64,
    /// The result.
    pub decoded: Decoded,
}

/// Decodes a stream with this profile's driver. The driver follows the recorded questions and asks
/// none itself.
#[must_use]
pub fn decode_stream(
    stream: &Stream,
    profile: &Profile,
    options: DriverOptions,
) -> Vec<TimedDecoded> {
    let mut driver = profile.profile_driver(options);
    let mut all = Vec::new();
    let mut out = Vec::new();
    for event in &stream.events {
        match &event.what {
            LineEvent::Rx(bytes) => driver.receive(event.at_us, bytes, &mut out),
            LineEvent::Tx(bytes) => {
                // An earlier question without an answer is reported first.
                driver.receive(event.at_us, &[], &mut out);
                driver.sent(event.at_us, bytes);
            }
            LineEvent::Link(LinkChange::Gone) => driver.restart(),
            LineEvent::Link(LinkChange::Open) | LineEvent::Line(_) => {}
        }
        all.extend(out.drain(..).map(|decoded| TimedDecoded {
            at_us: event.at_us,
            decoded,
        }));
    }
    all
}

/// The samples among the results.
#[must_use]
pub fn samples_of(decoded: &[TimedDecoded]) -> Vec<Sample> {
    decoded
        .iter()
        .filter_map(|timed| match timed.decoded {
            Decoded::Sample(sample) => Some(sample),
            Decoded::Trouble(_) => None,
        })
        .collect()
}
