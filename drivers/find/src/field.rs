//! One number of each record, followed from record to record.
//!
//! A field knows how the number is written, which words stand around it, and how it moves.
//! `choose` decides whether it is the measured value.

use crate::records::Record;
use crate::series::{FieldCourse, course};
use crate::tokens::{RecordNumber, latin, numbers, word_before, word_behind};
use crate::units;
use benchhand_drivers::profile::DecimalMark;
use benchhand_drivers::unit::{QuantityKind, Unit};

/// A record with its numbers.
#[derive(Debug, Clone)]
pub(crate) struct ParsedRecord {
    pub(crate) text: Vec<u8>,
    pub(crate) at_us: u64,
    pub(crate) numbers: Vec<RecordNumber>,
}

/// One number of each record, followed from record to record.
#[derive(Debug, Clone)]
pub(crate) struct RecordField {
    /// Index of the number in the record, from the left.
    pub(crate) index: usize,
    pub(crate) course: FieldCourse,
    /// The words behind the number, each once, in order of appearance.
    pub(crate) words: Vec<String>,
    /// The unit of the last word that means one.
    pub(crate) unit: Option<Unit>,
    /// Whether the unit stands before the number.
    pub(crate) unit_in_front: bool,
    pub(crate) decimals: Option<u8>,
    pub(crate) always_the_same_decimals: bool,
    pub(crate) exponent: bool,
    pub(crate) padded: bool,
    /// Whether a fraction that begins with a zero was seen.
    pub(crate) zero_behind_mark: bool,
    pub(crate) signed: bool,
    /// Whether the number's unit is composed, or the number is part of a composed value.
    pub(crate) compound: bool,
    /// Whether its name says that it is something else: a temperature, a battery, a counter.
    pub(crate) beside: bool,
    clock: bool,
    part_of_a_name: bool,
    /// The range of the number in counts, as a power of ten.
    pub(crate) travel: f64,
}

impl RecordField {
    pub(crate) fn points(&self) -> f64 {
        let mut points = match self.course {
            FieldCourse::Moving => 3.0,
            FieldCourse::Still => 1.0,
            FieldCourse::Constant => 0.0,
            FieldCourse::Clock => -1.0,
            FieldCourse::Counter => -2.0,
        };
        if self.unit.is_some_and(is_of_the_trade) {
            points += 3.0;
        }
        if self.beside {
            points -= 4.0;
        }
        // If two numbers move, the one with the larger range is the measured value. The other one
        // drifts.
        points += 0.4 * self.travel;
        points
            + f64::from(u8::from(self.decimals.is_some()))
            + 0.5 * f64::from(u8::from(self.signed))
    }

    /// Whether the number could be the measured value.
    pub(crate) fn may_be_it(&self) -> bool {
        !self.clock && !self.part_of_a_name
    }

    /// Whether the number would be taken for the measured value if it stood alone.
    pub(crate) fn looks_like_a_reading(&self) -> bool {
        self.may_be_it()
            && !self.beside
            && (self.unit.is_some_and(is_of_the_trade)
                || matches!(self.course, FieldCourse::Moving | FieldCourse::Still)
                || self.decimals.is_some() && self.course != FieldCourse::Constant)
    }
}

/// The records with the usual number of numbers.
pub(crate) fn regular(
    records: &[Record],
    front: usize,
    tail: usize,
    mark: DecimalMark,
    grouping: Option<u8>,
) -> Vec<ParsedRecord> {
    let parsed: Vec<ParsedRecord> = records
        .iter()
        .filter_map(|record| {
            let text = record
                .text
                .get(front..record.text.len().checked_sub(tail)?)?
                .to_vec();
            Some(ParsedRecord {
                at_us: record.at_us,
                numbers: numbers(&text, mark, grouping),
                text,
            })
        })
        .collect();
    let mut counts: Vec<usize> = parsed.iter().map(|record| record.numbers.len()).collect();
    counts.sort_unstable();
    let usual = counts
        .chunk_by(|a, b| a == b)
        .filter(|chunk| chunk[0] > 0)
        .max_by_key(|chunk| chunk.len())
        .map_or(0, |chunk| chunk[0]);
    if usual == 0 {
        return Vec::new();
    }
    parsed
        .into_iter()
        .filter(|record| record.numbers.len() == usual)
        .collect()
}

pub(crate) fn field(records: &[ParsedRecord], index: usize) -> RecordField {
    let all: Vec<&RecordNumber> = records
        .iter()
        .map(|record| &record.numbers[index])
        .collect();
    let values: Vec<f64> = all.iter().map(|number| number.value).collect();
    let decimals = all.iter().filter_map(|number| number.decimals).max();
    let count = 10f64.powi(-i32::from(decimals.unwrap_or(0)));
    let mut words: Vec<String> = Vec::new();
    let mut unit = None;
    let mut beside = false;
    let mut compound = false;
    let mut temperature = false;
    for (record, number) in records.iter().zip(&all) {
        let word = &behind(record, index);
        if !words.contains(word) && !word.is_empty() {
            words.push(word.clone());
        }
        if !word.is_empty() {
            unit = units::unit(word);
        }
        compound |= is_compound(record, index, word);
        let label = word_before(&record.text, number.at);
        temperature |= label.to_ascii_lowercase().starts_with('t');
        beside |= units::is_beside(word) || units::is_beside(label);
    }
    let course = course(&values, count);
    let before: Vec<Option<Unit>> = records
        .iter()
        .zip(&all)
        .map(|(record, number)| unit_before(&record.text, number.at))
        .collect();
    let in_front = before[0]
        .filter(|_| words.is_empty() && !compound && before.iter().all(|u| *u == before[0]));
    let sometimes_none = records
        .iter()
        .zip(&all)
        .any(|(record, number)| unit_word(&record.text, number.end()).is_empty());
    let unit = unit.filter(|_| !compound);
    // A number that stands alone is not beside a measured value, whatever letter is with it.
    let alone = records[0].numbers.len() == 1
        && !temperature
        && (unit.is_some() || words.iter().all(|word| word.len() <= 1));
    RecordField {
        index,
        course,
        unit: in_front.or(unit.filter(|_| !sometimes_none || words.len() == 1)),
        unit_in_front: in_front.is_some(),
        words,
        decimals,
        always_the_same_decimals: all.iter().all(|number| number.decimals == decimals),
        exponent: all.iter().any(|number| number.exponent),
        padded: all.iter().any(|number| number.padded),
        zero_behind_mark: records.iter().zip(&all).any(|(record, number)| {
            let text = &record.text[number.at..number.end()];
            let mark = text.iter().position(|byte| matches!(byte, b'.' | b','));
            mark.and_then(|mark| text.get(mark + 1)) == Some(&b'0')
        }),
        signed: all.iter().any(|number| number.signed),
        compound,
        beside: beside && !alone && !unit.is_some_and(is_of_the_trade),
        travel: {
            let (low, high) = values
                .iter()
                .fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
            ((high - low) / count).max(1.0).log10()
        },
        clock: all.iter().any(|number| number.clock),
        part_of_a_name: all
            .iter()
            .all(|number| number.glued && number.decimals.is_none())
            && course == FieldCourse::Constant,
    }
}

/// The word behind a number. Empty if it is the label of the next number.
pub(crate) fn behind(record: &ParsedRecord, index: usize) -> String {
    let number = &record.numbers[index];
    let word = unit_word(&record.text, number.end());
    let labelled = record
        .numbers
        .first()
        .is_some_and(|first| !word_before(&record.text, first.at).is_empty());
    if let Some(next) = record.numbers.get(index + 1)
        && labelled
    {
        let between = &record.text[number.end()..next.at];
        let blank = between.first().is_some_and(u8::is_ascii_whitespace);
        let rest = between.trim_ascii_start();
        let label = rest.strip_prefix(word).unwrap_or(rest);
        let only = |b: &u8| matches!(b, b' ' | b':' | b'=');
        if blank
            && !word.is_empty()
            && label.iter().all(only)
            && units::unit(&latin(word)).is_none()
        {
            return String::new();
        }
    }
    latin(word)
}

/// The word behind a number, or two words if only both together are a unit ("in H2O").
fn unit_word(text: &[u8], at: usize) -> &[u8] {
    let word = word_behind(text, at);
    let from = at + text[at..].len() - text[at..].trim_ascii_start().len();
    let next = word_behind(text, from + word.len());
    if !matches!(
        &next.to_ascii_uppercase()[..],
        b"H2O" | b"WC" | b"WG" | b"HG" | b"AQ" | b"WATER"
    ) {
        return word;
    }
    let end = text.len() - text[from + word.len()..].trim_ascii_start().len() + next.len();
    &text[from..end]
}

/// A unit in front of a number. Capitals there are flags as often as units.
fn unit_before(text: &[u8], at: usize) -> Option<Unit> {
    let word = word_before(text, at);
    let plain = word.chars().any(|c| c.is_ascii_lowercase()) || word.len() > 2;
    plain.then(|| units::unit(word)).flatten()
}

/// Whether an engine builder measures in this unit.
pub(crate) fn is_of_the_trade(unit: Unit) -> bool {
    matches!(
        unit.kind(),
        QuantityKind::Length
            | QuantityKind::Volume
            | QuantityKind::Mass
            | QuantityKind::Pressure
            | QuantityKind::Flow
    )
}

/// The record without its numbers and blanks.
pub(crate) fn skeleton(record: &ParsedRecord) -> Vec<u8> {
    let mut text = Vec::new();
    let mut at = 0;
    for number in &record.numbers {
        text.extend(
            record.text[at..number.at]
                .iter()
                .filter(|byte| **byte != b' '),
        );
        text.push(b'#');
        at = number.end();
    }
    text.extend(record.text[at..].iter().filter(|byte| **byte != b' '));
    text
}

/// Whether a number's unit is not its whole unit: the number is part of a value of two numbers, or
/// the unit is composed.
pub(crate) fn is_compound(record: &ParsedRecord, index: usize, word: &str) -> bool {
    two_numbers(record, index, word) || put_together(record, index, word)
}

/// Whether a number belongs to a value of two numbers (`2' 05.3"`, `1 lb 11 oz`).
pub(crate) fn two_numbers(record: &ParsedRecord, index: usize, word: &str) -> bool {
    let number = &record.numbers[index];
    let text = &record.text;
    if let Some(before) = index.checked_sub(1).map(|at| &record.numbers[at]) {
        let between = &text[before.end().min(number.at)..number.at];
        let marks = between.iter().any(|b| matches!(b, b'\'' | 0xB0));
        let tail = word_behind(text, before.end());
        let same_kind = match (units::unit(&crate::tokens::latin(tail)), units::unit(word)) {
            (Some(one), Some(other)) => one.kind() == other.kind() && one != other,
            _ => false,
        };
        let only_blanks = between
            .iter()
            .all(|b| b.is_ascii_alphabetic() || *b == b' ');
        if (marks && number.decimals.is_some() && !number.signed)
            || (same_kind && only_blanks && before.decimals.is_none() && !number.signed)
        {
            return true;
        }
    }
    false
}

/// Whether a number's unit is composed (`in lb`, `oz.in`).
fn put_together(record: &ParsedRecord, index: usize, word: &str) -> bool {
    if units::unit(word).is_none() {
        return false;
    }
    let rest = &record.text[record.numbers[index].end()..];
    let from = rest.len() - rest.trim_ascii_start().len() + word.chars().count();
    match rest.get(from..) {
        Some([b'.' | b'-' | b'*' | b'/' | b'^' | 0xB7, letter, ..]) => {
            letter.is_ascii_alphanumeric()
        }
        Some([b' ', ..]) => {
            let next = word_behind(rest, from);
            std::str::from_utf8(next).is_ok_and(units::is_part)
        }
        _ => false,
    }
}
