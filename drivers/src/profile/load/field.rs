//! Places, words, byte orders and units, shared by channels and status fields.

use super::frame::Frame;
use crate::profile::document::{Entry, Section};
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{By, Chooser, FieldPlace, Word};
use crate::unit::{SENT, Unit, sent};

pub(in crate::profile) fn unit(entry: &Entry<'_>) -> Result<Unit, Flaw> {
    let text = entry.text()?;
    // An alias is refused, so profiles say one thing in one way.
    SENT.iter()
        .copied()
        .find(|unit| unit.symbol() == text)
        .ok_or_else(|| {
            let known: Vec<&str> = SENT.iter().map(|unit| unit.symbol()).collect();
            let advice = match sent(text) {
                Some(unit) => format!("write \"{unit}\""),
                None => "choose one of these; a gauge's own word for a unit belongs in `sent`"
                    .to_owned(),
            };
            entry.flaw(
                ProfileFault::UnknownUnit,
                format!("one of {}", known.join(", ")),
                advice,
            )
        })
}

/// The place of a field, from `at` and `len`, `column` or `label`. `None` if none is given.
/// `implied` is the length that the field's type implies.
pub(super) fn place(
    section: &Section<'_>,
    frame: &Frame<'_>,
    implied: Option<usize>,
) -> Result<Option<FieldPlace>, Flaw> {
    let at = section.optional("at");
    let len = section.optional("len");
    let column = section.optional("column");
    let label = section.optional("label");
    let given: Vec<&Entry<'_>> = [&at, &column, &label].into_iter().flatten().collect();
    if let [_, second, ..] = given[..] {
        return Err(second.flaw(
            ProfileFault::Contradiction,
            "one of `at`, `column` and `label`",
            "remove all but one",
        ));
    }
    if let (None, Some(len)) = (&at, &len) {
        return Err(len.flaw(
            ProfileFault::Contradiction,
            "`len` beside `at` only",
            "add `at`, or remove it",
        ));
    }
    if let Some(entry) = at {
        return position(&entry, len.as_ref(), frame, implied).map(Some);
    }
    if let Some(entry) = column {
        let Some(columns) = &frame.columns else {
            return Err(entry.flaw(
                ProfileFault::Contradiction,
                "no column, since [frame] has no `separator`",
                "add `separator` and `columns` to [frame]",
            ));
        };
        let last = i64::try_from(columns.count).unwrap_or(1);
        let column = entry.count(1..=last)?.saturating_sub(1);
        return Ok(Some(FieldPlace::Column(column)));
    }
    if let Some(entry) = label {
        if !frame.is_text() || frame.columns.is_some() {
            return Err(entry.flaw(
                ProfileFault::Contradiction,
                "a label only in a text without columns",
                "use `at` or `column`",
            ));
        }
        return Ok(Some(FieldPlace::Label(entry.some_bytes()?)));
    }
    Ok(None)
}

fn position(
    at_entry: &Entry<'_>,
    len: Option<&Entry<'_>>,
    frame: &Frame<'_>,
    implied: Option<usize>,
) -> Result<FieldPlace, Flaw> {
    if frame.columns.is_some() {
        return Err(at_entry.flaw(
            ProfileFault::Contradiction,
            "`column`, since [frame] has a `separator`",
            "use `column` for every field",
        ));
    }
    let at = at_entry.count(0..=4095)?;
    let len = match (len, implied) {
        (Some(entry), Some(implied)) if entry.count(1..=255)? != implied => {
            return Err(entry.flaw(
                ProfileFault::Contradiction,
                format!("{implied}, which the type implies"),
                "remove `len`, or change the type",
            ));
        }
        (Some(entry), _) => entry.count(1..=255)?,
        (None, Some(implied)) => implied,
        (None, None) => {
            return Err(at_entry.flaw(
                ProfileFault::Missing,
                "`len` beside `at` for this type",
                "add `len = …`",
            ));
        }
    };
    let end = at.saturating_add(len);
    if let Some(positions) = frame.positions()
        && end > positions
    {
        return Err(at_entry.flaw(
            ProfileFault::OutsideFrame,
            format!("a field within the content's {positions} positions; this one ends at {end}"),
            "correct `at` or `len`",
        ));
    }
    Ok(FieldPlace::At { at, len })
}

/// A word of a table whose keys are what the gauge sends.
pub(super) fn word(entry: &Entry<'_>, frame: &Frame<'_>) -> Result<Word, Flaw> {
    let text = &entry.key;
    if frame.is_text() {
        let bytes = text
            .chars()
            .map(|c| u8::try_from(u32::from(c)))
            .collect::<Result<_, _>>();
        return bytes
            .map(Word::Text)
            .map_err(|_| key_flaw(entry, "characters U+0000 to U+00FF"));
    }
    let parsed = match text.strip_prefix("0x") {
        Some(hex) => u64::from_str_radix(hex, 16),
        None => text.parse(),
    };
    parsed.map(Word::Number).map_err(|_| {
        key_flaw(
            entry,
            "a number as key, such as \"1\" or \"0x1F\", since the content is not text",
        )
    })
}

fn key_flaw(entry: &Entry<'_>, expected: &str) -> Flaw {
    Flaw::new(
        ProfileFault::WrongValue,
        entry.key_span.clone(),
        format!("the key {:?}", entry.key),
        expected,
        "correct the key",
    )
}

/// A table from words to meanings.
pub(super) fn words<T>(
    entry: &Entry<'_>,
    frame: &Frame<'_>,
    meaning: impl Fn(&Entry<'_>) -> Result<T, Flaw>,
) -> Result<Vec<(Word, T)>, Flaw> {
    let table = entry.section("a table of words")?;
    let all: Vec<(Word, T)> = table
        .entries()
        .map(|entry| Ok((word(&entry, frame)?, meaning(&entry)?)))
        .collect::<Result<_, Flaw>>()?;
    if all.is_empty() {
        return Err(entry.flaw(
            ProfileFault::WrongValue,
            "at least one word",
            "name what the gauge sends",
        ));
    }
    Ok(all)
}

/// A separate field that chooses among meanings: a place, and `words` or `bit`.
pub(super) fn chooser<T>(
    section: &Section<'_>,
    frame: &Frame<'_>,
    words_key: &'static str,
    meaning: impl Fn(&Entry<'_>) -> Result<T, Flaw>,
) -> Result<Chooser<T>, Flaw> {
    let implied = if section.optional("len").is_some() {
        None
    } else {
        Some(1)
    };
    let place = place(section, frame, implied)?.ok_or_else(|| {
        section.flaw(
            ProfileFault::Missing,
            "a place: `at`, `column` or `label`",
            "say where the field stands",
        )
    })?;
    if let Some(bit) = section.optional("bit") {
        let bit_number = u8::try_from(bit.integer(0..=7)?).unwrap_or(0);
        let set = meaning(&section.required("set", "what it means when the bit is 1")?)?;
        let clear = meaning(&section.required("clear", "what it means when the bit is 0")?)?;
        return Ok(Chooser {
            place,
            by: By::Bit {
                bit: bit_number,
                clear,
                set,
            },
        });
    }
    let entry = section.required(words_key, "what each word of the field means")?;
    Ok(Chooser {
        place,
        by: By::Words(words(&entry, frame, meaning)?),
    })
}
