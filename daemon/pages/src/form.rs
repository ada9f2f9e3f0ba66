//! The forms of the requests that change something: the fields of each, and how a filled-in form
//! becomes the request.
//!
//! A form is described by data, so that the page, its conversion and the list of forms cannot
//! drift apart.

mod filled;
mod labels;
mod list;

pub use benchhand_blueprint::units::with_decimal_points as points;
pub use filled::{NotUsable, request_of};
pub use list::{FORMS, NO_FORM, form_of, of_gauges, of_jobs};

use askama::Template;
use benchhand_wire::Refusal;

use crate::{Page, PageFrame};

/// The form of one request.
#[derive(Debug, Clone, Copy)]
pub struct RequestForm {
    /// The request's path below `/v1/`.
    pub request: &'static str,
    /// What it does, as a heading and on the button.
    pub title: &'static str,
    /// What to know before it is sent, one or two sentences.
    pub about: &'static str,
    /// What to say once the request is done.
    pub done: &'static str,
    /// Where it is offered.
    pub at: OfferedAt,
    /// The fields in order.
    pub fields: &'static [FormField],
}

/// Where a form is offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OfferedAt {
    /// On a job's page.
    Job,
    /// On the page of the gauges.
    Gauges,
    /// Elsewhere, by a way of its own.
    Elsewhere,
}

/// One field of a form.
#[derive(Debug, Clone, Copy)]
pub struct FormField {
    /// The request's field; a dot parts a field inside a field, e.g. `setup.name`.
    pub name: &'static str,
    /// What a person reads beside it.
    pub label: &'static str,
    /// What helps to fill it in; empty where the label says all.
    pub help: &'static str,
    /// What may be filled in.
    pub kind: FieldKind,
    /// Whether it must be filled in.
    pub needed: bool,
}

/// What may be filled into a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FieldKind {
    /// One line of text; a number with its unit is text as well.
    Text,
    /// A number without a unit.
    Number,
    /// A whole number.
    Whole,
    /// Several lines of text, e.g. a file's.
    Lines,
    /// Words or numbers with blanks or commas between them.
    Words,
    /// Whole numbers with blanks or commas between them.
    Wholes,
    /// One of these: as the request has it, and as a person reads it.
    Choice(&'static [(&'static str, &'static str)]),
    /// Like [`FieldKind::Choice`], but the request holds a whole number.
    WholeChoice(&'static [(&'static str, &'static str)]),
    /// Yes or no.
    Tick,
    /// A line for each of several, its columns parted by commas: the columns' names in the request.
    Rows(&'static [&'static str]),
    /// A line for each of several: a name, `=`, and words.
    Lists,
    /// A line for each of several: a name, `=`, and another name.
    Pairs,
    /// Always this text; nobody fills it in.
    Always(&'static str),
}

/// What a form offers beside a field: names that are there.
#[derive(Debug, Clone, Default)]
pub struct OfferedNames {
    /// The field's name, and what it offers.
    pub names: Vec<(&'static str, Vec<String>)>,
}

impl OfferedNames {
    fn of(&self, field: &str) -> &[String] {
        let found = self.names.iter().find(|(name, _)| *name == field);
        found.map_or(&[], |(_, offered)| offered)
    }
}

/// The contents of a form's fields: names and values as a browser sends them.
pub type FilledFields = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "form.html")]
struct FormPage<'a> {
    frame: &'a PageFrame,
    form: &'a RequestForm,
    filled: &'a FilledFields,
    offers: &'a OfferedNames,
    key: &'a str,
    back: &'a str,
    refusal: Option<&'a Refusal>,
}

impl FieldKind {
    /// Whether it takes more than one line.
    fn is_long(self) -> bool {
        matches!(
            self,
            FieldKind::Lines | FieldKind::Rows(_) | FieldKind::Lists | FieldKind::Pairs
        )
    }
}

impl FormPage<'_> {
    /// What stands in a field.
    fn value(&self, field: &FormField) -> &str {
        let found = self.filled.iter().find(|(name, _)| name == field.name);
        found.map_or("", |(_, value)| value)
    }
}

/// A form. `key` makes a repeated sending count once; `back` is the page to go to afterwards;
/// `refusal` says why the last sending was refused.
///
/// # Errors
/// A fault of the template.
pub fn form(
    frame: &PageFrame,
    form: &RequestForm,
    filled: &FilledFields,
    offers: &OfferedNames,
    (key, back): (&str, &str),
    refusal: Option<&Refusal>,
) -> Page {
    let refusal = refusal.map(|refusal| form.refusal_in_labels(refusal));
    FormPage {
        frame,
        form,
        filled,
        offers,
        key,
        back,
        refusal: refusal.as_ref(),
    }
    .render()
}
