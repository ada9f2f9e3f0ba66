//! Streams damaged on purpose, the same way for the same seed.

use benchhand_drivers::stream::{LineEvent, LinkChange, Stream, StreamEvent};

use crate::seeded::SplitMix64;

/// How a stream is damaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Damage {
    /// Each byte is a separate read. Nothing is lost.
    ByteByByte,
    /// Neighbouring reads become one, at the time of the later read. Nothing is lost.
    Merged,
    /// One to three runs of up to eight bytes are lost.
    Dropped,
    /// One to three bits are flipped.
    Flipped,
    /// One to three runs of up to eight random bytes are put in.
    Inserted,
    /// The line is lost in the middle of a read, and nothing comes after it.
    HungUp,
}

impl Damage {
    /// Every kind of damage.
    pub const ALL: [Damage; 6] = [
        Damage::ByteByByte,
        Damage::Merged,
        Damage::Dropped,
        Damage::Flipped,
        Damage::Inserted,
        Damage::HungUp,
    ];
}

/// A damaged stream, and the places of the damage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damaged {
    /// The stream.
    pub stream: Stream,
    /// Indices of the changed events, sorted.
    pub touched: Vec<usize>,
}

/// Damages a stream. The same seed gives the same damage.
#[must_use]
pub fn damage(stream: &Stream, how: Damage, seed: u64) -> Damaged {
    let mut random = SplitMix64::new(seed);
    let untouched = |stream| Damaged {
        stream,
        touched: Vec::new(),
    };
    match how {
        Damage::ByteByByte => untouched(super::recut(stream, None)),
        Damage::Merged => untouched(merged(stream, &mut random)),
        Damage::Dropped | Damage::Flipped | Damage::Inserted => bytes(stream, how, &mut random),
        Damage::HungUp => hung_up(stream, &mut random),
    }
}

fn merged(stream: &Stream, random: &mut SplitMix64) -> Stream {
    let mut events: Vec<StreamEvent> = Vec::new();
    for event in &stream.events {
        if let (
            LineEvent::Rx(bytes),
            Some(StreamEvent {
                at_us,
                what: LineEvent::Rx(before),
            }),
        ) = (&event.what, events.last_mut())
            && random.below(2) == 0
        {
            before.extend_from_slice(bytes);
            *at_us = event.at_us;
            continue;
        }
        events.push(event.clone());
    }
    Stream {
        header: stream.header.clone(),
        events,
    }
}

fn bytes(stream: &Stream, how: Damage, random: &mut SplitMix64) -> Damaged {
    let mut stream = stream.clone();
    let readable: Vec<usize> = (0..stream.events.len())
        .filter(|at| matches!(&stream.events[*at].what, LineEvent::Rx(bytes) if !bytes.is_empty()))
        .collect();
    let mut touched = Vec::new();
    for _ in 0..=random.below(3) {
        let Some(at) = readable.get(random.below(readable.len())) else {
            break;
        };
        let LineEvent::Rx(bytes) = &mut stream.events[*at].what else {
            continue;
        };
        let place = random.below(bytes.len() + usize::from(how == Damage::Inserted));
        match how {
            Damage::Dropped => {
                let length = (1 + random.below(8)).min(bytes.len() - place.min(bytes.len()));
                bytes.drain(place.min(bytes.len())..place.min(bytes.len()) + length);
            }
            Damage::Flipped => {
                if let Some(byte) = bytes.get_mut(place) {
                    *byte ^= 1 << random.below(8);
                }
            }
            _ => {
                let noise: Vec<u8> = (0..=random.below(8)).map(|_| random.byte()).collect();
                bytes.splice(place..place, noise);
            }
        }
        touched.push(*at);
    }
    touched.sort_unstable();
    touched.dedup();
    Damaged { stream, touched }
}

fn hung_up(stream: &Stream, random: &mut SplitMix64) -> Damaged {
    let mut stream = stream.clone();
    let at = random.below(stream.events.len());
    stream.events.truncate(at + 1);
    if let Some(event) = stream.events.last_mut() {
        if let LineEvent::Rx(bytes) = &mut event.what {
            bytes.truncate(random.below(bytes.len() + 1));
        }
        let at_us = event.at_us;
        stream.events.push(StreamEvent {
            at_us,
            what: LineEvent::Link(LinkChange::Gone),
        });
    }
    Damaged {
        stream,
        touched: vec![at],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use benchhand_drivers::stream::{StreamHeader, StreamOrigin};
    use benchhand_drivers::{SerialFormat, SerialSettings};

    fn sample() -> Stream {
        let rx = |at_us, text: &str| StreamEvent {
            at_us,
            what: LineEvent::Rx(text.as_bytes().to_vec()),
        };
        Stream {
            header: StreamHeader::new(
                "p",
                SerialSettings::new(9600, SerialFormat::N81),
                StreamOrigin::Synthesised,
            ),
            events: vec![rx(1, "+1.00\r\n"), rx(2, "+2.00\r\n"), rx(3, "+3.00\r\n")],
        }
    }

    #[test]
    fn the_same_seed_gives_the_same_damage_and_another_seed_another() {
        for how in [Damage::Dropped, Damage::Flipped, Damage::Inserted] {
            let of = |seed| damage(&sample(), how, seed);
            assert_eq!(of(7), of(7));
            assert!((0..50).any(|seed| of(seed) != of(7)), "{how:?}");
            assert!(of(7).stream.received() != sample().received(), "{how:?}");
        }
    }

    #[test]
    fn cutting_and_merging_lose_nothing() {
        for how in [Damage::ByteByByte, Damage::Merged] {
            for seed in 0..20 {
                let damaged = damage(&sample(), how, seed).stream;
                assert_eq!(damaged.received(), sample().received(), "{how:?} {seed}");
            }
        }
    }
}
