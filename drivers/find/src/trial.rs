//! Runs a proposed profile over the heard bytes with the ordinary driver.

use crate::heard::HeardBytes;
use benchhand_drivers::profile::{DriverOptions, Profile};
use benchhand_drivers::sample::Sample;
use benchhand_drivers::stream::{
    LineEvent, Stream, StreamEvent, StreamHeader, StreamOrigin, decode_stream, samples_of,
};

/// The result of running a proposed profile over the heard bytes.
pub(crate) struct TriedProfile {
    pub(crate) samples: Vec<Sample>,
    /// Number of troubles other than an incomplete first line.
    pub(crate) troubles: usize,
}

/// Loads a proposed profile and runs the ordinary driver over the heard bytes.
pub(crate) fn try_profile(text: &str, heard: &HeardBytes) -> Option<TriedProfile> {
    let profile = match Profile::parse(text, "found") {
        Ok(profile) => profile,
        Err(error) => {
            tracing::debug!(%error, "a proposed profile was refused");
            return None;
        }
    };
    let mut events: Vec<StreamEvent> = heard
        .reads
        .iter()
        .map(|(at_us, bytes)| StreamEvent {
            at_us: *at_us,
            what: LineEvent::Rx(bytes.clone()),
        })
        .collect();
    if let Some(asked) = &heard.asked {
        let question = |at_us: &u64| StreamEvent {
            at_us: *at_us,
            what: LineEvent::Tx(asked.command.clone()),
        };
        events.extend(asked.at_us.iter().map(question));
        // A question comes before the answer that was read at the same time.
        events.sort_by_key(|event| (event.at_us, matches!(event.what, LineEvent::Rx(_))));
    }
    let header = StreamHeader::new(profile.name(), heard.line, StreamOrigin::Captured);
    let decoded = decode_stream(
        &Stream { header, events },
        &profile,
        DriverOptions::default(),
    );
    let samples = samples_of(&decoded);
    let troubles = decoded.len() - samples.len();
    Some(TriedProfile { samples, troubles })
}
