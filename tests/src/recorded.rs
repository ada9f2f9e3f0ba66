//! The demo's recorded streams, and pieces of them.

use benchhand_drivers::stream::{LineEvent, Stream, StreamEvent};

use crate::tree::root;

/// A stream of `recorded-streams/demo/`, by its file's name.
pub fn demo(name: &str) -> Stream {
    let path = root().join("recorded-streams/demo").join(name);
    let bytes = std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    Stream::parse(&bytes).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// The events of a stream between two times, as a separate stream.
pub fn piece(whole: &Stream, from_s: f64, to_s: f64) -> Stream {
    let us = |seconds: f64| (seconds * 1e6).round() as u64;
    let (from, to) = (us(from_s), us(to_s));
    cut(whole, from, to)
}

fn cut(whole: &Stream, from_us: u64, to_us: u64) -> Stream {
    let within = |event: &&StreamEvent| (from_us..to_us).contains(&event.at_us);
    let moved = |event: &StreamEvent| StreamEvent {
        at_us: event.at_us - from_us,
        what: event.what.clone(),
    };
    Stream {
        header: whole.header.clone(),
        events: whole.events.iter().filter(within).map(moved).collect(),
    }
}

/// Time after a refill at which a burette's stream is cut, in microseconds. The burette rests
/// then.
const REFILLED_US: u64 = 2_000_000;

/// A burette's stream, cut after each refill into one piece for each pour.
pub fn by_pours(whole: &Stream) -> Vec<Stream> {
    let (mut cuts, mut highest) = (vec![0], 0.0_f64);
    for event in &whole.events {
        let Some(level) = level(event) else { continue };
        highest = highest.max(level);
        if highest > 10.0 && level < 1.0 {
            cuts.push(event.at_us + REFILLED_US);
            highest = 0.0;
        }
    }
    cuts.push(u64::MAX);
    cuts.windows(2)
        .map(|ends| cut(whole, ends[0], ends[1]))
        .collect()
}

/// The number at the beginning of a line such as `12.34 cc`.
fn level(event: &StreamEvent) -> Option<f64> {
    let LineEvent::Rx(bytes) = &event.what else {
        return None;
    };
    let text = String::from_utf8_lossy(bytes);
    text.split(' ').next()?.parse().ok()
}
