//! Which checksum, if any, fits every record.

use crate::records::{Cut, Record, Records};
use benchhand_drivers::decode::checksum::{NAMED, Sum};

/// A checksum that fits, and what is left of the record without it.
#[derive(Debug, Clone)]
pub(crate) struct Fit {
    /// In the words of the profile format.
    pub(crate) text: String,
    /// What is left of the record for fields, as a stretch of the record.
    pub(crate) content: Option<(i32, i32)>,
    /// Bytes at the record's tail that are no field.
    pub(crate) tail: usize,
    /// Bytes at its front that are no field.
    pub(crate) front: usize,
    pub(crate) name: &'static str,
}

/// Fewer records than this prove no checksum.
const LEAST: usize = 4;

/// The checksum that fits all records (one in fifty may be damaged).
pub(crate) fn fit(records: &Records) -> Option<Fit> {
    let distinct: std::collections::BTreeSet<&[u8]> =
        records.all.iter().map(|record| &record.text[..]).collect();
    // A gauge at rest says the same over and over, which any constant would fit.
    if records.all.len() < LEAST || distinct.len() < 3 {
        return None;
    }
    match &records.cut {
        Cut::Framed { trailer, .. } if *trailer > 0 => trailing(records, *trailer),
        Cut::Framed { .. } => None,
        Cut::Line(_) => inline(records),
    }
}

fn all_fit(records: &Records, fits: impl Fn(&Record) -> bool) -> bool {
    let misses = records.all.iter().filter(|record| !fits(record)).count();
    misses <= records.all.len() / 12
}

/// Behind the end byte of a framed record: raw, or as hex digits.
fn trailing(records: &Records, trailer: usize) -> Option<Fit> {
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
                    return Some(Fit {
                        text: said(name, written, order, -size, (from, to)),
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

/// At the end of a line: as hex or decimal digits, with a star or another sign before it or
/// without.
fn inline(records: &Records) -> Option<Fit> {
    for (name, sum) in NAMED {
        for digits in [sum.bytes() * 2, 3] {
            let written = if digits == 3 { Way::Decimal } else { Way::Hex };
            if written == Way::Decimal && sum.bytes() != 1 {
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
                    // What stands before a checksum with a gap is a sign, never a digit.
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
                        return Some(Fit {
                            text: said(name, written, true, -size, (from, to)),
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
enum Way {
    Raw,
    Hex,
    Decimal,
}

/// How a checksum may be written in a field of this size; the flag says "high byte first".
fn ways(sum: Sum, size: usize) -> Vec<(Way, bool)> {
    let mut ways = Vec::new();
    if sum.bytes() == size {
        ways.push((Way::Raw, true));
        if size > 1 {
            ways.push((Way::Raw, false));
        }
    }
    if sum.bytes() * 2 == size {
        ways.push((Way::Hex, true));
    }
    ways
}

fn read(field: &[u8], written: Way, high_first: bool) -> Option<u32> {
    let number =
        |digits: &[u8], radix| u32::from_str_radix(std::str::from_utf8(digits).ok()?, radix).ok();
    match written {
        Way::Raw if high_first => Some(field.iter().fold(0, |n, byte| n << 8 | u32::from(*byte))),
        Way::Raw => Some(
            field
                .iter()
                .rev()
                .fold(0, |n, byte| n << 8 | u32::from(*byte)),
        ),
        Way::Hex => number(field, 16),
        Way::Decimal => number(field, 10),
    }
}

fn said(name: &str, written: Way, high_first: bool, at: i32, over: (i32, i32)) -> String {
    let form = match written {
        Way::Raw if high_first => "",
        Way::Raw => ", order = \"little\"",
        Way::Hex => ", as = \"hex\"",
        Way::Decimal => ", as = \"decimal\", digits = 3",
    };
    format!(
        "{{ kind = \"{name}\"{form}, at = {at}, over = [{}, {}] }}",
        over.0, over.1
    )
}
