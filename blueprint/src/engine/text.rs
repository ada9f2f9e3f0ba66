//! Changes single values of an engine file as text. One job, and long.
//!
//! Comments, order and all else stay as they are.
//!
//! This module knows TOML and neither what a key means nor who asks for the change.

use std::ops::Range;

use toml_edit::{Array, Document, DocumentMut, InlineTable, Item, Key, Table, TableLike, Value};

use benchhand_toml_places::line_and_column;

use super::fault::{EngineFileFault, EngineFileFaults};

/// A value as it is written into an engine file.
#[derive(Debug, Clone, PartialEq)]
pub enum EngineValue {
    /// A text, such as `"4.030 in"`.
    Text(String),
    /// A plain number, as typed.
    Number(f64),
    /// A whole number.
    Whole(u32),
    /// Names, such as those of places.
    Names(Vec<String>),
    /// Cylinders in an order.
    Wholes(Vec<u32>),
    /// Banks of cylinders without names.
    Banks(Vec<Vec<u32>>),
    /// Banks of cylinders with their names.
    NamedBanks(Vec<(String, Vec<u32>)>),
}

/// A value of an engine file as a person would type it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WrittenValue {
    /// The value: `4.030 in`, `1 8 4 3`, `1 3 / 2 4`.
    pub typed: String,
    /// What the file says beside it, such as `u = "0.0002 in", dof = 9`; empty where nothing.
    pub beside: String,
}

/// An engine file's text. A key is written with its sections: `gasket.bore`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EngineText {
    text: String,
}

impl EngineText {
    /// Takes a text that is TOML, whatever its keys say.
    ///
    /// # Errors
    /// Where it is no TOML, with line and column.
    pub fn new(text: impl Into<String>) -> Result<EngineText, EngineFileFaults> {
        let text = text.into();
        match Document::parse(text.as_str()) {
            Ok(_) => Ok(EngineText { text }),
            Err(error) => {
                let span = error.span().unwrap_or(0..0);
                let (line, column) = line_and_column(&text, span.start);
                Err(EngineFileFaults {
                    faults: vec![EngineFileFault {
                        span,
                        line,
                        column,
                        key: String::new(),
                        message: format!("found text that is not TOML: {}", error.message()),
                        help: "correct this line".to_owned(),
                    }],
                    more: 0,
                })
            }
        }
    }

    /// A text in which nothing is stated.
    #[must_use]
    pub fn empty() -> EngineText {
        EngineText {
            text: String::new(),
        }
    }

    /// The text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The value of a key; `None` where the file does not have it.
    #[must_use]
    pub fn value(&self, key: &str) -> Option<WrittenValue> {
        let document = Document::parse(self.text.as_str()).ok()?;
        let mut item = document.as_item();
        for part in parts(key) {
            item = item.as_table_like()?.get(part)?;
        }
        Some(written(item))
    }

    /// The names of the sections in a section, such as the free spots in `free`.
    #[must_use]
    pub fn sections(&self, within: &str) -> Vec<String> {
        let Ok(document) = Document::parse(self.text.as_str()) else {
            return Vec::new();
        };
        let section = document.get(within).and_then(Item::as_table_like);
        let names = section.into_iter().flat_map(|table| table.iter());
        let tables = names.filter(|(_, item)| item.is_table_like());
        tables.map(|(name, _)| name.to_owned()).collect()
    }

    /// Writes a value, or with `None` puts the line of the key behind a `#`. A line that stands
    /// behind a `#` for this key is used again.
    pub fn set(&mut self, key: &str, value: Option<&EngineValue>) {
        let changed = match value {
            None => self.without(key),
            Some(value) => self
                .replaced(key, value)
                .or_else(|| self.uncommented(key, value))
                .or_else(|| self.added(key, value)),
        };
        // A change that would not leave TOML behind is not made.
        if let Some(text) = changed.filter(|text| Document::parse(text.as_str()).is_ok()) {
            self.text = text;
        }
    }

    /// The text with another value at a key that is there.
    fn replaced(&self, key: &str, value: &EngineValue) -> Option<String> {
        let (_, at) = self.spans(key)?;
        let mut text = self.text.clone();
        text.replace_range(at, &toml(value));
        Some(text)
    }

    /// The text with the value on the line that stood behind a `#` for it.
    fn uncommented(&self, key: &str, value: &EngineValue) -> Option<String> {
        let (section, leaf) = split(key);
        let mut within = section.is_empty();
        let mut start = 0_usize;
        for line in self.text.split_inclusive('\n') {
            let bare = line.trim();
            if bare.starts_with('[') {
                within = bare.trim_matches(|c| c == '[' || c == ']').trim() == section
                    && !bare.starts_with("[[");
            }
            let end = start.saturating_add(line.len());
            let behind = bare.strip_prefix('#').map(str::trim_start);
            if let Some((name, rest)) = behind.and_then(|behind| behind.split_once('='))
                && within
                && name.trim() == leaf
            {
                let remark = remark(rest);
                let ending = line.strip_prefix(line.trim_end())?;
                let new = format!("{leaf} = {}{remark}{ending}", toml(value));
                let mut text = self.text.clone();
                text.replace_range(start..end, &new);
                return Some(text);
            }
            start = end;
        }
        None
    }

    /// The text with a key that was not there.
    fn added(&self, key: &str, value: &EngineValue) -> Option<String> {
        let mut document: DocumentMut = self.text.parse().ok()?;
        let parts = parts(key);
        let (leaf, sections) = parts.split_last()?;
        let mut table: &mut dyn TableLike = document.as_table_mut();
        for section in sections {
            if table.get(section).is_none() {
                let mut new = Table::new();
                new.decor_mut().set_prefix("\n");
                // A section with nothing but sections in it has no line of its own.
                new.set_implicit(true);
                table.insert(section, Item::Table(new));
            }
            table = table.get_mut(section)?.as_table_like_mut()?;
        }
        table.insert(leaf, Item::Value(value_of(value)));
        Some(document.to_string())
    }

    /// The text with the line of a key behind a `#`, or without the key where others share its line.
    fn without(&self, key: &str) -> Option<String> {
        let (name, value) = self.spans(key)?;
        let before = self.text.get(..name.start)?.rsplit('\n').next()?;
        let after = self.text.get(value.end..)?.split('\n').next()?;
        let remark = after.trim();
        if before.trim().is_empty() && (remark.is_empty() || remark.starts_with('#')) {
            let start = name.start.checked_sub(before.len())?;
            let end = value.end.checked_add(after.len())?;
            let lines: Vec<String> = (self.text.get(start..end)?)
                .split('\n')
                .map(|line| format!("# {line}"))
                .collect();
            let mut text = self.text.clone();
            text.replace_range(start..end, &lines.join("\n"));
            return Some(text);
        }
        let mut document: DocumentMut = self.text.parse().ok()?;
        let parts = parts(key);
        let (leaf, sections) = parts.split_last()?;
        let mut table: &mut dyn TableLike = document.as_table_mut();
        for section in sections {
            table = table.get_mut(section)?.as_table_like_mut()?;
        }
        table.remove(leaf)?;
        Some(document.to_string())
    }

    /// Where a key and its value stand.
    fn spans(&self, key: &str) -> Option<(Range<usize>, Range<usize>)> {
        let document = Document::parse(self.text.as_str()).ok()?;
        let parts = parts(key);
        let (leaf, sections) = parts.split_last()?;
        let mut table: &dyn TableLike = document.as_table();
        for section in sections {
            table = table.get(section)?.as_table_like()?;
        }
        let (name, item) = table.get_key_value(leaf)?;
        // Dotted keys and sections have no value of their own to replace.
        let value = item.as_value()?;
        Some((name.span()?, value.span()?))
    }
}

/// The sections of a key and its own name. A bank's name, the third part, may have dots.
fn parts(key: &str) -> Vec<&str> {
    key.splitn(3, '.').collect()
}

fn split(key: &str) -> (&str, &str) {
    key.rsplit_once('.').unwrap_or(("", key))
}

/// The remark behind a value that stood behind a `#`, with the blanks before it; empty where there
/// is none.
fn remark(rest: &str) -> &str {
    let rest = rest.trim_end();
    let mut quoted = false;
    for (at, letter) in rest.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            '#' if !quoted => {
                let before = rest.get(..at).unwrap_or_default().trim_end();
                return rest.get(before.len()..).unwrap_or_default();
            }
            _ => {}
        }
    }
    ""
}

fn value_of(value: &EngineValue) -> Value {
    let wholes = |all: &[u32]| -> Array { all.iter().map(|one| i64::from(*one)).collect() };
    match value {
        EngineValue::Text(text) => Value::from(text.as_str()),
        EngineValue::Number(number) => Value::from(*number),
        EngineValue::Whole(whole) => Value::from(i64::from(*whole)),
        EngineValue::Names(all) => Value::Array(all.iter().map(String::as_str).collect()),
        EngineValue::Wholes(all) => Value::Array(wholes(all)),
        EngineValue::Banks(banks) => Value::Array(
            banks
                .iter()
                .map(|bank| Value::Array(wholes(bank)))
                .collect(),
        ),
        EngineValue::NamedBanks(banks) => {
            let mut table = InlineTable::new();
            for (name, bank) in banks {
                table.insert_formatted(&Key::new(name.as_str()), Value::Array(wholes(bank)));
            }
            Value::InlineTable(table)
        }
    }
}

/// The value as it stands in a file.
fn toml(value: &EngineValue) -> String {
    value_of(value).to_string()
}

/// A value as a person would type it.
fn written(item: &Item) -> WrittenValue {
    let plain = |value: &Value| match value {
        Value::String(text) => text.value().clone(),
        other => other.clone().decorated("", "").to_string(),
    };
    let row = |value: &Value| -> String {
        let numbers = value.as_array().map(|all| all.iter().map(plain).collect());
        numbers.map_or_else(|| plain(value), |all: Vec<String>| all.join(" "))
    };
    let typed = match item.as_value() {
        Some(Value::Array(all)) if all.iter().any(Value::is_array) => {
            all.iter().map(row).collect::<Vec<_>>().join(" / ")
        }
        Some(value @ Value::Array(_)) => row(value),
        Some(value) if !value.is_inline_table() => plain(value),
        _ => return written_table(item, &row),
    };
    WrittenValue {
        typed,
        beside: String::new(),
    }
}

/// `{ value = "…", u = "…" }`, or banks with their names.
fn written_table(item: &Item, row: &dyn Fn(&Value) -> String) -> WrittenValue {
    let Some(table) = item.as_table_like() else {
        return WrittenValue::default();
    };
    let (mut typed, mut beside) = (Vec::new(), Vec::new());
    for (key, item) in table.iter() {
        let Some(value) = item.as_value() else {
            continue;
        };
        match value {
            Value::Array(_) => typed.push(format!("{key} {}", row(value))),
            _ if key == "value" => typed.push(row(value)),
            other => beside.push(format!("{key} = {}", other.clone().decorated("", ""))),
        }
    }
    WrittenValue {
        typed: typed.join(" / "),
        beside: beside.join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = r#"# Whose it is
name = "Invented" # kept
units = "inch"
cylinders = 4
banks = { left = [1, 3], right = [2, 4] }
bore = { value = "4.000 in", u = "0.0002 in", dof = 9 }
# stroke = "0.000 in"  # travel

# The gasket
[gasket]
bore = "4.100 in" # opening

[targets]
compression = 10.5
"#;

    fn text(value: &str) -> EngineValue {
        EngineValue::Text(value.to_owned())
    }

    /// The lines that differ.
    fn changes(before: &str, after: &str) -> Vec<String> {
        let before: Vec<&str> = before.lines().collect();
        let new = after.lines().filter(|line| !before.contains(line));
        new.map(str::to_owned).collect()
    }

    #[test]
    fn one_value_changes_and_every_other_byte_stays() {
        let mut file = EngineText::new(FILE).expect("TOML");
        file.set("gasket.bore", Some(&text("4.166 in")));
        assert_eq!(
            file.as_str(),
            FILE.replace("\"4.100 in\"", "\"4.166 in\""),
            "the remark behind the value stays as well"
        );
    }

    #[test]
    fn a_line_behind_a_hash_is_used_and_its_remark_stays() {
        let mut file = EngineText::new(FILE).expect("TOML");
        file.set("stroke", Some(&text("3.5 in")));
        assert_eq!(
            changes(FILE, file.as_str()),
            ["stroke = \"3.5 in\"  # travel"]
        );
        assert_eq!(file.as_str().lines().count(), FILE.lines().count());
    }

    #[test]
    fn a_key_that_was_not_there_comes_to_its_section_or_makes_it() {
        let mut file = EngineText::new(FILE).expect("TOML");
        file.set("gasket.thickness", Some(&text("0.041 in")));
        file.set("piston.crown", Some(&text("-3 cc")));
        file.set("rod", Some(&text("6 in")));
        for line in FILE.lines() {
            assert!(
                file.as_str().contains(line),
                "{line:?} is gone:\n{}",
                file.as_str()
            );
        }
        let typed = |key: &str| file.value(key).map(|found| found.typed);
        assert_eq!(typed("gasket.thickness").as_deref(), Some("0.041 in"));
        assert_eq!(typed("piston.crown").as_deref(), Some("-3 cc"));
        assert_eq!(typed("rod").as_deref(), Some("6 in"));
    }

    #[test]
    fn what_is_taken_out_stays_behind_a_hash_and_comes_back() {
        let mut file = EngineText::new(FILE).expect("TOML");
        file.set("gasket.bore", None);
        assert_eq!(
            changes(FILE, file.as_str()),
            ["# bore = \"4.100 in\" # opening"]
        );
        assert_eq!(file.value("gasket.bore"), None);
        file.set("gasket.bore", Some(&text("4.100 in")));
        assert_eq!(file.as_str(), FILE);
    }

    #[test]
    fn values_read_as_they_would_be_typed() {
        let file = EngineText::new(FILE).expect("TOML");
        let typed = |key: &str| file.value(key).unwrap_or_default();
        assert_eq!(typed("banks").typed, "left 1 3 / right 2 4");
        assert_eq!(typed("targets.compression").typed, "10.5");
        assert_eq!(typed("bore").typed, "4.000 in");
        assert_eq!(typed("bore").beside, "u = \"0.0002 in\", dof = 9");
        assert_eq!(typed("cylinders").typed, "4");
    }

    #[test]
    fn what_is_no_toml_is_refused_with_its_line() {
        let faults = EngineText::new("name = \"a\"\nbore = = 4").expect_err("no TOML");
        assert_eq!(faults.faults[0].line, 2);
    }
}
