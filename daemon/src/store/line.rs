//! One line of a journal: a fact in its envelope.
//!
//! `{"v":1,"seq":7,"at":"…","key":"…","prev":"…","fact":"final",…,"sum":"…"}` and a line feed.
//! Lines that were written together have `batch` and `place` before `prev`; those of one of several
//! stations have `stamp`, `rests_on` and its station there, `of_station` before `fact`.
//! `sum` is BLAKE3, in hexadecimal, of the line's bytes before `,"sum":"`; `prev` is the `sum` of
//! the line before, or 64 zeros on the first line. So each line vouches for itself and for all
//! lines before it. Files are not known here.

use std::io::Write;

use jiff::Timestamp;
use serde::Deserialize;

use crate::store::fact::Fact;
pub(crate) use crate::store::fact_text::FactText;
use crate::store::station::{FactRef, StationId};
use crate::store::typed_line::{self, ReadLine};

/// The version of the journal's format that this program writes, and the newest it reads.
pub const FORMAT: u32 = 1;

/// The `prev` of the first line.
pub const NO_LINE: &str = "0000000000000000000000000000000000000000000000000000000000000000";

pub(super) const HASH_LEN: usize = 64;
pub(super) const HASH_MARK: &[u8] = b",\"sum\":\"";
pub(super) const PREV_MARK: &[u8] = b",\"prev\":\"";
pub(super) const LINE_END: &[u8] = b"\"}";
/// Every line of this version begins so.
const BEGINNING: &[u8] = b"{\"v\":1,\"seq\":";

/// A fact as it stands in a journal.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalEntry {
    /// The number of the fact; an import's rows take the numbers from here on.
    pub seq: u64,
    /// When the line was written.
    pub at: Timestamp,
    /// The key of the request that wrote it.
    pub key: Option<String>,
    /// Which of the lines that were written together it is; `None` where it was written alone.
    pub batch: Option<BatchPlace>,
    /// What stands beside it in the journal of a station of several.
    pub beside: Beside,
    /// The station of the fact that this one names, where that is not the journal's own.
    pub of_station: Option<StationId>,
    /// The hash of the line before, in hexadecimal.
    pub prev: String,
    /// The hash of this line, in hexadecimal.
    pub hash: String,
    /// What is said.
    pub fact: Fact,
    /// BLAKE3 of the fact, without its envelope: equal for equal facts. Only a line with a key has
    /// it.
    pub(crate) print: Option<blake3::Hash>,
}

/// The place of a line among those that were written and synced together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BatchPlace {
    /// Counted from 1.
    pub place: u64,
    /// How many lines there are.
    pub of: u64,
}

/// What stands beside a fact in the journal of one of several stations.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Beside {
    /// Where the fact stands among those of all stations: whole microseconds since 1970.
    pub stamp: Option<u64>,
    /// What it rests on, as its station knew it: the fact that opened the stage of a reading or that
    /// a cut follows, the engine that another one replaces, the void that is taken back.
    pub on: Option<FactRef>,
}

/// Why a line is damaged.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LineFault {
    /// It does not end as a line does.
    #[error("it is not a whole line")]
    NotWhole,
    /// Its bytes give another hash than it carries.
    #[error("its bytes were changed: they give the hash {computed}, the line says {stated}")]
    Changed {
        /// What the bytes give.
        computed: String,
        /// What the line says.
        stated: String,
    },
    /// The line does not continue the one before.
    #[error("it does not follow on the line before: expected {expected}, found {found}")]
    Unchained {
        /// The number or hash that should have followed.
        expected: String,
        /// The number or hash that was found.
        found: String,
    },
    /// A newer program wrote it.
    #[error(
        "it has version {0} of the format and this program reads up to {FORMAT}; use the newer program"
    )]
    Newer(u64),
    /// The line is whole, but this program does not understand its fact.
    #[error("it says nothing that this program understands: {0}")]
    Unknown(String),
    /// The line is whole, but its fact contradicts earlier facts.
    #[error("it contradicts what was said before: {0}")]
    Contradicts(crate::store::misfit::Misfit),
}

#[derive(Deserialize)]
struct Version {
    v: u64,
}

/// A line ready to be appended.
#[derive(Debug)]
pub(crate) struct EncodedLine {
    /// The bytes, with the line feed.
    pub bytes: Vec<u8>,
    /// The line's hash, in hexadecimal.
    pub hash: String,
}

/// Puts a fact into a line.
///
/// # Errors
/// Where the key cannot be written as JSON; every text can.
pub(crate) fn encode(
    (seq, at, beside): (u64, Timestamp, &Beside),
    key: Option<&str>,
    batch: Option<BatchPlace>,
    prev: &str,
    fact: &FactText,
) -> Result<EncodedLine, serde_json::Error> {
    let mut bytes = Vec::with_capacity(fact.bytes.len() + 320);
    bytes.extend_from_slice(BEGINNING);
    write!(bytes, "{seq},\"at\":\"{at}\"").map_err(serde_json::Error::io)?;
    if let Some(stamp) = beside.stamp {
        write!(bytes, ",\"stamp\":{stamp}").map_err(serde_json::Error::io)?;
    }
    if let Some(FactRef { station, seq }) = &beside.on {
        write!(bytes, ",\"rests_on\":{seq}").map_err(serde_json::Error::io)?;
        if let Some(station) = station {
            bytes.extend_from_slice(b",\"rests_on_station\":");
            serde_json::to_writer(&mut bytes, station)?;
        }
    }
    if let Some(key) = key {
        bytes.extend_from_slice(b",\"key\":");
        serde_json::to_writer(&mut bytes, key)?;
    }
    if let Some(BatchPlace { place, of }) = batch {
        write!(bytes, ",\"batch\":{of},\"place\":{place}").map_err(serde_json::Error::io)?;
    }
    bytes.extend_from_slice(PREV_MARK);
    bytes.extend_from_slice(prev.as_bytes());
    bytes.extend_from_slice(&fact.bytes);
    Ok(ended(bytes))
}

/// The same line, without its line feed, behind another line: a sound line of which nothing but its
/// place in a chain changes.
pub(crate) fn chained(line: &[u8], prev: &str) -> EncodedLine {
    let tail = HASH_MARK.len() + HASH_LEN + LINE_END.len();
    let mut bytes = line[..line.len().saturating_sub(tail)].to_vec();
    if let Some(mark) = prev_mark(&bytes) {
        let hash = mark + PREV_MARK.len();
        bytes.splice(hash..hash + HASH_LEN, prev.bytes());
    }
    ended(bytes)
}

/// Ends a line with its hash.
fn ended(mut bytes: Vec<u8>) -> EncodedLine {
    let hash = blake3::hash(&bytes).to_hex().to_string();
    bytes.extend_from_slice(HASH_MARK);
    bytes.extend_from_slice(hash.as_bytes());
    bytes.extend_from_slice(LINE_END);
    bytes.push(b'\n');
    EncodedLine { bytes, hash }
}

/// The fact of a sound line as its bytes say it, fields that this program does not know among them.
pub(crate) fn as_written(line: &[u8]) -> Option<FactText> {
    let tail = HASH_MARK.len() + HASH_LEN + LINE_END.len();
    let body = line.get(..line.len().checked_sub(tail)?)?;
    let fact = prev_mark(body)? + PREV_MARK.len() + HASH_LEN;
    let bytes = body.get(fact..)?.to_vec();
    Some(FactText { bytes })
}

/// Where a line's bytes name the line before. Inside a JSON string a quotation mark is escaped, so
/// the first mark found belongs to the envelope.
pub(super) fn prev_mark(body: &[u8]) -> Option<usize> {
    body.windows(PREV_MARK.len())
        .position(|bytes| bytes == PREV_MARK)
}

/// BLAKE3 of the fact in a line's bytes.
fn print(body: &[u8]) -> blake3::Hash {
    let fact = prev_mark(body).map_or(0, |mark| mark + PREV_MARK.len() + HASH_LEN);
    blake3::hash(body.get(fact..).unwrap_or_default())
}

/// Reads a line, without its line feed, and makes sure that its bytes are those written.
///
/// # Errors
/// Says what is wrong with the line.
pub(crate) fn decode(line: &[u8]) -> Result<JournalEntry, LineFault> {
    if !line.starts_with(BEGINNING) {
        return Err(strange(line));
    }
    let tail = HASH_MARK.len() + HASH_LEN + LINE_END.len();
    let (body, tail) = line
        .len()
        .checked_sub(tail)
        .map(|cut| line.split_at(cut))
        .ok_or(LineFault::NotWhole)?;
    let stated = tail
        .strip_prefix(HASH_MARK)
        .and_then(|rest| rest.strip_suffix(LINE_END))
        .and_then(|hash| std::str::from_utf8(hash).ok())
        .ok_or(LineFault::NotWhole)?;
    let computed = blake3::hash(body).to_hex();
    if computed.as_str() != stated {
        let (computed, stated) = (computed.to_string(), stated.to_owned());
        return Err(LineFault::Changed { computed, stated });
    }
    let ReadLine {
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
    } = typed_line::read(line).map_err(|error| LineFault::Unknown(error.to_string()))?;
    let print = key.is_some().then(|| print(body));
    Ok(JournalEntry {
        seq,
        at,
        key,
        batch: batch.zip(place).map(|(of, place)| BatchPlace { place, of }),
        beside: Beside {
            stamp,
            on: rests_on.map(|seq| FactRef {
                station: rests_on_station,
                seq,
            }),
        },
        of_station,
        prev,
        hash: stated.to_owned(),
        fact,
        print,
    })
}

/// The fault of a line with another beginning: a newer version, or no line of a journal at all.
fn strange(line: &[u8]) -> LineFault {
    match serde_json::from_slice::<Version>(line) {
        Ok(Version { v }) if v > u64::from(FORMAT) => LineFault::Newer(v),
        _ => LineFault::NotWhole,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::fact::{Reading, ReadingSource};

    fn line_of(fact: &Fact, key: Option<&str>) -> EncodedLine {
        let at = "2026-03-02T09:14:05Z".parse().unwrap();
        let text = FactText::of(fact).unwrap();
        encode((7, at, &Beside::default()), key, None, NO_LINE, &text).unwrap()
    }

    fn chamber(value: f64) -> Fact {
        Fact::Final(Reading::new("chamber/3", value, "cc", ReadingSource::Typed))
    }

    #[test]
    fn a_line_reads_back_as_what_was_written_to_the_last_bit() {
        let value = 0.1 + 0.2;
        let line = line_of(&chamber(value), Some("k\",\"prev\":\"1"));
        let entry = decode(line.bytes.strip_suffix(b"\n").unwrap()).unwrap();
        assert_eq!(entry.fact, chamber(value));
        assert_eq!(entry.key.as_deref(), Some("k\",\"prev\":\"1"));
        assert_eq!(
            (entry.seq, &entry.hash, entry.print),
            (
                7,
                &line.hash,
                Some(FactText::of(&chamber(value)).unwrap().print())
            )
        );
    }

    #[test]
    fn a_line_of_one_of_several_stations_says_its_stamp_and_whose_facts_it_names() {
        let other = StationId("0f".repeat(16));
        let beside = Beside {
            stamp: Some(1_772_442_845_000_001),
            on: Some(FactRef {
                station: Some(other.clone()),
                seq: 4,
            }),
        };
        let fact = Fact::Finalised { of: 12 };
        let at = "2026-03-02T09:14:05Z".parse().unwrap();
        let text = FactText::naming(&fact, Some(&other)).unwrap();
        let line = encode((7, at, &beside), Some("k"), None, NO_LINE, &text).unwrap();
        let entry = decode(line.bytes.strip_suffix(b"\n").unwrap()).unwrap();
        assert_eq!((entry.beside, entry.of_station), (beside, Some(other)));
        assert_eq!(
            (entry.fact, entry.print),
            (fact.clone(), Some(text.print()))
        );
        assert_ne!(text.print(), FactText::of(&fact).unwrap().print());
    }

    #[test]
    fn any_changed_byte_is_noticed() {
        let line = line_of(&chamber(64.2), None).bytes;
        let line = line.strip_suffix(b"\n").unwrap();
        for place in 0..line.len() {
            let mut changed = line.to_vec();
            changed[place] ^= 1;
            assert!(
                decode(&changed).is_err(),
                "byte {place} changed and nobody noticed"
            );
        }
    }

    #[test]
    fn equal_facts_have_equal_prints_whatever_their_envelope() {
        let at = "2027-01-01T00:00:00Z".parse().unwrap();
        let print_of = |line: EncodedLine| {
            let line = line.bytes.strip_suffix(b"\n").unwrap();
            decode(line).unwrap().print.unwrap()
        };
        let text = FactText::of(&chamber(64.2)).unwrap();
        let alone = Beside::default();
        let prev = "f".repeat(64);
        let other = encode((99, at, &alone), Some("another"), None, &prev, &text).unwrap();
        let other = print_of(other);
        assert_eq!(text.print(), other);
        assert_eq!(print_of(line_of(&chamber(64.2), Some("k"))), other);
        assert_ne!(print_of(line_of(&chamber(64.3), Some("k"))), other);
    }

    #[test]
    fn a_newer_format_is_refused_by_its_version() {
        let fault = decode(br#"{"v":2,"seq":1,"fact":"melted"}"#).unwrap_err();
        assert_eq!(fault, LineFault::Newer(2));
        assert!(fault.to_string().contains("use the newer program"));
    }
}
