//! A whole stream at once, decoded.

use super::{Link, Stream, What};
use crate::driver::{Decoded, Driver};
use crate::profile::{DriverOptions, Profile};
use crate::sample::Sample;

/// Something decoded, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Timed {
    /// The time of the event that completed it.
    pub at_us: u64,
    /// What it is.
    pub decoded: Decoded,
}

/// Everything that a stream yields through this profile's driver. The questions that the stream
/// holds are followed as they were asked, none is asked anew.
#[must_use]
pub fn decode_stream(stream: &Stream, profile: &Profile, options: DriverOptions) -> Vec<Timed> {
    let mut driver = profile.profile_driver(options);
    let mut all = Vec::new();
    let mut out = Vec::new();
    for event in &stream.events {
        match &event.what {
            What::Rx(bytes) => driver.receive(event.at_us, bytes, &mut out),
            What::Tx(bytes) => {
                // Lets a question that was never answered be told of first.
                driver.receive(event.at_us, &[], &mut out);
                driver.sent(event.at_us, bytes);
            }
            What::Link(Link::Gone) => driver.restart(),
            What::Link(Link::Open) | What::Line(_) => {}
        }
        all.extend(out.drain(..).map(|decoded| Timed {
            at_us: event.at_us,
            decoded,
        }));
    }
    all
}

/// The samples among what was decoded.
#[must_use]
pub fn samples_of(decoded: &[Timed]) -> Vec<Sample> {
    decoded
        .iter()
        .filter_map(|timed| match timed.decoded {
            Decoded::Sample(sample) => Some(sample),
            Decoded::Trouble(_) => None,
        })
        .collect()
}
