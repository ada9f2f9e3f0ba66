//! The samples of recorded streams.

use std::collections::BTreeMap;

use benchhand_drivers::stream::{LineEvent, Stream, StreamEvent, decode_stream, samples_of};
use benchhand_drivers::{DriverOptions, JoinPoint, Profile, Sample};
use benchhand_wire::{Reason, Refusal};

use crate::store::streams::StreamFile;

/// For a polled gauge whose recording began between question and answer: puts the question back.
fn ask_first(stream: &mut Stream) {
    let first_is_answer = matches!(
        stream.events.first().map(|e| &e.what),
        Some(LineEvent::Rx(_))
    );
    let question = stream.events.iter().find_map(|event| match &event.what {
        LineEvent::Tx(bytes) => Some(LineEvent::Tx(bytes.clone())),
        _ => None,
    });
    if let (true, Some(what)) = (first_is_answer, question) {
        stream.events.insert(0, StreamEvent { at_us: 0, what });
    }
}

/// The samples of one recorded stream.
pub(in crate::desk) fn samples_of_file(mut stream: Stream, profile: &Profile) -> Vec<Sample> {
    ask_first(&mut stream);
    let options = DriverOptions {
        joined: JoinPoint::AtStart,
        ..DriverOptions::default()
    };
    samples_of(&decode_stream(&stream, profile, options))
}

/// The samples of a gauge's stream from one file on, each with its file. A route's stream may go on
/// in further files; the next route begins a file of its own.
pub(super) fn samples_from(
    files: &[StreamFile],
    first: &str,
    gauge: &str,
    profile: &Profile,
    joined: JoinPoint,
    cut: &mut BTreeMap<String, String>,
) -> Result<Vec<(String, Sample)>, Refusal> {
    let own = files.iter().filter(|file| file.gauge == gauge);
    let mut samples: Vec<(String, Sample)> = Vec::new();
    for file in own.skip_while(|file| file.name != first) {
        let damaged = |what: String| {
            Refusal::new(Reason::Damaged, format!("{}: {what}", file.path.display()))
        };
        let text = std::fs::read(&file.path).map_err(|e| damaged(e.to_string()))?;
        let (stream, fault) = Stream::parse_cut(&text);
        if let Some(fault) = fault {
            cut.insert(file.name.clone(), fault.to_string());
        }
        // Without a header nothing of the file can be told; the next file is another beginning.
        let Some(mut stream) = stream else { break };
        if joined == JoinPoint::AtStart {
            ask_first(&mut stream);
        }
        let goes_on = samples.last().is_none_or(|(_, last)| {
            stream
                .events
                .first()
                .is_some_and(|event| event.at_us > last.at_us)
        });
        if !goes_on {
            break;
        }
        let options = DriverOptions {
            joined,
            ..DriverOptions::default()
        };
        let decoded = decode_stream(&stream, profile, options);
        samples.extend(
            samples_of(&decoded)
                .into_iter()
                .map(|s| (file.name.clone(), s)),
        );
    }
    Ok(samples)
}
