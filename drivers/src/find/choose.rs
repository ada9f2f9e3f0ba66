//! Which of a record's numbers is the reading.

use super::doubts::{self, Doubt};
use super::records::Record;
use super::series::{Course, course};
use super::seven::share;
use super::tokens::{Number, latin, numbers, word_before, word_behind};
use super::units;
use crate::profile::model::Mark;
use crate::unit::{Kind, Unit};
use std::collections::BTreeSet;

/// A record with its numbers.
#[derive(Debug, Clone)]
pub(super) struct Parsed {
    pub(super) text: Vec<u8>,
    pub(super) at_us: u64,
    pub(super) numbers: Vec<Number>,
}

/// One number of the records, followed from record to record.
#[derive(Debug, Clone)]
pub(super) struct Field {
    /// Which number of the record, from the left.
    pub(super) index: usize,
    pub(super) course: Course,
    /// Words that stand behind it, each once, in the order in which they came.
    pub(super) words: Vec<String>,
    /// The unit that the last of them means.
    pub(super) unit: Option<Unit>,
    /// The unit stands before the number instead.
    pub(super) unit_in_front: bool,
    pub(super) decimals: Option<u8>,
    pub(super) always_the_same_decimals: bool,
    pub(super) exponent: bool,
    pub(super) padded: bool,
    /// A fraction that begins with a zero was seen.
    pub(super) zero_behind_mark: bool,
    pub(super) signed: bool,
    /// Its unit is put together of several, or only part of a value that is.
    pub(super) compound: bool,
    /// Something beside the reading: a temperature, a battery, a counter by its name.
    pub(super) beside: bool,
    clock: bool,
    part_of_a_name: bool,
    /// How many of its counts it spans, as a power of ten.
    pub(super) travel: f64,
}

/// The field that was chosen.
#[derive(Debug, Clone)]
pub(super) struct Choice {
    pub(super) field: Field,
    pub(super) confidence: f64,
    pub(super) reasons: Vec<String>,
    /// The character that parts thousands.
    pub(super) grouping: Option<u8>,
}

/// Records that hold the usual number of numbers.
pub(super) fn regular(
    records: &[Record],
    front: usize,
    tail: usize,
    mark: Mark,
    grouping: Option<u8>,
) -> Vec<Parsed> {
    let parsed: Vec<Parsed> = records
        .iter()
        .filter_map(|record| {
            let text = record
                .text
                .get(front..record.text.len().checked_sub(tail)?)?
                .to_vec();
            Some(Parsed {
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

fn field(records: &[Parsed], index: usize) -> Field {
    let all: Vec<&Number> = records
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
        compound |= doubts::compound(record, index, word);
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
    // A number that stands alone is no neighbour of a reading, whatever letter is with it.
    let alone = records[0].numbers.len() == 1
        && !temperature
        && (unit.is_some() || words.iter().all(|word| word.len() <= 1));
    Field {
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
            && course == Course::Constant,
    }
}

/// The word behind a number; not where it is the label of the next one.
pub(super) fn behind(record: &Parsed, index: usize) -> String {
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

/// The word behind a number, or two where only both are a unit ("in H2O").
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

/// Units of what is measured at this bench.
pub(super) fn is_of_the_trade(unit: Unit) -> bool {
    matches!(
        unit.kind(),
        Kind::Length | Kind::Volume | Kind::Mass | Kind::Pressure | Kind::Flow
    )
}

impl Field {
    fn points(&self) -> f64 {
        let mut points = match self.course {
            Course::Moving => 3.0,
            Course::Still => 1.0,
            Course::Constant => 0.0,
            Course::Clock => -1.0,
            Course::Counter => -2.0,
        };
        if self.unit.is_some_and(is_of_the_trade) {
            points += 3.0;
        }
        if self.beside {
            points -= 4.0;
        }
        // Of two that move, the one that is moved about is the reading, not the one that drifts.
        points += 0.4 * self.travel;
        points
            + f64::from(u8::from(self.decimals.is_some()))
            + 0.5 * f64::from(u8::from(self.signed))
    }

    /// Whether it could be the reading at all.
    fn may_be_it(&self) -> bool {
        !self.clock && !self.part_of_a_name
    }

    /// Whether it would be taken for a reading if it stood alone.
    fn looks_like_a_reading(&self) -> bool {
        self.may_be_it()
            && !self.beside
            && (self.unit.is_some_and(is_of_the_trade)
                || matches!(self.course, Course::Moving | Course::Still)
                || self.decimals.is_some() && self.course != Course::Constant)
    }
}

/// Chooses the reading, and says how sure that is.
pub(super) fn choose(records: &[Parsed]) -> Option<Choice> {
    let fields: Vec<Field> = (0..records.first()?.numbers.len())
        .map(|index| field(records, index))
        .collect();
    let mut able: Vec<&Field> = fields.iter().filter(|field| field.may_be_it()).collect();
    able.sort_by(|a, b| b.points().total_cmp(&a.points()));
    let (winner, others) = able.split_first()?;
    let mut reasons = Vec::new();
    let mut confidence: f64 = match records.len() {
        0..=1 => 0.4,
        2 => 0.6,
        3..=4 => 0.9,
        _ => 0.96,
    };
    let mut at_most = |limit: f64, reason: &str| {
        confidence = confidence.min(limit);
        reasons.push(reason.to_owned());
    };
    let mut at_most_of = |doubt: Doubt| at_most(doubt.0, doubt.1);
    for doubt in doubts::of(records, winner, others) {
        at_most_of(doubt);
    }
    let rivals: Vec<&&Field> = others
        .iter()
        .filter(|field| field.looks_like_a_reading())
        .collect();
    let has_unit = winner.unit.is_some_and(is_of_the_trade);
    if !rivals.is_empty() {
        let rival_has_unit = rivals.iter().any(|f| f.unit.is_some_and(is_of_the_trade));
        let rival_moves = rivals
            .iter()
            .any(|f| f.course == Course::Moving && !doubts::wavers_beside(f, winner));
        let moves = winner.course == Course::Moving;
        match (has_unit && !rival_has_unit, moves && !rival_moves) {
            (true, true) => at_most(0.9, "another number of the line hardly moves"),
            (true, false) if rival_moves && !moves => {
                at_most(0.7, "only this number has a unit, but another one moves");
            }
            (true, false) => at_most(0.82, "only this number has a unit"),
            (false, true) => at_most(0.82, "only this number moves"),
            (false, false) => at_most(0.5, "more than one number could be the reading"),
        }
    } else if !others.is_empty() && !has_unit {
        match winner.course {
            Course::Moving => at_most(0.9, "the other numbers stay, count or run with the clock"),
            Course::Still => at_most(0.75, "it hardly moved while it was listened to"),
            _ => at_most(0.5, "no number of the line moved; move the gauge"),
        }
    }
    if winner.beside {
        at_most(0.5, "its name or unit is of something beside a reading");
    }
    if winner.decimals.is_none() {
        if winner.padded {
            at_most(
                0.6,
                "whole digits with leading zeros: decimals may be implied",
            );
        } else if !has_unit {
            at_most(0.75, "a whole number without a unit");
        }
        if winner.course == Course::Counter {
            at_most(0.4, "it counts up evenly");
        }
    }
    if !winner.always_the_same_decimals && !winner.exponent {
        at_most(1.0, "its decimals move, as with a gauge that changes range");
    }
    let skeletons: BTreeSet<Vec<u8>> = records.iter().map(skeleton).collect();
    if skeletons.len() > 4 && share(skeletons.len(), records.len()) > 0.3 {
        at_most(0.4, "the lines are built too differently");
    }
    Some(Choice {
        field: (*winner).clone(),
        confidence,
        reasons,
        grouping: None,
    })
}

/// A record with its numbers and blanks taken out.
pub(super) fn skeleton(record: &Parsed) -> Vec<u8> {
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
