//! A table of an engine file: its values as the engine needs them, and every fault at its place.

use std::cell::{Cell, RefCell};

use benchhand_toml_places::{DeValue, PlacedTable, PlacedValue, TextRange, line_and_column};

use super::StatedValue;
use super::fault::{EngineFileFault, EngineFileFaults};
use crate::known_word::meant;
use crate::most_told::MOST_TOLD;
use crate::units::QuantityKind;

/// The text and the faults found in it so far.
pub(super) struct Document<'a> {
    text: &'a str,
    faults: RefCell<Vec<EngineFileFault>>,
    /// How many further faults were found.
    more: Cell<usize>,
}

impl<'a> Document<'a> {
    pub(super) fn new(text: &'a str) -> Document<'a> {
        Document {
            text,
            faults: RefCell::new(Vec::new()),
            more: Cell::new(0),
        }
    }

    pub(super) fn fault(&self, span: TextRange, key: &str, message: String, help: &str) {
        let help = help.to_owned();
        self.faults.borrow_mut().push(EngineFileFault {
            span,
            // The place is counted once it is known which faults are told.
            line: 0,
            column: 0,
            key: key.to_owned(),
            message,
            help,
        });
    }

    /// Counts faults that are not told, because as many of the same kind stand before them.
    fn count(&self, more: usize) {
        self.more.set(self.more.get().saturating_add(more));
    }

    /// The faults, if there are any.
    pub(super) fn finish(self) -> Result<(), EngineFileFaults> {
        let mut faults = self.faults.into_inner();
        faults.sort_by_key(|fault| (fault.span.start, fault.span.end));
        if faults.is_empty() {
            return Ok(());
        }
        let beyond = faults.len().saturating_sub(MOST_TOLD);
        let more = self.more.get().saturating_add(beyond);
        faults.truncate(MOST_TOLD);
        for fault in &mut faults {
            (fault.line, fault.column) = line_and_column(self.text, fault.span.start);
        }
        Err(EngineFileFaults { faults, more })
    }
}

/// A table under reading.
pub(super) struct Table<'a> {
    document: &'a Document<'a>,
    /// The section's name with a dot behind it; empty at the top.
    prefix: String,
    table: PlacedTable<'a>,
}

impl<'a> Table<'a> {
    pub(super) fn new(
        document: &'a Document<'a>,
        prefix: String,
        table: PlacedTable<'a>,
    ) -> Table<'a> {
        Table {
            document,
            prefix,
            table,
        }
    }

    pub(super) fn path(&self, key: &str) -> String {
        format!("{}{key}", self.prefix)
    }

    pub(super) fn fault(&self, key: &str, message: String, help: &str) {
        self.document
            .fault(self.table.place_of(key), &self.path(key), message, help);
    }

    pub(super) fn missing(&self, key: &str, help: &str) {
        let message = "found nothing; this is needed".to_owned();
        self.document
            .fault(self.table.place(), &self.path(key), message, help);
    }

    /// The value of a key, which is then counted as read.
    pub(super) fn get(&self, key: &str) -> Option<PlacedValue<'a>> {
        self.table.get(key)
    }

    /// Whether a key is there; it is not counted as read.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.has(key)
    }

    pub(super) fn keys(&self) -> impl Iterator<Item = &'a str> + use<'a> {
        self.table.keys()
    }

    fn wrong_type(&self, key: &str, value: &PlacedValue<'_>, expected: &str, help: &str) {
        self.fault(
            key,
            format!("found {}, expected {expected}", describe(value.value)),
            help,
        );
    }

    pub(super) fn text(&self, key: &str) -> Option<String> {
        let value = self.get(key)?;
        let text = value.text().map(str::to_owned);
        if text.is_none() {
            self.wrong_type(key, &value, "a text", "put it in quotation marks");
        }
        text
    }

    pub(super) fn flag(&self, key: &str) -> Option<bool> {
        let value = self.get(key)?;
        if value.flag().is_none() {
            self.wrong_type(
                key,
                &value,
                "true or false",
                "write it without quotation marks",
            );
        }
        value.flag()
    }

    pub(super) fn whole(&self, key: &str, range: std::ops::RangeInclusive<u32>) -> Option<u32> {
        let value = self.get(key)?;
        let number = whole(&value).filter(|number| range.contains(number));
        if number.is_none() {
            let expected = format!("a whole number from {} to {}", range.start(), range.end());
            self.wrong_type(key, &value, &expected, "write it without quotation marks");
        }
        number
    }

    pub(super) fn number(&self, key: &str) -> Option<f64> {
        let value = self.get(key)?;
        let number = value.number();
        if number.is_none() {
            self.wrong_type(key, &value, "a plain number", "write it without a unit");
        }
        number
    }

    /// Degrees of freedom: a positive number, infinite if the key is not there.
    pub(super) fn dof(&self, key: &str) -> f64 {
        if !self.has(key) {
            return f64::INFINITY;
        }
        match self.number(key) {
            Some(dof) if dof > 0.0 => dof,
            Some(dof) => {
                let message = format!("found {dof}, expected a number above 0");
                self.fault(
                    key,
                    message,
                    "give one less than the number of repeats behind it",
                );
                f64::INFINITY
            }
            None => f64::INFINITY,
        }
    }

    /// A list of cylinder numbers.
    pub(super) fn cylinders(&self, key: &str) -> Option<Vec<u32>> {
        let value = self.get(key)?;
        let list = cylinders(&value);
        if list.is_none() {
            self.wrong_type(
                key,
                &value,
                "a list of cylinder numbers",
                "write it as [1, 3, 5, 7]",
            );
        }
        list
    }

    /// A list of texts.
    pub(super) fn texts(&self, key: &str) -> Option<Vec<String>> {
        let value = self.get(key)?;
        let text = |item: &PlacedValue<'_>| item.text().map(str::to_owned);
        let list = value
            .list()
            .and_then(|list| list.iter().map(text).collect());
        if list.is_none() {
            self.wrong_type(
                key,
                &value,
                "a list of texts",
                "write it as [\"chamber\", \"deck\"]",
            );
        }
        list
    }

    /// A section.
    pub(super) fn section(&self, key: &str) -> Option<Table<'a>> {
        let value = self.get(key)?;
        match value.table() {
            Some(table) => Some(self.inner(key, table)),
            None => {
                let help = format!("write it as a section: [{}]", self.path(key));
                self.wrong_type(key, &value, "a section", &help);
                None
            }
        }
    }

    /// The sections inside a section, such as the gauges of `[gauges.NAME]`.
    pub(super) fn sections(&self, key: &str) -> Vec<(&'a str, Table<'a>)> {
        let Some(outer) = self.section(key) else {
            return Vec::new();
        };
        outer
            .keys()
            .filter_map(|name| Some((name, outer.section(name)?)))
            .collect()
    }

    /// The sections of a list of sections, such as `[[stages]]`.
    pub(super) fn list_of_sections(&self, key: &str) -> Vec<Table<'a>> {
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let Some(list) = value.list() else {
            let help = format!("write each as [[{}]]", self.path(key));
            self.wrong_type(key, &value, "a list of sections", &help);
            return Vec::new();
        };
        let mut sections = Vec::new();
        for item in list {
            match item.table() {
                Some(table) => sections.push(self.inner(key, table)),
                None => self.wrong_type(key, &item, "a section", "write it as [[…]]"),
            }
        }
        sections
    }

    fn inner(&self, key: &str, table: PlacedTable<'a>) -> Table<'a> {
        Table::new(self.document, format!("{}.", self.path(key)), table)
    }

    /// A value with its unit, as "4.030 in", "4.030 in +- 0.0005 in" or
    /// { value = "4.030 in", u = "0.0005 in", dof = 9 } (or `limits` in place of `u`).
    pub(super) fn stated(&self, key: &str, kind: QuantityKind) -> Option<StatedValue> {
        let value = self.get(key)?;
        match value.value {
            DeValue::String(text) => self.good(key, StatedValue::parse(text, kind), kind),
            DeValue::Table(_) => {
                let table = self.inner(key, value.table()?);
                let stated = table.stated_in_parts(kind);
                table.refuse_rest();
                stated
            }
            DeValue::Integer(_) | DeValue::Float(_) if kind == QuantityKind::Number => {
                if value.number().is_none() {
                    self.wrong_type(key, &value, "a number", EXAMPLE);
                    return None;
                }
                let written = match value.value {
                    DeValue::Float(float) => float.as_str(),
                    DeValue::Integer(integer) => integer.as_str(),
                    _ => return None,
                };
                let text = format!("{} 1", written.replace('_', ""));
                self.good(key, StatedValue::parse(&text, kind), kind)
            }
            _ => {
                self.wrong_type(key, &value, &format!("{kind} with its unit"), EXAMPLE);
                None
            }
        }
    }

    fn stated_in_parts(&self, kind: QuantityKind) -> Option<StatedValue> {
        if !self.has("value") {
            self.missing("value", EXAMPLE);
        }
        let stated = self.stated("value", kind)?;
        let dof = self.dof("dof");
        let (u, limits) = (self.text("u"), self.text("limits"));
        let stated = match (&u, &limits) {
            (Some(_), Some(_)) => {
                self.fault(
                    "limits",
                    "found both u and limits".to_owned(),
                    "give one of them",
                );
                stated
            }
            (Some(u), None) => {
                let quantity = u.parse().map_err(super::StatedError::from);
                self.good("u", quantity.and_then(|u| stated.with_u(u)), kind)?
            }
            (None, Some(limits)) => {
                let quantity = limits.parse().map_err(super::StatedError::from);
                self.good(
                    "limits",
                    quantity.and_then(|limits| stated.with_limits(limits)),
                    kind,
                )?
            }
            (None, None) => stated,
        };
        Some(StatedValue { dof, ..stated })
    }

    fn good(
        &self,
        key: &str,
        stated: Result<StatedValue, super::StatedError>,
        kind: QuantityKind,
    ) -> Option<StatedValue> {
        match stated {
            Ok(stated) => Some(stated),
            Err(error) => {
                self.fault(key, error.to_string(), &format!("give {kind}"));
                None
            }
        }
    }

    /// Every key that was not read is a fault.
    pub(super) fn refuse_rest(&self) {
        let strangers = self.table.not_asked();
        self.document
            .count(strangers.len().saturating_sub(MOST_TOLD));
        for stranger in strangers.into_iter().take(MOST_TOLD) {
            let message = "found a key that is not known here".to_owned();
            let asked = self.table.asked();
            let near = match meant(stranger.key, asked.iter().map(String::as_str)) {
                Ok(near) => Some(near),
                Err(near) => near,
            };
            let hint = near.map_or(String::new(), |near| format!("did you mean `{near}`? "));
            let help = format!(
                "{hint}correct its name or take it out; docs/engine-file.md lists the keys"
            );
            self.document
                .fault(stranger.key_place, &self.path(stranger.key), message, &help);
        }
    }
}

const EXAMPLE: &str = "write it as \"4.030 in\" or \"4.030 in +- 0.0005 in\"";

fn whole(value: &PlacedValue<'_>) -> Option<u32> {
    u32::try_from(value.integer()?).ok()
}

/// Cylinder numbers, where the value is a list of them.
pub(super) fn cylinders(value: &PlacedValue<'_>) -> Option<Vec<u32>> {
    value.list()?.iter().map(whole).collect()
}

fn describe(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text {text:?}"),
        DeValue::Integer(number) => format!("the number {number}"),
        DeValue::Float(number) => format!("the number {number}"),
        DeValue::Boolean(flag) => format!("{flag}"),
        other => format!("a value of type {}", other.type_str()),
    }
}
