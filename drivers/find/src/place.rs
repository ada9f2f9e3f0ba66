//! The place of the measured value in its record, in the words of a profile.

use crate::field::{ParsedRecord, RecordField};
use crate::meaning::meaning;
use crate::tokens::latin;
use crate::units;
use crate::write::{FieldPosition, Separator, UnitText};
use benchhand_drivers::profile::StatusMeaning;
use benchhand_drivers::unit::Unit;

/// A place, and how the unit is told there.
#[derive(Debug, Clone)]
pub(crate) struct PlacedField {
    pub(crate) place: FieldPosition,
    pub(crate) unit: UnitText,
    /// A column of status words, and their meanings.
    pub(crate) status: Option<(usize, Vec<(String, StatusMeaning)>)>,
}

/// Every way to describe the field's place, the plainest first.
pub(crate) fn places(records: &[ParsedRecord], field: &RecordField) -> Vec<PlacedField> {
    let mut all = Vec::new();
    let behind = behind(field);
    let only = records.iter().all(|record| record.numbers.len() == 1);
    let plain_tail = !matches!(&behind, UnitText::Unknown { words } if !words.is_empty());
    if only && plain_tail {
        all.push(PlacedField {
            place: FieldPosition::Whole,
            unit: behind.clone(),
            status: None,
        });
    }
    for separator in [
        Separator::Text(","),
        Separator::Text(";"),
        Separator::Text("\t"),
        Separator::Text("|"),
        Separator::Text(":"),
        Separator::Text("/"),
        Separator::Text("\",\""),
        Separator::Blanks,
    ] {
        all.extend(column(records, field, separator, &behind));
    }
    // A profile can express a unit before the number only if the line holds nothing else.
    let behind = if field.unit_in_front {
        UnitText::Unknown { words: Vec::new() }
    } else {
        behind
    };
    if let Some(placed) = label(records, field, &behind) {
        let tails = label_tails(records, field);
        all.push(placed.clone());
        // Symbols that are not part of a unit stand behind the number.
        if !tails.is_empty() {
            let unit = UnitText::Unknown { words: tails };
            all.push(PlacedField { unit, ..placed });
        }
    }
    all.extend(fixed(records, field, &behind));
    all.extend(only.then(|| with_whole_tails(records, field)).flatten());
    all
}

/// The only number of a line. All texts that ever stand behind it are the gauge's words for its
/// unit: "12.50 g" and "12.50 g S".
fn with_whole_tails(records: &[ParsedRecord], field: &RecordField) -> Option<PlacedField> {
    const MOST: usize = 6;
    let mut tails: Vec<String> = Vec::new();
    for record in records {
        let tail = record.text[record.numbers[field.index].end()..].trim_ascii();
        let tail = latin(tail);
        if !tail.is_empty() && !tails.contains(&tail) {
            tails.push(tail);
        }
    }
    if tails.len() > MOST {
        return None;
    }
    let unit = match field.unit {
        Some(unit) if !field.unit_in_front => UnitText::Behind {
            unit,
            words: tails.into_iter().map(|tail| (tail, unit)).collect(),
        },
        _ => UnitText::Unknown { words: tails },
    };
    Some(PlacedField {
        place: FieldPosition::Whole,
        unit,
        status: None,
    })
}

/// The unit that the words behind the number tell.
fn behind(field: &RecordField) -> UnitText {
    let known: Vec<(String, Unit)> = field
        .words
        .iter()
        .filter_map(|word| Some((word.clone(), units::unit(word)?)))
        .collect();
    match field.unit {
        Some(unit) if known.len() == field.words.len() => UnitText::Behind { unit, words: known },
        _ => UnitText::Unknown {
            words: field.words.clone(),
        },
    }
}

/// Splits a record as the driver would.
pub(crate) fn cells(text: &[u8], separator: Separator) -> Vec<(usize, usize)> {
    let mut all = Vec::new();
    match separator {
        Separator::Text(separator) => {
            let separator = separator.as_bytes();
            let mut from = 0;
            while let Some(length) = text[from..]
                .windows(separator.len())
                .position(|seen| seen == separator)
            {
                all.push((from, from + length));
                from += length + separator.len();
            }
            all.push((from, text.len()));
        }
        Separator::Blanks => {
            let mut from = 0;
            for cell in text.split(u8::is_ascii_whitespace) {
                if !cell.is_empty() {
                    all.push((from, from + cell.len()));
                }
                from += cell.len() + 1;
            }
        }
    }
    all
}

fn column(
    records: &[ParsedRecord],
    field: &RecordField,
    separator: Separator,
    behind: &UnitText,
) -> Option<PlacedField> {
    let first = cells(&records.first()?.text, separator);
    let columns = first.len();
    if columns < 2 {
        return None;
    }
    let mut column = None;
    for record in records {
        let cells = cells(&record.text, separator);
        let number = &record.numbers[field.index];
        let at = cells
            .iter()
            .position(|(from, to)| *from <= number.at && number.end() <= *to)?;
        if cells.len() != columns || column.is_some_and(|known| known != at) {
            return None;
        }
        column = Some(at);
    }
    let column = column?;
    let word = |record: &ParsedRecord, at: usize| -> Option<String> {
        let cells = cells(&record.text, separator);
        let (from, to) = *cells.get(at)?;
        Some(latin(record.text[from..to].trim_ascii()))
    };
    let words = |at: usize| -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        for record in records {
            let word = word(record, at).unwrap_or_default();
            if !all.contains(&word) {
                all.push(word);
            }
        }
        all
    };
    let glued = records.iter().any(|record| {
        let number = &record.numbers[field.index];
        record
            .text
            .get(number.end())
            .is_some_and(|byte| !byte.is_ascii_whitespace())
            && cells(&record.text, separator)[column].1 > number.end()
    });
    // The next column holds the unit.
    let next = words(column + 1);
    let units: Option<Vec<(String, Unit)>> = next
        .iter()
        .map(|word| Some((word.clone(), units::unit(word)?)))
        .collect();
    let told = units
        .as_ref()
        .and_then(|words| words.last())
        .map(|(_, unit)| *unit);
    if separator == Separator::Blanks && !glued && field.unit.is_some() && told != field.unit {
        // The unit has more than one word.
        return None;
    }
    // Or the column before holds the unit, if a separator stands between them.
    let ahead = column
        .checked_sub(1)
        .filter(|_| separator != Separator::Blanks);
    let ahead: Option<Vec<(String, Unit)>> = ahead.and_then(|at| {
        let words = words(at);
        words
            .iter()
            .map(|word| Some((word.clone(), units::unit(word)?)))
            .collect()
    });
    let taken_by_unit = |at: usize, units: Vec<(String, Unit)>| UnitText::Column {
        column: at,
        words: units,
    };
    let unit = match (units, ahead) {
        _ if field.compound && separator == Separator::Blanks => {
            UnitText::Unknown { words: Vec::new() }
        }
        (Some(words), _) if column + 1 < columns && !words.is_empty() => {
            taken_by_unit(column + 1, words)
        }
        (_, Some(words)) if !words.is_empty() => taken_by_unit(column - 1, words),
        _ if glued || separator != Separator::Blanks => behind.clone(),
        _ => UnitText::Unknown { words: Vec::new() },
    };
    let taken = match &unit {
        UnitText::Column { column, .. } => Some(*column),
        _ => None,
    };
    let status = (0..columns)
        .filter(|at| *at != column && Some(*at) != taken)
        .find_map(|at| Some((at, statuses(&words(at))?)));
    Some(PlacedField {
        place: FieldPosition::Column {
            separator,
            columns,
            column,
        },
        unit,
        status,
    })
}

/// The meanings of a column's words, if all of them are known status words.
fn statuses(words: &[String]) -> Option<Vec<(String, StatusMeaning)>> {
    let meanings: Vec<(String, StatusMeaning)> = words
        .iter()
        .map(|word| Some((word.clone(), meaning(word)?)))
        .collect::<Option<_>>()?;
    // The counterpart of a heard word is added too.
    let mut all = meanings.clone();
    for (pair, says) in [(
        ["ST", "US"],
        [StatusMeaning::Stable, StatusMeaning::Unstable],
    )] {
        if meanings
            .iter()
            .any(|(word, _)| pair.contains(&word.as_str()))
        {
            for (word, says) in pair.into_iter().zip(says) {
                if !all.iter().any(|(known, _)| known == word) {
                    all.push((word.to_owned(), says));
                }
            }
        }
    }
    (!all.is_empty()).then_some(all)
}

/// A label that stands before the number in every record and nowhere else.
fn label(records: &[ParsedRecord], field: &RecordField, behind: &UnitText) -> Option<PlacedField> {
    let first = records.first()?;
    let number = &first.numbers[field.index];
    let before = &first.text[..number.at];
    let from = before
        .iter()
        .rposition(|byte| byte.is_ascii_whitespace() || matches!(byte, b',' | b';'))
        .map_or(0, |at| at + 1);
    // The driver skips blanks between label and number.
    let trimmed = before.trim_ascii_end();
    let from = if from > trimmed.len() {
        trimmed
            .iter()
            .rposition(|byte| byte.is_ascii_whitespace() || matches!(byte, b',' | b';'))
            .map_or(0, |at| at + 1)
    } else {
        from
    };
    let label = trimmed
        .get(from..)
        .filter(|label| !label.is_empty())?
        .to_vec();
    if !label.iter().any(u8::is_ascii_alphabetic) {
        return None;
    }
    let unique = records.iter().all(|record| {
        record
            .text
            .windows(label.len())
            .filter(|seen| *seen == &label[..])
            .count()
            == 1
    });
    unique.then(|| PlacedField {
        place: FieldPosition::Label(label),
        unit: behind.clone(),
        status: None,
    })
}

/// The texts directly behind the number, up to a blank or separator, if there are few of them.
fn label_tails(records: &[ParsedRecord], field: &RecordField) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for record in records {
        let tail = record.text[record.numbers[field.index].end()..].trim_ascii_start();
        let end = tail
            .iter()
            .position(|byte| byte.is_ascii_whitespace() || matches!(byte, b',' | b';'));
        let tail = latin(&tail[..end.unwrap_or(tail.len())]);
        if !tail.is_empty() && !all.contains(&tail) {
            all.push(tail);
        }
    }
    if all.len() > 3 { Vec::new() } else { all }
}

/// A fixed stretch of the record, if all records have the same length. The unit stands inside it
/// behind the number.
fn fixed(records: &[ParsedRecord], field: &RecordField, behind: &UnitText) -> Option<PlacedField> {
    let width = records.first()?.text.len();
    if records.iter().any(|record| record.text.len() != width) {
        return None;
    }
    let number = |record: &ParsedRecord| record.numbers[field.index].clone();
    let mut at = records.iter().map(|record| number(record).at).min()?;
    let mut end = records.iter().map(|record| number(record).end()).max()?;
    let blank_or_sign = |at: usize| {
        records
            .iter()
            .all(|r| matches!(r.text[at], b' ' | b'+' | b'-' | b'0'..=b'9' | b'.'))
    };
    while at > 0
        && blank_or_sign(at - 1)
        && records
            .iter()
            .any(|r| matches!(r.text[at - 1], b' ' | b'+' | b'-'))
    {
        at -= 1;
    }
    if let UnitText::Behind { words, .. } | UnitText::Column { words, .. } = behind {
        let longest = words.iter().map(|(word, _)| word.len()).max().unwrap_or(0);
        let last = records
            .iter()
            .map(|record| {
                let tail = &record.text[end..];
                end + tail.len() - tail.trim_ascii_start().len() + longest
            })
            .max()?;
        end = last.min(width);
    }
    let unit = match behind {
        UnitText::Unknown { .. } => UnitText::Unknown { words: Vec::new() },
        known => known.clone(),
    };
    Some(PlacedField {
        place: FieldPosition::At {
            at,
            len: end - at,
            width,
        },
        unit,
        status: None,
    })
}
