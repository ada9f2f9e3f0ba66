//! Separates records that state a value in the usual way from other records.

use crate::field::{ParsedRecord, RecordField, behind, skeleton};
use crate::meaning::{is_no_value, meaning};
use crate::records::Record;
use crate::seven::share;
use crate::tokens::numbers;
use crate::units;
use benchhand_drivers::profile::DecimalMark;

/// Leaves out records whose status word says that there is no value ("OL,+9999.99,g", "ERR 03").
pub(crate) fn with_value(parsed: Vec<ParsedRecord>) -> Vec<ParsedRecord> {
    let without = parsed.iter().filter(|record| says_none(&record.text));
    if share(without.count(), parsed.len()) > 0.6 {
        return parsed;
    }
    parsed
        .into_iter()
        .filter(|record| !says_none(&record.text))
        .collect()
}

fn says_none(text: &[u8]) -> bool {
    text.split(|byte| matches!(byte, b',' | b';' | b'\t' | b' ' | b':' | b'='))
        .filter_map(|word| std::str::from_utf8(word).ok())
        .any(|word| meaning(word).is_some_and(is_no_value))
}

/// Leaves out records with an unknown unit if others have a known one, and records without
/// decimals if others have some.
pub(crate) fn of_one_kind(parsed: &[ParsedRecord], field: &RecordField) -> Vec<ParsedRecord> {
    let unit = |record: &ParsedRecord| units::unit(&behind(record, field.index));
    let known = parsed.iter().filter_map(unit).next_back();
    let decimals = |record: &&ParsedRecord| record.numbers[field.index].decimals;
    let marked = parsed.iter().filter(|r| decimals(r).is_some()).count();
    let usual = parsed
        .iter()
        .find(|record| decimals(record).is_some())
        .map(skeleton);
    let mostly_marked = share(marked, parsed.len()) >= 0.4;
    parsed
        .iter()
        .filter(|record| {
            let word = behind(record, field.index);
            let other_unit = known.is_some_and(|known| {
                !word.is_empty() && unit(record).is_none_or(|unit| unit.kind() != known.kind())
            });
            let other_build =
                mostly_marked && decimals(record).is_none() && Some(skeleton(record)) != usual;
            field.compound || !other_unit && !other_build
        })
        .cloned()
        .collect()
}

/// The character that separates thousands, if the records show one. The flag says that they allow
/// no other interpretation.
pub(crate) fn grouping(records: &[Record], mark: DecimalMark) -> Option<(u8, bool)> {
    [b',', b'\'', b'.']
        .into_iter()
        .filter(|byte| !mark.is(*byte))
        .find_map(|byte| Some((byte, parts_thousands(records, byte, mark)?)))
}

fn parts_thousands(records: &[Record], byte: u8, mark: DecimalMark) -> Option<bool> {
    let mut with = 0;
    let mut leading: Vec<f64> = Vec::new();
    let mut whole: Vec<f64> = Vec::new();
    for record in records {
        let text = &record.text;
        let between = |at: &usize| {
            text[*at] == byte
                && *at > 0
                && text[at - 1].is_ascii_digit()
                && text.get(at + 1).is_some_and(u8::is_ascii_digit)
        };
        let places: Vec<usize> = (0..text.len()).filter(between).collect();
        for at in &places {
            let digits = text[at + 1..].iter().take_while(|b| b.is_ascii_digit());
            let digits = digits.count();
            let next = text.get(at + 1 + digits).copied();
            let before = text[..*at].iter().rev().take_while(|b| b.is_ascii_digit());
            let decimal = next.is_some_and(|b| mark.is(b)) || (next == Some(byte));
            if digits != 3 || before.count() > 3 || !decimal {
                return None;
            }
        }
        with += usize::from(!places.is_empty());
        let first = |grouping| numbers(text, mark, grouping).first().map(|n| n.value);
        if let (Some(at), Some(value)) = (places.first(), first(Some(byte))) {
            let before = &text[..*at];
            let from = before.iter().rposition(|b| !b.is_ascii_digit());
            let digits = &before[from.map_or(0, |from| from + 1)..];
            leading.push(
                digits
                    .iter()
                    .fold(0.0, |n, d| n * 10.0 + f64::from(d - b'0')),
            );
            whole.push(value.abs());
        }
    }
    if with == 0 {
        return None;
    }
    // Numbers below a thousand have no such character, and the number moves evenly across a
    // thousand.
    let goes_on = leading
        .windows(2)
        .zip(whole.windows(2))
        .all(|(lead, whole)| lead[0] == lead[1] || (whole[1] - whole[0]).abs() < 600.0);
    let changes = leading.windows(2).filter(|pair| pair[0] != pair[1]).count();
    let plain = records.iter().any(|record| {
        !record.text.contains(&byte)
            && numbers(&record.text, mark, None)
                .first()
                .is_some_and(|n| n.decimals.is_some())
    });
    Some(goes_on && (plain || changes > 0 && share(changes, leading.len()) < 0.4))
}
