//! A profile's tables and values. A forbidden value gives a flaw that knows its place in the text.
//!
//! This module knows how to report a mistake. It knows nothing of gauges.

use benchhand_toml_places::{DeTable, DeValue, PlacedTable, PlacedValue, TextRange};
use toml::Spanned;

use super::error::{Flaw, ProfileFault};

/// One table of the text.
pub(crate) struct Section<'a> {
    table: PlacedTable<'a>,
    pub(crate) span: TextRange,
    name: String,
}

/// One key with its value.
#[derive(Clone)]
pub(crate) struct Entry<'a> {
    pub(crate) key: &'a str,
    pub(crate) key_span: TextRange,
    pub(crate) span: TextRange,
    found: PlacedValue<'a>,
}

/// Parses `text`, which must outlive the result.
pub(crate) fn parse(text: &str) -> Result<Spanned<DeTable<'_>>, Flaw> {
    benchhand_toml_places::parse(text).map_err(|error| {
        Flaw::new(
            ProfileFault::Syntax,
            error.place,
            format!("text that is not TOML ({})", error.message),
            "TOML",
            "correct the text at this place",
        )
    })
}

impl<'a> Section<'a> {
    pub(crate) fn new(table: PlacedTable<'a>, name: impl Into<String>) -> Self {
        Self {
            span: table.place(),
            table,
            name: name.into(),
        }
    }

    /// The entry of this key, if there is one.
    pub(crate) fn optional(&self, key: &'static str) -> Option<Entry<'a>> {
        self.table.get(key).map(Entry::new)
    }

    /// The entry of this key. The error says what the key is needed for.
    pub(crate) fn required(&self, key: &'static str, purpose: &str) -> Result<Entry<'a>, Flaw> {
        if let Some(entry) = self.optional(key) {
            return Ok(entry);
        }
        let slip = |one: &PlacedValue<'_>| resembles(key, one.key);
        if let Some(slip) = self.table.not_asked().into_iter().find(slip) {
            return Err(Flaw::new(
                ProfileFault::UnknownKey,
                slip.key_place,
                format!("key `{}` in {}", slip.key, self.name),
                format!("`{key}`: {purpose}"),
                format!("did you mean `{key}`?"),
            ));
        }
        Err(Flaw::new(
            ProfileFault::Missing,
            self.span.clone(),
            format!("{} without `{key}`", self.name),
            format!("`{key}`: {purpose}"),
            format!("add `{key}`"),
        ))
    }

    /// Every entry, for tables whose keys are the user's words.
    pub(crate) fn entries(&self) -> impl Iterator<Item = Entry<'a>> + use<'a> {
        self.table.values().into_iter().map(Entry::new)
    }

    /// Refuses keys that were never asked for.
    pub(crate) fn finish(&self) -> Result<(), Flaw> {
        let Some(stranger) = self.table.not_asked().into_iter().next() else {
            return Ok(());
        };
        let known = self.table.asked();
        let near = known.iter().find(|known| resembles(known, stranger.key));
        let advice = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => "remove it, or see docs/profile.md for where it belongs".to_owned(),
        };
        Err(Flaw::new(
            ProfileFault::UnknownKey,
            stranger.key_place,
            format!("key `{}` in {}", stranger.key, self.name),
            format!("one of {}", quoted(&known)),
            advice,
        ))
    }

    /// A flaw of the section as a whole.
    pub(crate) fn flaw(&self, fault: ProfileFault, expected: &str, advice: &str) -> Flaw {
        Flaw::new(
            fault,
            self.span.clone(),
            self.name.clone(),
            expected,
            advice,
        )
    }
}

impl<'a> Entry<'a> {
    fn new(found: PlacedValue<'a>) -> Entry<'a> {
        Entry {
            key: found.key,
            key_span: found.key_place.clone(),
            span: found.place.clone(),
            found,
        }
    }

    /// A flaw of this value.
    pub(crate) fn flaw(
        &self,
        fault: ProfileFault,
        expected: impl Into<String>,
        advice: impl Into<String>,
    ) -> Flaw {
        Flaw::new(fault, self.span.clone(), self.described(), expected, advice)
    }

    fn described(&self) -> String {
        let value = match self.found.value {
            DeValue::String(text) => format!("{text:?}"),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.as_str().to_owned(),
            DeValue::Boolean(yes) => yes.to_string(),
            DeValue::Datetime(time) => time.to_string(),
            DeValue::Array(_) => "a list".to_owned(),
            DeValue::Table(_) => "a table".to_owned(),
        };
        format!("`{}` = {value}", self.key)
    }

    fn wrong_type(&self, expected: &str) -> Flaw {
        self.flaw(
            ProfileFault::WrongType,
            expected,
            format!("write `{}` as {expected}", self.key),
        )
    }

    pub(crate) fn text(&self) -> Result<&'a str, Flaw> {
        let text = self.found.text();
        text.ok_or_else(|| self.wrong_type("a text in quotes"))
    }

    pub(crate) fn is_text(&self) -> bool {
        matches!(self.found.value, DeValue::String(_))
    }

    pub(crate) fn is_table(&self) -> bool {
        matches!(self.found.value, DeValue::Table(_))
    }

    pub(crate) fn is_list(&self) -> bool {
        matches!(self.found.value, DeValue::Array(_))
    }

    pub(crate) fn flag(&self) -> Result<bool, Flaw> {
        let flag = self.found.flag();
        flag.ok_or_else(|| self.wrong_type("true or false"))
    }

    /// An integer in `range`, both ends included.
    pub(crate) fn integer(&self, range: std::ops::RangeInclusive<i64>) -> Result<i64, Flaw> {
        if !matches!(self.found.value, DeValue::Integer(_)) {
            return Err(self.wrong_type("a whole number"));
        }
        self.found
            .integer()
            .filter(|value| range.contains(value))
            .ok_or_else(|| {
                let (low, high) = (range.start(), range.end());
                if low == high {
                    return self.flaw(
                        ProfileFault::WrongValue,
                        low.to_string(),
                        format!("write {low}"),
                    );
                }
                self.flaw(
                    ProfileFault::WrongValue,
                    format!("a whole number from {low} to {high}"),
                    "choose a number in that range",
                )
            })
    }

    /// An integer in `range` as an index or a length.
    pub(crate) fn count(&self, range: std::ops::RangeInclusive<i64>) -> Result<usize, Flaw> {
        Ok(usize::try_from(self.integer(range)?).unwrap_or(0))
    }

    /// A finite number.
    pub(crate) fn number(&self) -> Result<f64, Flaw> {
        if !matches!(self.found.value, DeValue::Integer(_) | DeValue::Float(_)) {
            return Err(self.wrong_type("a number"));
        }
        self.found.number().ok_or_else(|| {
            self.flaw(
                ProfileFault::WrongValue,
                "a finite number",
                "write a number such as 0.01",
            )
        })
    }

    /// A finite number above 0.
    pub(crate) fn positive(&self) -> Result<f64, Flaw> {
        let number = self.number()?;
        if number > 0.0 {
            return Ok(number);
        }
        Err(self.flaw(
            ProfileFault::WrongValue,
            "a number above 0",
            "write a number such as 0.01",
        ))
    }

    /// Milliseconds in the text, given as microseconds.
    pub(crate) fn milliseconds(&self) -> Result<u64, Flaw> {
        let milliseconds = u64::try_from(self.integer(0..=3_600_000)?).unwrap_or(0);
        Ok(milliseconds.saturating_mul(1000))
    }

    pub(crate) fn section(&self, name: &str) -> Result<Section<'a>, Flaw> {
        let table = self.found.table();
        let table = table.ok_or_else(|| self.wrong_type("a table"))?;
        Ok(Section::new(table, name))
    }

    /// The members of a list.
    pub(crate) fn list(&self) -> Result<Vec<Entry<'a>>, Flaw> {
        let list = self.found.list();
        let list = list.ok_or_else(|| self.wrong_type("a list"))?;
        Ok(list.into_iter().map(Entry::new).collect())
    }

    /// Bytes: a text whose characters stand for the bytes 0x00 to 0xFF, or `{ hex = "0A 0D" }`.
    pub(crate) fn bytes(&self) -> Result<Vec<u8>, Flaw> {
        if self.is_table() {
            let section = self.section("a table of bytes")?;
            let hex = section.required("hex", "the bytes as pairs of hex digits")?;
            section.finish()?;
            return from_hex(hex.text()?).ok_or_else(|| {
                hex.flaw(
                    ProfileFault::WrongValue,
                    "pairs of hex digits, with or without blanks between",
                    "write bytes as in \"01 03 0A\"",
                )
            });
        }
        self.text()?
            .chars()
            .map(|c| u8::try_from(u32::from(c)).ok())
            .collect::<Option<_>>()
            .ok_or_else(|| {
                self.flaw(
                    ProfileFault::WrongValue,
                    "characters U+0000 to U+00FF, one for each byte",
                    "write other bytes as { hex = \"…\" }",
                )
            })
    }

    /// At least one byte.
    pub(crate) fn some_bytes(&self) -> Result<Vec<u8>, Flaw> {
        let bytes = self.bytes()?;
        if bytes.is_empty() {
            return Err(self.flaw(
                ProfileFault::WrongValue,
                "at least one byte",
                "leave the key out, or fill it",
            ));
        }
        Ok(bytes)
    }

    /// One of these words.
    pub(crate) fn choice<T: Copy>(&self, words: &[(&str, T)]) -> Result<T, Flaw> {
        let text = self.text()?;
        if let Some((_, chosen)) = words.iter().find(|(word, _)| *word == text) {
            return Ok(*chosen);
        }
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let advice = match known.iter().find(|word| resembles(word, text)) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => "choose one of these".to_owned(),
        };
        Err(self.flaw(
            ProfileFault::WrongValue,
            format!("one of {}", quoted(&known)),
            advice,
        ))
    }
}

/// Bytes from pairs of hex digits; blanks between pairs are allowed.
pub(crate) fn from_hex(text: &str) -> Option<Vec<u8>> {
    let digits: Vec<u8> = text
        .chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok()))
        .collect::<Option<_>>()?;
    let (pairs, rest) = digits.as_chunks::<2>();
    rest.is_empty()
        .then(|| pairs.iter().map(|[high, low]| high << 4 | low).collect())
}

fn quoted<T: std::fmt::Display>(words: &[T]) -> String {
    words
        .iter()
        .map(|word| format!("`{word}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

/// Whether one word could be a typing mistake for another: at most two edits apart, and fewer than
/// half of its letters.
fn resembles(known: &str, found: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (known.chars().collect(), found.chars().collect());
    if a.len().abs_diff(b.len()) > 2 {
        return false;
    }
    // Edits between the part of `a` read so far and each non-empty beginning of `b`.
    let mut row: Vec<usize> = (1..=b.len()).collect();
    for (before, x) in a.iter().enumerate() {
        let (mut diagonal, mut left) = (before, before.saturating_add(1));
        for (edits, y) in row.iter_mut().zip(&b) {
            let changed = diagonal.saturating_add(usize::from(x != y));
            diagonal = *edits;
            left = changed.min(diagonal.min(left).saturating_add(1));
            *edits = left;
        }
    }
    let edits = row.last().copied().unwrap_or(a.len());
    edits <= 2 && edits.saturating_mul(2) < a.len().max(b.len())
}
