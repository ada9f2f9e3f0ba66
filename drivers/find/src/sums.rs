//! Finds the checksum that fits every record, if there is one.

use crate::records::{Record, RecordCut, Records};
use benchhand_drivers::decode::checksum::{ChecksumKind, NAMED};

/// A checksum that fits, and the rest of the record.
#[derive(Debug, Clone)]
pub(crate) struct ChecksumFit {
    /// The checksum in the words of the profile format.
    pub(crate) text: String,
    /// The stretch of the record that is left for fields.
    pub(crate) content: Option<(i32, i32)>,
    /// Number of bytes at the record's tail that are not fields.
    pub(crate) tail: usize,
    /// Number of bytes at the record's front that are not fields.
    pub(crate) front: usize,
    pub(crate) name: &'static str,
}

/// Fewest records that prove a checksum.
const LEAST: usize = 4;

/// The checksum that fits all records (one in fifty may be damaged).
pub(crate) fn fit(records: &Records) -> Option<ChecksumFit> {
    let distinct: std::collections::BTreeSet<&[u8]> =
        records.all.iter().map(|record| &record.text[..]).collect();
    // A gauge at rest repeats one record. Any constant would fit it, so different records are
    // needed.
    if records.all.len() < LEAST || distinct.len() < 3 {
        return None;
    }
    match &records.cut {
        RecordCut::Framed { trailer, .. } if *trailer > 0 => trailing(records, *trailer),
        RecordCut::Framed { .. } => None,
        RecordCut::Line(_) => inline(records),
    }
}

fn all_fit(records: &Records, fits: impl Fn(&Record) -> bool) -> bool {
    let misses = records.all.iter().filter(|record| !fits(record)).count();
    misses <= records.all.len() / 12
}

/// A checksum behind the end byte of a framed record, raw or as hex digits.
fn trailing(records: &Records, trailer: usize) -> Option<ChecksumFit> {
    for (name, sum) in NAMED {
        for (with_start, with_end) in [(false, true), (false, false), (true, true), (true, false)] {
            let over = |record: &Record| {
                let mut bytes = if with_start { vec![2] } else { Vec::new() };
                bytes.extend_from_slice(&record.text);
                if with_end {
                    bytes.push(3);
                }
                sum.of(&bytes)
            };
            let size = i32::try_from(trailer).ok()?;
            let from = i32::from(!with_start);
            let to = -size - i32::from(!with_end);
            for (written, order) in ways(*sum, trailer) {
                if all_fit(records, |record| {
                    record
                        .trailer
                        .get(..trailer)
                        .and_then(|field| read(field, written, order))
                        == Some(over(record))
                }) {
                    return Some(ChecksumFit {
                        text: checksum_text(name, written, order, -size, (from, to)),
                        content: None,
                        tail: 0,
                        front: 0,
                        name,
                    });
                }
            }
        }
    }
    None
}

/// A checksum at the end of a line, as hex or decimal digits, with or without a star or another
/// sign before it.
fn inline(records: &Records) -> Option<ChecksumFit> {
    for (name, sum) in NAMED {
        for digits in [sum.bytes() * 2, 3] {
            let written = if digits == 3 {
                ChecksumWay::Decimal
            } else {
                ChecksumWay::Hex
            };
            if written == ChecksumWay::Decimal && sum.bytes() != 1 {
                continue;
            }
            for front in [0usize, 1] {
                for gap in [0usize, 1] {
                    let fits = |record: &Record| {
                        let text = &record.text;
                        let at = text.len().checked_sub(digits)?;
                        let body = text.get(front..at.checked_sub(gap)?)?;
                        Some(read(&text[at..], written, true)? == sum.of(body) && body.len() > 2)
                    };
                    // A checksum with a gap has a sign before it, never a digit.
                    let parted = |record: &Record| {
                        let at = record.text.len().checked_sub(digits + gap);
                        gap == 0
                            || at
                                .and_then(|at| record.text.get(at))
                                .is_some_and(|byte| !byte.is_ascii_alphanumeric())
                    };
                    if all_fit(records, |record| {
                        fits(record) == Some(true) && parted(record)
                    }) {
                        let size = i32::try_from(digits).ok()?;
                        let to = -size - i32::try_from(gap).ok()?;
                        let from = i32::try_from(front).ok()?;
                        return Some(ChecksumFit {
                            text: checksum_text(name, written, true, -size, (from, to)),
                            content: Some((from, to)),
                            tail: digits + gap,
                            front,
                            name,
                        });
                    }
                }
            }
        }
    }
    None
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum ChecksumWay {
    Raw,
    Hex,
    Decimal,
}

/// The ways to write a checksum in a field of this size. The flag says "high byte first".
fn ways(sum: ChecksumKind, size: usize) -> Vec<(ChecksumWay, bool)> {
    let mut ways = Vec::new();
    if sum.bytes() == size {
        ways.push((ChecksumWay::Raw, true));
        if size > 1 {
            ways.push((ChecksumWay::Raw, false));
        }
    }
    if sum.bytes() * 2 == size {
        ways.push((ChecksumWay::Hex, true));
    }
    ways
}

fn read(field: &[u8], written: ChecksumWay, high_first: bool) -> Option<u32> {
    let number =
        |digits: &[u8], radix| u32::from_str_radix(std::str::from_utf8(digits).ok()?, radix).ok();
    match written {
        ChecksumWay::Raw if high_first => {
            Some(field.iter().fold(0, |n, byte| n << 8 | u32::from(*byte)))
        }
        ChecksumWay::Raw => Some(
            field
                .iter()
                .rev()
                .fold(0, |n, byte| n << 8 | u32::from(*byte)),
        ),
        ChecksumWay::Hex => number(field, 16),
        ChecksumWay::Decimal => number(field, 10),
    }
}

fn checksum_text(
    name: &str,
    written: ChecksumWay,
    high_first: bool,
    at: i32,
    over: (i32, i32),
) -> String {
    let form = match written {
        ChecksumWay::Raw if high_first => "",
        ChecksumWay::Raw => ", order = \"little\"",
        ChecksumWay::Hex => ", as = \"hex\"",
        ChecksumWay::Decimal => ", as = \"decimal\", digits = 3",
    };
    format!(
        "{{ kind = \"{name}\"{form}, at = {at}, over = [{}, {}] }}",
        over.0, over.1
    )
}
