//! Reasons against the choice of a number, or against its interpretation. An objection never makes
//! a candidate surer.

use std::collections::BTreeSet;

use crate::field::{ParsedRecord, RecordField, behind, is_of_the_trade, two_numbers};
use crate::meaning::meaning;
use crate::series::FieldCourse;
use crate::seven::share;
use crate::tokens::{word_before, word_behind};

/// A reason against a candidate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Objection {
    /// The highest confidence that the candidate may have.
    pub(crate) at_most: f64,
    /// The reason in words.
    pub(crate) why: &'static str,
}

/// A number that moves by fewer counts than this may only fluctuate.
const WAVERING: f64 = 2.0;

/// The objections to the chosen field.
pub(crate) fn of(
    records: &[ParsedRecord],
    winner: &RecordField,
    others: &[&RecordField],
) -> Vec<Objection> {
    let mut all = Vec::new();
    let mut objection = |at_most, why| all.push(Objection { at_most, why });
    let values: Vec<f64> = records
        .iter()
        .map(|record| record.numbers[winner.index].value)
        .collect();
    let has_unit = winner.unit.is_some_and(is_of_the_trade);
    let at_rest = |field: &&&RecordField| {
        !field.beside
            && field.decimals.is_some()
            && matches!(field.course, FieldCourse::Constant | FieldCourse::Still)
    };
    if winner.course == FieldCourse::Constant && others.is_empty() && !has_unit {
        objection(0.75, "it never moved; move the gauge");
    }
    if winner.course == FieldCourse::Moving
        && !has_unit
        && winner.travel < WAVERING
        && others.iter().any(|field| at_rest(&field))
    {
        objection(0.7, "it moved so little that it may waver by itself");
    }
    if has_unit
        && matches!(winner.course, FieldCourse::Constant | FieldCourse::Still)
        && others.iter().any(|field| {
            field.course == FieldCourse::Moving && !field.beside && !wavers_beside(field, winner)
        })
    {
        objection(0.7, "it hardly moved, but another number did");
    }
    if records
        .iter()
        .any(|record| two_numbers(record, winner.index, &behind(record, winner.index)))
    {
        objection(0.5, "it is part of a value of two numbers");
    }
    if may_be_its_sign(records, winner) {
        objection(0.75, "the letters before the number may be its sign");
    }
    if words_change(records, winner) {
        objection(0.7, "a word or sign before the number changes with it");
    }
    if bracketed(records, winner) {
        objection(0.6, "brackets about the number may mean minus");
    }
    if winner.course == FieldCourse::Moving && winner.decimals.is_some() {
        let count = 10f64.powi(-i32::from(winner.decimals.unwrap_or(0)));
        if !has_unit && jumps(records, &values, count) {
            objection(0.75, "it jumps about more than a gauge that is moved");
        }
        if !has_unit && steps(&values).len() < 5 {
            objection(0.85, "it moved only a few times");
        }
        if last_digits_stay(records, winner) {
            objection(0.6, "its last digits never change");
        }
        if letters_change(records, winner) {
            objection(0.6, "letters that change stand directly behind it");
        }
    }
    if alternates(&values) {
        objection(0.5, "two numbers take turns that nothing tells apart");
    }
    all
}

/// Whether a number moves so little beside the chosen one that it may only fluctuate.
pub(crate) fn wavers_beside(field: &RecordField, winner: &RecordField) -> bool {
    field.travel < WAVERING && winner.travel > field.travel + 1.0
}

/// Whether a letter or word that means plus or minus stands before an unsigned number.
fn may_be_its_sign(records: &[ParsedRecord], winner: &RecordField) -> bool {
    let word = |record: &ParsedRecord| {
        let number = &record.numbers[winner.index];
        let front = record.text[..number.at].trim_ascii_end();
        let word = word_before(&record.text, number.at);
        let near = front.len() == number.at || word.len() > 1;
        if front.ends_with(word.as_bytes()) && near && !number.signed {
            word.to_ascii_uppercase()
        } else {
            String::new()
        }
    };
    records.iter().any(|record| {
        matches!(
            word(record).as_str(),
            "P" | "N" | "M" | "PLUS" | "MINUS" | "POS" | "NEG"
        )
    }) && !winner.signed
}

/// Whether changing letters, other than known status words, stand before an unsigned number. They
/// may be its sign.
fn words_change(records: &[ParsedRecord], winner: &RecordField) -> bool {
    let words: BTreeSet<&str> = records
        .iter()
        .filter(|record| !record.numbers[winner.index].signed)
        .map(|record| word_before(&record.text, record.numbers[winner.index].at))
        .collect();
    let unknown = |word: &&&str| {
        !word.is_empty() && word.bytes().all(|b| b.is_ascii_alphabetic()) && meaning(word).is_none()
    };
    words.len() > 1 && words.iter().any(|word| unknown(&word))
}

fn bracketed(records: &[ParsedRecord], winner: &RecordField) -> bool {
    let bracketed = records
        .iter()
        .filter(|record| {
            let number = &record.numbers[winner.index];
            number.at > 0
                && record.text[number.at - 1] == b'('
                && record.text.get(number.end()) == Some(&b')')
        })
        .count();
    bracketed > 0
}

/// Whether a number that is sent several times a second jumps back and forth. Neighbouring steps
/// of a gauge that is moved are much alike.
fn jumps(records: &[ParsedRecord], values: &[f64], count: f64) -> bool {
    let (Some(first), Some(last)) = (records.first(), records.last()) else {
        return false;
    };
    // Values at rest say nothing about this.
    let mut moved = values.to_vec();
    moved.dedup();
    let steps: Vec<f64> = moved.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let mean_us = last.at_us.saturating_sub(first.at_us) / (moved.len() as u64).max(1);
    let sum: f64 = steps.iter().map(|step| step.abs()).sum();
    let changes: f64 = steps.windows(2).map(|pair| (pair[1] - pair[0]).abs()).sum();
    #[expect(clippy::cast_precision_loss, reason = "captures are small")]
    let by_noise = sum < 25.0 * count * steps.len() as f64;
    steps.len() >= 5 && mean_us < 250_000 && changes > 1.15 * sum && !by_noise
}

/// The size of each movement.
fn steps(values: &[f64]) -> Vec<f64> {
    values
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .filter(|step| *step > 0.0)
        .collect()
}

/// Whether the last two digits are the same in all of many values.
fn last_digits_stay(records: &[ParsedRecord], winner: &RecordField) -> bool {
    let digits = |record: &ParsedRecord| {
        let number = &record.numbers[winner.index];
        let text = record.text[number.at..number.end()].to_vec();
        (
            text[..text.len().saturating_sub(2)].to_vec(),
            text[text.len().saturating_sub(2)..].to_vec(),
        )
    };
    let (fronts, tails): (BTreeSet<_>, BTreeSet<_>) = records.iter().map(digits).unzip();
    !winner.exponent
        && fronts.len() > 2
        && tails.len() == 1
        && winner.decimals.is_some_and(|decimals| decimals > 2)
}

/// Whether letters directly behind the number take many values. They may be digits of a hex
/// number.
fn letters_change(records: &[ParsedRecord], winner: &RecordField) -> bool {
    let glued: BTreeSet<&[u8]> = records
        .iter()
        .filter_map(|record| {
            let end = record.numbers[winner.index].end();
            record.text.get(end).filter(|b| b.is_ascii_alphabetic())?;
            Some(word_behind(&record.text, end))
        })
        .collect();
    glued.len() > 2
}

/// Whether every second value belongs to another number that moves by itself.
fn alternates(values: &[f64]) -> bool {
    if values.len() < 6 {
        return false;
    }
    let travel = |step: usize| -> f64 {
        values
            .windows(step + 1)
            .map(|w| (w[step] - w[0]).abs())
            .sum()
    };
    let to_and_fro = values
        .windows(3)
        .filter(|w| (w[1] - w[0]) * (w[2] - w[1]) < 0.0)
        .count();
    travel(1) > 3.0 * travel(2) && share(to_and_fro, values.len() - 2) > 0.8
}
