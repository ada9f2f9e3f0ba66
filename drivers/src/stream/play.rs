//! A whole stream at once, decoded.

use super::{LineEvent, LinkChange, Stream};
use crate::driver::{Decoded, Driver};
use crate::profile::{DriverOptions, Profile};
use crate::sample::Sample;

/// Something decoded, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct TimedDecoded {
    /// The time of the event that completed it.
    pub at_us: u64,
    /// What it is.
    pub decoded: Decoded,
}

/// Everything that a stream yields through this profile's driver. The questions that the stream
/// holds are followed as they were asked, none is asked anew.
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
                // Lets a question that was never answered be told of first.
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

/// The samples among what was decoded.
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
