//! Reads what a line says straight into the type of its fact.
//!
//! A line names its fact before the fact's own fields, so these are read as what they are. A line
//! that is written in another order, or names a fact that is not listed here, is gathered whole
//! first and then told apart; that takes several times as long and gives the same.

use std::fmt;

use jiff::Timestamp;
use serde::de::value::MapAccessDeserializer;
use serde::de::{
    Deserialize, DeserializeOwned, Deserializer, Error, IgnoredAny, MapAccess, Visitor,
};

use crate::store::fact::{Fact, ReadingId};

/// What a line says.
#[derive(Debug, PartialEq, serde::Deserialize)]
pub(super) struct ReadLine {
    pub(super) seq: u64,
    pub(super) at: Timestamp,
    #[serde(default)]
    pub(super) key: Option<String>,
    #[serde(default)]
    pub(super) batch: Option<u64>,
    #[serde(default)]
    pub(super) place: Option<u64>,
    pub(super) prev: String,
    #[serde(flatten)]
    pub(super) fact: Fact,
}

/// Reads a line, without its line feed.
///
/// # Errors
/// Where it is no JSON, or states no fact that is known.
pub(super) fn read(line: &[u8]) -> Result<ReadLine, serde_json::Error> {
    match straight(line) {
        Some(read) => Ok(read),
        None => serde_json::from_slice(line),
    }
}

/// A line whose fact is named before its fields; `None` for any other.
fn straight(line: &[u8]) -> Option<ReadLine> {
    let TypedLine(read) = serde_json::from_str(std::str::from_utf8(line).ok()?).ok()?;
    Some(read)
}

/// A line whose fact is named before its fields.
struct TypedLine(ReadLine);

impl<'de> Deserialize<'de> for TypedLine {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(LineVisitor)
    }
}

struct LineVisitor;

impl<'de> Visitor<'de> for LineVisitor {
    type Value = TypedLine;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a line of a journal")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<TypedLine, A::Error> {
        let (mut seq, mut at, mut key, mut prev) = (None, None, None, None);
        let (mut batch, mut place) = (None, None);
        while let Some(name) = map.next_key::<&str>()? {
            match name {
                "v" => drop(map.next_value::<IgnoredAny>()?),
                "seq" => seq = Some(map.next_value()?),
                "at" => at = Some(map.next_value()?),
                "key" => key = map.next_value()?,
                "batch" => batch = map.next_value()?,
                "place" => place = map.next_value()?,
                "prev" => prev = Some(map.next_value()?),
                "fact" => {
                    let (Some(seq), Some(at), Some(prev)) = (seq, at, prev) else {
                        return Err(A::Error::custom("the fact stands before its envelope"));
                    };
                    let fact = map.next_value::<&str>()?;
                    let fact = typed(fact, map)?;
                    return Ok(TypedLine(ReadLine {
                        seq,
                        at,
                        key,
                        batch,
                        place,
                        prev,
                        fact,
                    }));
                }
                other => return Err(A::Error::custom(format!("{other:?} before the fact"))),
            }
        }
        Err(A::Error::missing_field("fact"))
    }
}

#[derive(serde::Deserialize)]
struct OfReading {
    of: ReadingId,
}

#[derive(serde::Deserialize)]
struct VoidedReading {
    of: ReadingId,
    reason: String,
    #[serde(default)]
    by: Option<String>,
}

#[derive(serde::Deserialize)]
struct KeptAfterQuestion {
    of: ReadingId,
    asked: String,
}

#[derive(serde::Deserialize)]
struct MovedReading {
    of: ReadingId,
    from: String,
    to: String,
    reason: String,
    #[serde(default)]
    by: Option<String>,
}

#[derive(serde::Deserialize)]
struct AcceptedLine {
    line: u64,
    hash: String,
    reason: String,
}

#[derive(serde::Deserialize)]
struct EndedRoute {
    route: String,
    complete: bool,
}

#[derive(serde::Deserialize)]
struct NoFields {}

/// The fact of this name from the fields that follow.
fn typed<'de, A: MapAccess<'de>>(name: &str, map: A) -> Result<Fact, A::Error> {
    Ok(match name {
        "opened" => Fact::Opened(rest(map)?),
        "input" => Fact::Input(rest(map)?),
        "zero" => Fact::Zero(rest(map)?),
        "check" => Fact::Check(rest(map)?),
        "plate" => Fact::Plate(rest(map)?),
        "leak" => Fact::Leak(rest(map)?),
        "cut" => Fact::Cut(rest(map)?),
        "condition" => Fact::Condition(rest(map)?),
        "held" => Fact::Held(rest(map)?),
        "revised" => Fact::Revised(rest(map)?),
        "final" => Fact::Final(rest(map)?),
        "asked" => Fact::Asked(rest(map)?),
        "finalised" => {
            let OfReading { of } = rest(map)?;
            Fact::Finalised { of }
        }
        "voided" => {
            let VoidedReading { of, reason, by } = rest(map)?;
            Fact::Voided { of, reason, by }
        }
        "restored" => {
            let OfReading { of } = rest(map)?;
            Fact::Restored { of }
        }
        "kept" => {
            let KeptAfterQuestion { of, asked } = rest(map)?;
            Fact::Kept { of, asked }
        }
        "moved" => {
            let MovedReading {
                of,
                from,
                to,
                reason,
                by,
            } = rest(map)?;
            Fact::Moved {
                of,
                from,
                to,
                reason,
                by,
            }
        }
        "fitted" => Fact::Fitted(rest(map)?),
        "ordered" => Fact::Ordered(rest(map)?),
        "import" => Fact::Import(rest(map)?),
        "route_started" => Fact::RouteStarted(rest(map)?),
        "route_at" => Fact::RouteAt(rest(map)?),
        "so_far" => Fact::SoFar(rest(map)?),
        "route_ended" => {
            let EndedRoute { route, complete } = rest(map)?;
            Fact::RouteEnded { route, complete }
        }
        "damage_known" => {
            let AcceptedLine { line, hash, reason } = rest(map)?;
            Fact::DamageKnown { line, hash, reason }
        }
        "steered" => Fact::Steered(rest(map)?),
        "stop" => {
            let NoFields {} = rest(map)?;
            Fact::Stop {}
        }
        other => {
            return Err(A::Error::custom(format!(
                "{other:?} is no fact that is known here"
            )));
        }
    })
}

fn rest<'de, T: DeserializeOwned, A: MapAccess<'de>>(map: A) -> Result<T, A::Error> {
    T::deserialize(MapAccessDeserializer::new(map))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use proptest::test_runner::RngSeed;

    use super::*;
    use crate::store::fact::{Reading, ReadingPart, ReadingSource, StreamAt};
    use crate::store::line::{self, FactText, NO_LINE};

    /// Every fact of version 1, as the first release wrote them.
    const FIRST: &str = include_str!("tests/fixtures/journal-v1.ndjson");

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
            (text(), any::<bool>())
                .prop_map(|(route, complete)| Fact::RouteEnded { route, complete }),
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
            let line = line::encode(seq, at, key, None, NO_LINE, &text).unwrap().bytes;
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
            let line = line::encode(7, Timestamp::UNIX_EPOCH, None, None, NO_LINE, &text).unwrap().bytes;
            let mut strange = line.clone();
            let place = place.index(line.len());
            strange[place] = with;
            let _ = compared(&strange);
        }
    }
}
