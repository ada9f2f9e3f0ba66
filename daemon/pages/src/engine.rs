//! The page on which an engine is stated: fields in the trade's order beside the file as text.
//!
//! Whatever was changed wins, in the fields or in the text: a field counts as changed where it
//! differs from the text that the page was shown with. What a value means is the blueprint's.

mod stated;
#[cfg(test)]
mod tests;

use askama::Template;
use benchhand_blueprint::engine::{AskedKind, FieldGroup, LAYOUTS};
use benchhand_wire::Refusal;

use crate::form::FilledFields;
use crate::{Page, PageFrame, address};
pub use stated::{EngineSheet, ShownField};

/// What the page of an engine is about.
#[derive(Debug, Clone)]
pub enum EngineOf {
    /// A job that is to be begun, with the name typed so far.
    NewJob(String),
    /// A job that is there; and the hash of the text in its folder.
    Job(String, String),
}

/// So many fields of a group that asks for more are named beside it.
const MOST_NAMED: usize = 4;

#[derive(Template)]
#[template(path = "engine.html")]
struct EnginePage<'a> {
    frame: &'a PageFrame,
    of: &'a EngineOf,
    sheet: &'a EngineSheet,
    key: &'a str,
    refusal: Option<&'a Refusal>,
}

impl EnginePage<'_> {
    fn here(&self) -> String {
        match self.of {
            EngineOf::NewJob(_) => address::NEW_JOB.to_owned(),
            EngineOf::Job(job, _) => address::of_job(job, "engine"),
        }
    }

    fn groups(&self) -> impl Iterator<Item = (FieldGroup, Vec<&ShownField>)> {
        FieldGroup::ALL.iter().map(|group| {
            let fields = self.sheet.fields.iter();
            (
                *group,
                fields.filter(|field| field.asked.group == *group).collect(),
            )
        })
    }

    /// Whether a group of fields stands open: the sizes of the block, free spots once there is one, and
    /// whatever has a fault.
    fn opens(&self, group: &FieldGroup, fields: &[&ShownField]) -> bool {
        let rest = |field: &&&ShownField| *group != FieldGroup::Layout || !field.is_first();
        let fault = fields
            .iter()
            .filter(rest)
            .any(|field| !field.fault.is_empty());
        // A free spot that was named just now is asked for the rest.
        let named = *group == FieldGroup::Free && fields.len() > 1;
        *group == FieldGroup::Block || named || fault
    }

    /// What is stated in a group, or what it asks for where nothing is.
    fn in_short(&self, group: &FieldGroup, fields: &[&ShownField]) -> String {
        let stated = fields.iter().filter(|field| !field.value.is_empty());
        let label = |field: &ShownField| field.asked.label.to_lowercase();
        let told = |field: &ShownField| {
            let unit = match field.value.ends_with(|last: char| last.is_ascii_digit()) {
                true => format!(" {}", field.unit),
                false => String::new(),
            };
            format!("{} {}{}", label(field), field.value, unit.trim_end())
        };
        let stated: Vec<String> = stated.map(|field| told(field)).collect();
        if !stated.is_empty() {
            return stated.join(", ");
        }
        if *group == FieldGroup::Free {
            return "what else is measured within limits, such as a spring's height".to_owned();
        }
        let mut asked: Vec<String> = fields.iter().map(|field| label(field)).collect();
        if asked.len() > MOST_NAMED {
            asked.truncate(MOST_NAMED);
            asked.push("…".to_owned());
        }
        asked.join(", ")
    }

    /// The faults that belong to no field.
    fn other_faults(&self) -> impl Iterator<Item = &String> {
        self.sheet.faults.iter()
    }
}

/// The page. `key` makes a repeated sending count once; `refusal` says why what was sent was
/// refused.
///
/// # Errors
/// A fault of the template.
pub fn engine(
    frame: &PageFrame,
    of: &EngineOf,
    sheet: &EngineSheet,
    key: &str,
    refusal: Option<&Refusal>,
) -> Page {
    EnginePage {
        frame,
        of,
        sheet,
        key,
        refusal,
    }
    .render()
}

/// The sheet of a text, with nothing changed.
pub fn sheet_of(text: &str) -> EngineSheet {
    EngineSheet::of(&vec![
        ("base".to_owned(), text.to_owned()),
        ("text".to_owned(), text.to_owned()),
    ])
}

/// The sheet of what was filled in.
pub fn sheet_filled(filled: &FilledFields) -> EngineSheet {
    EngineSheet::of(filled)
}
