//! The same bytes in other reads.

use benchhand_drivers::stream::{LineEvent, Stream, StreamEvent};

use crate::seeded::SplitMix64;

/// The same bytes at the same times, split into other reads: each byte by itself (no seed), or at
/// random (with a seed). The decoded results must not change.
#[must_use]
pub fn recut(stream: &Stream, seed: Option<u64>) -> Stream {
    let mut random = SplitMix64::new(seed.unwrap_or(0));
    let mut events = Vec::new();
    for event in &stream.events {
        let LineEvent::Rx(bytes) = &event.what else {
            events.push(event.clone());
            continue;
        };
        let mut rest = &bytes[..];
        while !rest.is_empty() {
            let length = if seed.is_some() {
                1 + random.below(rest.len())
            } else {
                1
            };
            let (piece, behind) = rest.split_at(length);
            events.push(StreamEvent {
                at_us: event.at_us,
                what: LineEvent::Rx(piece.to_vec()),
            });
            rest = behind;
        }
    }
    Stream {
        header: stream.header.clone(),
        events,
    }
}
