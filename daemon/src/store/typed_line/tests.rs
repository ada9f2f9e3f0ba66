//! Lines are read straight as they always were read.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::*;
use crate::store::fact::{Reading, ReadingPart, ReadingSource, StreamAt};
use crate::store::line::{self, FactText, NO_LINE};

/// Every fact of version 1, as the first release wrote them.
const FIRST: &str = include_str!("../tests/fixtures/journal-v1.ndjson");

/// The way in which lines were written and read at first: the fact flattened into its envelope.
#[derive(serde::Serialize)]
struct FlattenedLine<'a> {
    v: u32,
    seq: u64,
    at: Timestamp,
    #[serde(skip_serializing_if = "Option::is_none")]
    key: Option<&'a str>,
    prev: &'a str,
    #[serde(flatten)]
    fact: &'a Fact,
}

/// What was read straight, which must be what the flattened way reads.
fn compared(line: &[u8]) -> Option<ReadLine> {
    let straight = straight(line)?;
    let flattened: ReadLine = serde_json::from_slice(line).unwrap_or_else(|error| {
        panic!("{}: {error}", String::from_utf8_lossy(line));
    });
    assert_eq!(straight, flattened);
    Some(straight)
}

#[test]
fn the_first_journal_reads_as_it_always_did() {
    for line in FIRST.lines() {
        assert!(compared(line.as_bytes()).is_some(), "{line}");
    }
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z]{1,8}",
        any::<String>(),
        Just("k\",\"prev\":\"\\ \u{7f}\n".to_owned()),
    ]
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        -1e3..1e3_f64,
        any::<f64>().prop_filter("a number", |x| x.is_finite()),
        Just(64.0),
        Just(-0.0),
    ]
}

fn windowed() -> impl Strategy<Value = Vec<(u64, f64)>> {
    prop::collection::vec((any::<u64>(), number()), 0..4)
}

fn reading() -> impl Strategy<Value = Reading> {
    let own = (text(), number(), text(), prop::option::of(number()));
    let more = (
        prop::option::of(text()),
        prop::option::of(any::<u32>()),
        windowed(),
        prop::option::of((text(), any::<u64>())),
        prop::collection::btree_map(text(), text(), 0..3),
        prop::option::of(any::<u64>()),
    );
    (own, more, windowed()).prop_map(|(own, more, samples)| {
        let (spot, value, unit, u) = own;
        let (gauge, round, window, stream, labels, supersedes) = more;
        let part = ReadingPart {
            role: spot.clone(),
            value,
            unit: unit.clone(),
            u,
            gauge: gauge.clone(),
            raw: u,
            raw_unit: None,
            n: round,
            sd: None,
            se: None,
            window: samples.clone(),
            stream: None,
        };
        Reading {
            u,
            raw: u,
            gauge: gauge.clone(),
            round,
            n: round,
            window,
            stream: stream.map(|(file, at_us)| StreamAt { file, at_us }),
            stage: gauge.clone(),
            by: gauge,
            labels,
            supersedes,
            parts: samples.iter().map(|_| part.clone()).collect(),
            ..Reading::new(spot, value, unit, ReadingSource::Imported)
        }
    })
}

fn fact() -> impl Strategy<Value = Fact> {
    prop_oneof![
        reading().prop_map(Fact::Held),
        reading().prop_map(Fact::Final),
        reading().prop_map(Fact::Revised),
        (any::<u64>(), text(), prop::option::of(text()))
            .prop_map(|(of, reason, by)| Fact::Voided { of, reason, by }),
        (any::<u64>(), text()).prop_map(|(of, asked)| Fact::Kept { of, asked }),
        any::<u64>().prop_map(|of| Fact::Finalised { of }),
        (text(), any::<bool>()).prop_map(|(route, complete)| Fact::RouteEnded { route, complete }),
        Just(Fact::Stop {}),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 3000,
        rng_seed: RngSeed::Fixed(20261129),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn lines_are_written_and_read_as_when_the_fact_was_flattened(
        fact in fact(),
        seq in any::<u64>(),
        seconds in 0..4_000_000_000_i64,
        key in prop::option::of(text()),
    ) {
        let at = Timestamp::from_second(seconds).unwrap();
        let key = key.as_deref();
        let text = FactText::of(&fact).unwrap();
        let alone = line::Beside::default();
        let line = line::encode((seq, at, &alone), key, None, NO_LINE, &text).unwrap().bytes;
        let flattened = FlattenedLine { v: line::FORMAT, seq, at, key, prev: NO_LINE, fact: &fact };
        let mut flattened = serde_json::to_vec(&flattened).unwrap();
        flattened.pop();
        prop_assert!(line.starts_with(&flattened));
        let read = compared(&line);
        prop_assert!(read.is_some());
        prop_assert_eq!(read.unwrap().fact, fact);
    }

    /// Whatever a line says: where it is read straight, the flattened way reads the same.
    #[test]
    fn a_strange_line_is_never_read_as_something_else(
        fact in fact(),
        place in any::<prop::sample::Index>(),
        with in any::<u8>(),
    ) {
        let text = FactText::of(&fact).unwrap();
        let alone = (7, Timestamp::UNIX_EPOCH, &line::Beside::default());
        let line = line::encode(alone, None, None, NO_LINE, &text).unwrap().bytes;
        let mut strange = line.clone();
        let place = place.index(line.len());
        strange[place] = with;
        let _ = compared(&strange);
    }
}
