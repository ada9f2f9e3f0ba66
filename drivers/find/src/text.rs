//! Reads the heard bytes as text.

use crate::candidate::ProfileCandidate;
use crate::choose::{ChosenField, choose};
use crate::classes::{RecordClass, classes};
use crate::field::{ParsedRecord, regular};
use crate::front::texts;
use crate::heard::HeardBytes;
use crate::meaning::{is_no_value, meaning};
use crate::place::{PlacedField, cells, places};
use crate::records::{Record, Records, behind_control, cut};
use crate::seven::{self, share};
use crate::shape;
use crate::sums::{self, ChecksumFit};
use crate::tokens::latin;
use crate::trial::try_profile;
use crate::write::{FieldPosition, ProfilePlan, Separator, UnitText, profile};
use benchhand_drivers::profile::DecimalMark;
use benchhand_drivers::profile::StatusMeaning;
use benchhand_drivers::profile::TalkMode;
use benchhand_drivers::serial_settings::SerialSettings;

/// Candidates that read the bytes as text, at most one for each decimal mark.
pub(crate) fn candidates(heard: &HeardBytes) -> Vec<ProfileCandidate> {
    let bytes = heard.bytes();
    let format = seven::format(&bytes);
    let (line, mask) = match format {
        Some(format) => (
            SerialSettings {
                format,
                ..heard.line
            },
            0x7F,
        ),
        None => (heard.line, 0xFF),
    };
    if texts(&bytes) < 0.93 {
        return Vec::new();
    }
    let Some(mut records) = cut(heard, mask) else {
        return Vec::new();
    };
    if sums::fit(&records).is_none() {
        records = behind_control(records);
    }
    let mut found: Vec<ProfileCandidate> = [DecimalMark::Point, DecimalMark::Comma]
        .into_iter()
        .filter_map(|mark| candidate(heard, line, &records, mark))
        .collect();
    if format.is_some() {
        for candidate in &mut found {
            candidate
                .reasons
                .push(format!("every byte's parity is that of {}", line.format));
        }
    }
    found
}

fn candidate(
    heard: &HeardBytes,
    line: SerialSettings,
    records: &Records,
    mark: DecimalMark,
) -> Option<ProfileCandidate> {
    if records.all.len() < 2 {
        return None;
    }
    let fit = sums::fit(records);
    let (front, tail) = fit.as_ref().map_or((0, 0), |fit| (fit.front, fit.tail));
    let classes = classes(&records.all);
    let several = classes.len() > 1;
    let mut best: Option<ProfileCandidate> = None;
    let mut moving = 0;
    for class in classes {
        let grouping = shape::grouping(&class.records, mark);
        let proven = grouping.filter(|(_, proven)| *proven).map(|(byte, _)| byte);
        let mut parsed = shape::with_value(regular(&class.records, front, tail, mark, proven));
        let Some(mut choice) = choose(&parsed) else {
            continue;
        };
        let alike = shape::of_one_kind(&parsed, &choice.field);
        let others = parsed.len() - alike.len();
        if others > 0 && !alike.is_empty() {
            parsed = alike;
            let Some(again) = choose(&parsed) else {
                continue;
            };
            choice = again;
        }
        choice.grouping = proven;
        if others > 1 && share(others, others + parsed.len()) > 0.1 {
            choice.confidence = choice.confidence.min(0.75);
            choice
                .reasons
                .push("lines with another unit or of another build are passed over".to_owned());
        }
        if grouping.is_some_and(|(_, proven)| !proven) {
            choice.confidence = choice.confidence.min(0.7);
            choice
                .reasons
                .push("a mark within digits may part thousands".to_owned());
        }
        if mark == DecimalMark::Comma {
            judge_comma(&parsed, &mut choice);
        } else if commas_could_be_marks(&parsed, &choice) {
            choice.confidence = choice.confidence.min(0.7);
            choice
                .reasons
                .push("a comma stands between digits".to_owned());
        }
        let numbered = class
            .records
            .iter()
            .filter(|record| record.text.iter().any(u8::is_ascii_digit))
            .count();
        if share(parsed.len(), numbered) < 0.7 {
            choice.confidence = choice.confidence.min(0.6);
            choice
                .reasons
                .push("many lines are built differently".to_owned());
        }
        if several {
            moving += usize::from(choice.field.course == crate::series::FieldCourse::Moving);
            let text = class.prefix.escape_ascii().to_string();
            choice.reasons.push(format!(
                "two or more channels take turns; this is \"{text}\""
            ));
            choice.confidence = choice.confidence.min(0.85);
        }
        let found = settle(
            heard,
            line,
            records,
            &class,
            &parsed,
            &choice,
            fit.as_ref(),
            mark,
        );
        let Some(found) = found else { continue };
        let moves = choice.field.course == crate::series::FieldCourse::Moving;
        if best.as_ref().is_none_or(|best| {
            found.confidence > best.confidence
                || (moves && found.confidence >= best.confidence - 0.1)
        }) {
            best = Some(found);
        }
    }
    if several
        && moving != 1
        && let Some(best) = &mut best
    {
        best.confidence = best.confidence.min(0.5);
        best.reasons
            .push("which channel is meant does not show; move one of them".to_owned());
    }
    best
}

/// Whether a comma within digits could be a decimal mark.
fn commas_could_be_marks(parsed: &[ParsedRecord], choice: &ChosenField) -> bool {
    let between = |record: &ParsedRecord| {
        let number = &record.numbers[choice.field.index];
        let text = &record.text;
        let behind = text.get(number.end()) == Some(&b',')
            && text.get(number.end() + 1).is_some_and(u8::is_ascii_digit);
        let before = number.at > 1
            && text[number.at - 1] == b','
            && text[number.at - 2].is_ascii_digit()
            && !number.signed;
        behind || before
    };
    choice.field.decimals.is_none() && parsed.iter().all(between)
}

/// Judges the comma. It is a decimal mark only if the bytes show that it does not separate
/// columns.
fn judge_comma(parsed: &[ParsedRecord], choice: &mut ChosenField) {
    let field = &choice.field;
    let points = parsed.iter().any(|record| record.text.contains(&b'.'));
    if field.decimals.is_none() || points {
        choice.confidence = 0.0;
        return;
    }
    // Every comma stands within a number, so something else separates the numbers.
    let other_separator = parsed.iter().all(|record| {
        let commas = record.text.iter().filter(|byte| **byte == b',').count();
        let marks = record
            .numbers
            .iter()
            .filter(|number| number.decimals.is_some())
            .count();
        commas == marks
    });
    let proven = field.always_the_same_decimals
        && (field.zero_behind_mark || field.unit.is_some())
        && other_separator;
    if !proven {
        choice.confidence = choice.confidence.min(0.6);
        choice
            .reasons
            .push("a comma that may be a decimal mark or part two columns".to_owned());
    }
}

/// Tries every way to describe the place of the measured value, and takes the first that reads all
/// records.
#[expect(clippy::too_many_arguments, reason = "what one hypothesis consists of")]
fn settle(
    heard: &HeardBytes,
    line: SerialSettings,
    records: &Records,
    class: &RecordClass,
    parsed: &[ParsedRecord],
    choice: &ChosenField,
    fit: Option<&ChecksumFit>,
    mark: DecimalMark,
) -> Option<ProfileCandidate> {
    let period_ms = period_us(parsed).div_ceil(1000);
    for placed in places(parsed, &choice.field) {
        let plan = plan(records, class, parsed, choice, fit, mark, placed);
        let text = profile(&plan, line, period_ms, heard);
        let Some(tried) = try_profile(&text, heard) else {
            continue;
        };
        let expected: Vec<f64> = parsed
            .iter()
            .map(|record| record.numbers[choice.field.index].value)
            .collect();
        let found: Vec<f64> = tried
            .samples
            .iter()
            .filter_map(|sample| sample.value)
            .collect();
        let missing = expected.len().saturating_sub(found.len());
        // The ordinary driver may leave out a first line that could be incomplete.
        let first_is_more = found.len() > 1 && !follow(&expected, &found);
        let in_order = follow(&expected, &found[usize::from(first_is_more)..]);
        if missing > 1 + expected.len() / 15 || !in_order || found.is_empty() {
            continue;
        }
        let unit = match &plan.unit {
            UnitText::Unknown { .. } => None,
            _ => tried.samples.last().map(|sample| sample.unit),
        };
        let mut reasons = choice.reasons.clone();
        if let Some(fit) = fit {
            reasons.push(format!("the checksum {} fits every frame", fit.name));
        }
        return Some(ProfileCandidate {
            line,
            mode: if heard.asked.is_some() {
                TalkMode::Poll
            } else {
                TalkMode::Stream
            },
            unit,
            confidence: choice.confidence,
            profile: text,
            last_value: found.last().copied(),
            reasons,
        });
    }
    None
}

/// Whether the found values are some of the expected ones, in the same order.
fn follow(expected: &[f64], found: &[f64]) -> bool {
    let mut left = expected.iter();
    found.iter().all(|value| left.any(|wanted| wanted == value))
}

fn plan(
    records: &Records,
    class: &RecordClass,
    parsed: &[ParsedRecord],
    choice: &ChosenField,
    fit: Option<&ChecksumFit>,
    mark: DecimalMark,
    placed: PlacedField,
) -> ProfilePlan {
    let field = &choice.field;
    let longest = records
        .all
        .iter()
        .map(|record| record.text.len())
        .max()
        .unwrap_or(80);
    let column = matches!(placed.place, FieldPosition::Column { .. });
    ProfilePlan {
        cut: records.cut.clone(),
        longest: (longest * 2).max(16),
        checksum: fit.map(|fit| fit.text.clone()),
        content: fit.and_then(|fit| fit.content),
        comma: mark == DecimalMark::Comma,
        decimals: field.decimals.filter(|_| field.always_the_same_decimals),
        exponent: field.exponent,
        grouping: choice.grouping,
        unit: placed.unit,
        sentinels: sentinels(&class.records, parsed, &placed.place, column),
        status: placed
            .status
            .map(|status| with_all_words(status, &class.records, &placed.place)),
        ignore: class
            .others
            .iter()
            .filter_map(|prefix| String::from_utf8(prefix.clone()).ok())
            .collect(),
        place: placed.place,
    }
}

/// The status column, completed by the words of records without a value.
fn with_all_words(
    (column, mut words): (usize, Vec<(String, StatusMeaning)>),
    records: &[Record],
    place: &FieldPosition,
) -> (usize, Vec<(String, StatusMeaning)>) {
    if let FieldPosition::Column {
        separator, columns, ..
    } = place
    {
        for record in records {
            let cells = cells(&record.text, *separator);
            let Some((from, to)) = cells.get(column).filter(|_| cells.len() == *columns) else {
                continue;
            };
            let word = latin(record.text[*from..*to].trim_ascii());
            if let Some(says) = meaning(&word)
                && !words.iter().any(|(known, _)| *known == word)
            {
                words.push((word, says));
            }
        }
    }
    (column, words)
}

/// Known words for "no value" in place of the number.
fn sentinels(
    records: &[Record],
    parsed: &[ParsedRecord],
    place: &FieldPosition,
    in_column: bool,
) -> Vec<(String, StatusMeaning)> {
    let mut all: Vec<(String, StatusMeaning)> = Vec::new();
    for record in records {
        if parsed
            .iter()
            .any(|known| known.at_us == record.at_us && record.text == known.text)
        {
            continue;
        }
        let text = String::from_utf8_lossy(&record.text).into_owned();
        let words: Vec<&str> = match place {
            FieldPosition::Column {
                separator: Separator::Text(separator),
                ..
            } => text.split(separator).map(str::trim).collect(),
            _ if in_column => text.split_whitespace().collect(),
            _ => text.split([' ', ':', '=']).collect(),
        };
        for word in words {
            if let Some(says) = meaning(word).filter(|says| is_no_value(*says))
                && !all.iter().any(|(known, _)| known == word)
            {
                all.push((word.to_owned(), says));
            }
        }
    }
    all
}

/// The usual time from one record to the next.
fn period_us(parsed: &[ParsedRecord]) -> u64 {
    let mut gaps: Vec<u64> = parsed
        .windows(2)
        .map(|pair| pair[1].at_us.saturating_sub(pair[0].at_us))
        .collect();
    gaps.sort_unstable();
    let (Some(first), Some(last)) = (parsed.first(), parsed.last()) else {
        return 1_000_000;
    };
    let steps = u64::try_from(gaps.len()).unwrap_or(1).max(1);
    let middle = gaps.get(gaps.len() / 2).copied().unwrap_or(1_000_000);
    // If one read holds several records, only the mean tells the period.
    if middle == 0 {
        last.at_us.saturating_sub(first.at_us) / steps
    } else {
        middle
    }
}
