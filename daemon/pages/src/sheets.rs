//! The sheets of a job: each is opened in the browser, and printed from there.

use askama::Template;
use benchhand_blueprint::report::OrderedReport;
use benchhand_wire::OrderShown;
use benchhand_words::ordered::{TypedSize, line, section};
use benchhand_words::told::{ToldPart, ToldText};

use crate::decide::question_of;
use crate::form::FormField;
use crate::{Page, PageFrame, address};

/// A sheet as the page offers it.
struct OfferedSheet {
    name: &'static str,
    title: &'static str,
    about: &'static str,
    /// The question whose fields it is opened with; empty where it has none.
    question: &'static str,
    /// The fields of that question that this page asks for.
    fields: &'static [&'static str],
}

/// The sheets on offer. The text of each says who reads it.
const OFFERED: [OfferedSheet; 5] = [
    OfferedSheet {
        name: "build",
        title: "Build sheet",
        about: "For the customer: one page with every cylinder, and one with what it rests on.",
        question: "",
        fields: &[],
    },
    OfferedSheet {
        name: "flow",
        title: "Flow sheet",
        about: "For the customer: each port over lift, before and after.",
        question: "",
        fields: &[],
    },
    OfferedSheet {
        name: "order",
        title: "Piston order",
        about: "For the piston maker: dome or dish with its tolerance, and what it rests on.",
        question: "dome",
        fields: &["ratio", "ratio_tolerance"],
    },
    OfferedSheet {
        name: "work",
        title: "Work order",
        about: "For the machine shop, head by head: chambers to open, then the cut.",
        question: "mill",
        fields: &["ratio", "chamber", "area", "most"],
    },
    OfferedSheet {
        name: "labels",
        title: "Labels",
        about: "One for each chamber, with its volume.",
        question: "",
        fields: &[],
    },
];

impl OfferedSheet {
    fn asked(&self) -> Vec<&'static FormField> {
        let form = question_of(self.question);
        let all = form.iter().flat_map(|form| form.fields);
        all.filter(|field| self.fields.contains(&field.name))
            .collect()
    }
}

#[derive(Template)]
#[template(path = "sheets.html")]
struct SheetsPage<'a> {
    frame: &'a PageFrame,
    job: &'a str,
    sheets: &'a [OfferedSheet],
    orders: Vec<String>,
    beside: ToldText,
    to_order: String,
}

/// The sheets of a job, and the ordered sizes beside what was measured since. `sizes` are the sizes
/// that an order's sheet would order now.
///
/// # Errors
/// A fault of the template.
pub fn sheets(
    frame: &PageFrame,
    orders: &[OrderShown],
    beside: &[OrderedReport],
    sizes: &[TypedSize],
) -> Page {
    let rows = sizes.iter().map(|one| match &one.tolerance {
        None => format!("{}, {}", one.part, one.value),
        Some(tolerance) => format!("{}, {}, {tolerance}", one.part, one.value),
    });
    SheetsPage {
        frame,
        job: frame.job.as_deref().unwrap_or_default(),
        sheets: &OFFERED,
        orders: orders.iter().map(line).collect(),
        beside: section(beside).unwrap_or_default(),
        to_order: rows.collect::<Vec<_>>().join("\n"),
    }
    .render()
}

impl SheetsPage<'_> {
    /// The form that enters an order, filled in with what the sheet would order now.
    fn entering(&self) -> String {
        let back = address::of_job(self.job, "sheets");
        let filled = [("job", self.job), ("parts", &self.to_order)];
        address::form("jobs/order", &back, &filled)
    }
}
