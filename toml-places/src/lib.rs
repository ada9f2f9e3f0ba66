//! TOML texts whose every value knows its place.
//!
//! A [`TextRangedTable`] notes which of its keys were asked for, so that its reader can refuse the
//! others and list those that it knows. What is wrong with a value, and in which words that is said,
//! is the reader's: nothing here knows gauges or engines.

// What comes from outside must not end the program: nothing here may panic.
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::string_slice,
        clippy::unreachable,
        clippy::unwrap_used
    )
)]

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;

use toml::Spanned;
pub use toml::de::{DeTable, DeValue};

/// Where something stands in its text, in bytes.
pub type TextRange = Range<usize>;

/// A text that is not TOML.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotToml {
    /// Where the text goes wrong.
    pub place: TextRange,
    /// What is wrong, in one line.
    pub message: String,
}

/// Reads a text, which must outlive the result.
///
/// # Errors
/// Where the text is not TOML, with the place.
pub fn parse(text: &str) -> Result<Spanned<DeTable<'_>>, NotToml> {
    DeTable::parse(text).map_err(|error| NotToml {
        place: error.span().unwrap_or(0..0),
        message: error.message().replace('\n', ", "),
    })
}

/// Line and column, both from 1 and the column in characters, of a byte of a text. A byte past the
/// end counts as the end.
pub fn line_and_column(text: &str, at: usize) -> (usize, usize) {
    let (mut line, mut column) = (1_usize, 1_usize);
    let before = text
        .char_indices()
        .take_while(|(start, character)| start.saturating_add(character.len_utf8()) <= at);
    for (_, character) in before {
        (line, column) = match character {
            '\n' => (line.saturating_add(1), 1),
            _ => (line, column.saturating_add(1)),
        };
    }
    (line, column)
}

/// One table of a text.
#[derive(Debug)]
pub struct PlacedTable<'a> {
    entries: &'a DeTable<'a>,
    place: TextRange,
    asked: RefCell<BTreeSet<String>>,
}

/// One value of a text, with the key under which it stands. A member of a list has the list's key.
#[derive(Debug, Clone)]
pub struct PlacedValue<'a> {
    /// The key.
    pub key: &'a str,
    /// Where the key stands.
    pub key_place: TextRange,
    /// The value as the text states it.
    pub value: &'a DeValue<'a>,
    /// Where the value stands.
    pub place: TextRange,
}

impl<'a> PlacedTable<'a> {
    /// A table of which nothing was asked yet.
    pub fn new(entries: &'a DeTable<'a>, place: TextRange) -> PlacedTable<'a> {
        PlacedTable {
            entries,
            place,
            asked: RefCell::default(),
        }
    }

    /// Where the table stands.
    pub fn place(&self) -> TextRange {
        self.place.clone()
    }

    /// The value of a key, if it is there. The key counts as asked for either way.
    pub fn get(&self, key: &str) -> Option<PlacedValue<'a>> {
        self.asked.borrow_mut().insert(key.to_owned());
        let (name, value) = self.entries.get_key_value(key)?;
        Some(placed(name, value))
    }

    /// Whether a key is there. It does not count as asked for.
    pub fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    /// Where the value of a key stands; the table itself where the key is not there.
    pub fn place_of(&self, key: &str) -> TextRange {
        self.entries.get(key).map_or(self.place(), Spanned::span)
    }

    /// The keys, in alphabetical order.
    pub fn keys(&self) -> impl Iterator<Item = &'a str> + use<'a> {
        self.entries.keys().map(|key| key.get_ref().as_ref())
    }

    /// Every value, in the order of the text.
    pub fn values(&self) -> Vec<PlacedValue<'a>> {
        let mut all: Vec<_> = self
            .entries
            .iter()
            .map(|(name, value)| placed(name, value))
            .collect();
        all.sort_by_key(|one| one.key_place.start);
        all
    }

    /// The keys that were asked for, whether they are there or not, in alphabetical order.
    pub fn asked(&self) -> Vec<String> {
        self.asked.borrow().iter().cloned().collect()
    }

    /// Values whose keys nobody asked for, in the order of the text.
    pub fn not_asked(&self) -> Vec<PlacedValue<'a>> {
        let asked = self.asked.borrow();
        let mut all = self.values();
        all.retain(|one| !asked.contains(one.key));
        all
    }
}

fn placed<'a>(
    name: &'a Spanned<toml::de::DeString<'a>>,
    value: &'a Spanned<DeValue<'a>>,
) -> PlacedValue<'a> {
    PlacedValue {
        key: name.get_ref(),
        key_place: name.span(),
        value: value.get_ref(),
        place: value.span(),
    }
}

impl<'a> PlacedValue<'a> {
    /// The text, where it is one.
    pub fn text(&self) -> Option<&'a str> {
        match self.value {
            DeValue::String(text) => Some(text.as_ref()),
            _ => None,
        }
    }

    /// True or false, where it is one of them.
    pub fn flag(&self) -> Option<bool> {
        self.value.as_bool()
    }

    /// The whole number, where it is one that 64 bits hold.
    pub fn integer(&self) -> Option<i64> {
        let number = self.value.as_integer()?;
        i64::from_str_radix(&number.as_str().replace('_', ""), number.radix()).ok()
    }

    /// The finite number, whole or not, where it is one.
    pub fn number(&self) -> Option<f64> {
        let number = match self.value {
            DeValue::Float(number) => number.as_str().replace('_', "").parse().ok()?,
            #[expect(
                clippy::cast_precision_loss,
                reason = "numbers that people write are small"
            )]
            _ => self.integer()? as f64,
        };
        Some(number).filter(|number: &f64| number.is_finite())
    }

    /// The table, where it is one.
    pub fn table(&self) -> Option<PlacedTable<'a>> {
        match self.value {
            DeValue::Table(table) => Some(PlacedTable::new(table, self.place.clone())),
            _ => None,
        }
    }

    /// The members of the list, where it is one.
    pub fn list(&self) -> Option<Vec<PlacedValue<'a>>> {
        let DeValue::Array(list) = self.value else {
            return None;
        };
        let member = |member: &'a Spanned<DeValue<'a>>| PlacedValue {
            value: member.get_ref(),
            place: member.span(),
            ..self.clone()
        };
        Some(list.iter().map(member).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "\"µ\" = 1_000\n[part]\nsize = \"4 in\"\nfits = [0x10, 2.5, true]\n";

    #[test]
    fn every_value_knows_its_line_and_column() {
        let parsed = parse(TEXT).unwrap();
        let top = PlacedTable::new(parsed.get_ref(), 0..0);
        let part = top.get("part").unwrap().table().unwrap();
        let at = |place: TextRange| line_and_column(TEXT, place.start);
        assert_eq!(at(top.place_of("µ")), (1, 7));
        assert_eq!(at(part.place_of("size")), (3, 8));
        let fits = part.get("fits").unwrap().list().unwrap();
        let places: Vec<_> = fits.iter().map(|one| at(one.place.clone())).collect();
        assert_eq!(places, [(4, 9), (4, 15), (4, 20)]);
        assert_eq!(at(part.place_of("nowhere")), at(part.place()));
        assert_eq!(line_and_column(TEXT, 999), (5, 1));
    }

    #[test]
    fn values_are_what_their_text_says_and_nothing_else() {
        let parsed = parse(TEXT).unwrap();
        let top = PlacedTable::new(parsed.get_ref(), 0..0);
        assert_eq!(top.get("µ").unwrap().integer(), Some(1000));
        let part = top.get("part").unwrap().table().unwrap();
        let size = part.get("size").unwrap();
        assert_eq!((size.text(), size.number()), (Some("4 in"), None));
        let fits = part.get("fits").unwrap().list().unwrap();
        let numbers: Vec<_> = fits.iter().map(PlacedValue::number).collect();
        assert_eq!(numbers, [Some(16.0), Some(2.5), None]);
        assert_eq!(fits[1].integer(), None);
        assert_eq!(fits[2].flag(), Some(true));
    }

    #[test]
    fn what_nobody_asked_for_is_known_in_its_order() {
        let parsed = parse("b = 1\na = 2\nc = 3\n").unwrap();
        let top = PlacedTable::new(parsed.get_ref(), 0..0);
        assert!(top.get("a").is_some() && top.get("d").is_none() && top.has("b"));
        let left: Vec<_> = top.not_asked().iter().map(|one| one.key).collect();
        assert_eq!(left, ["b", "c"]);
        assert_eq!(top.asked(), ["a", "d"]);
    }

    #[test]
    fn a_text_that_is_no_toml_is_told_with_its_place() {
        let wrong = parse("a = 1\nb = = 2\n").unwrap_err();
        assert_eq!(line_and_column("a = 1\nb = = 2\n", wrong.place.start).0, 2);
        assert!(!wrong.message.contains('\n'));
    }
}
