//! A proposed profile is run over what was heard, by the ordinary driver.

use crate::heard::Heard;
use benchhand_drivers::profile::{DriverOptions, Profile};
use benchhand_drivers::sample::Sample;
use benchhand_drivers::stream::{Event, Header, Origin, Stream, What, decode_stream, samples_of};

/// A proposed profile that was run over what was heard.
pub(crate) struct Tried {
    pub(crate) samples: Vec<Sample>,
    /// Troubles other than a cut first line.
    pub(crate) troubles: usize,
}

/// Loads a proposed profile and runs the ordinary driver over what was heard.
pub(crate) fn try_profile(text: &str, heard: &Heard) -> Option<Tried> {
    let profile = match Profile::parse(text, "found") {
        Ok(profile) => profile,
        Err(error) => {
            tracing::debug!(%error, "a proposed profile was refused");
            return None;
        }
    };
    let mut events: Vec<Event> = heard
        .reads
        .iter()
        .map(|(at_us, bytes)| Event {
            at_us: *at_us,
            what: What::Rx(bytes.clone()),
        })
        .collect();
    if let Some(asked) = &heard.asked {
        let question = |at_us: &u64| Event {
            at_us: *at_us,
            what: What::Tx(asked.command.clone()),
        };
        events.extend(asked.at_us.iter().map(question));
        // A question stands before the answer that was read at the same time.
        events.sort_by_key(|event| (event.at_us, matches!(event.what, What::Rx(_))));
    }
    let header = Header::new(profile.name(), heard.line, Origin::Captured);
    let decoded = decode_stream(
        &Stream { header, events },
        &profile,
        DriverOptions::default(),
    );
    let samples = samples_of(&decoded);
    let troubles = decoded.len() - samples.len();
    Some(Tried { samples, troubles })
}
