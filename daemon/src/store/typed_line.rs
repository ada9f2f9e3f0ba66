//! Reads what a line says straight into the type of its fact.
//!
//! A line names its fact before the fact's own fields, so these are read as what they are. A line
//! that is written in another order, or names a fact that is not listed here, is gathered whole
//! first and then told apart; that takes several times as long and gives the same.

#[cfg(test)]
mod tests;

use std::fmt;

use jiff::Timestamp;
use serde::de::value::MapAccessDeserializer;
use serde::de::{
    Deserialize, DeserializeOwned, Deserializer, Error, IgnoredAny, MapAccess, Visitor,
};

use crate::store::fact::{Fact, ReadingId};
use crate::store::station::StationId;

/// What a line says.
#[derive(Debug, PartialEq, serde::Deserialize)]
pub(super) struct ReadLine {
    pub(super) seq: u64,
    pub(super) at: Timestamp,
    #[serde(default)]
    pub(super) key: Option<String>,
    #[serde(default)]
    pub(super) stamp: Option<u64>,
    #[serde(default)]
    pub(super) rests_on: Option<u64>,
    #[serde(default)]
    pub(super) rests_on_station: Option<StationId>,
    #[serde(default)]
    pub(super) of_station: Option<StationId>,
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
        let (mut stamp, mut of_station) = (None, None);
        let (mut rests_on, mut rests_on_station) = (None, None);
        while let Some(name) = map.next_key::<&str>()? {
            match name {
                "v" => drop(map.next_value::<IgnoredAny>()?),
                "seq" => seq = Some(map.next_value()?),
                "at" => at = Some(map.next_value()?),
                "key" => key = map.next_value()?,
                "stamp" => stamp = map.next_value()?,
                "rests_on" => rests_on = map.next_value()?,
                "rests_on_station" => rests_on_station = map.next_value()?,
                "of_station" => of_station = map.next_value()?,
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
                        stamp,
                        rests_on,
                        rests_on_station,
                        of_station,
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
        "joined" => Fact::Joined(rest(map)?),
        "input" => Fact::Input(rest(map)?),
        "zero" => Fact::Zero(rest(map)?),
        "check" => Fact::Check(rest(map)?),
        "plate" => Fact::Plate(rest(map)?),
        "leak" => Fact::Leak(rest(map)?),
        "cut" => Fact::Cut(rest(map)?),
        "cut_withdrawn" => Fact::CutWithdrawn(rest(map)?),
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
