//! Labels: one for each chamber, to be cut out and tied to the head.

use askama::Template;
use benchhand_blueprint::Figure;
use benchhand_words::digits::{rounded, usual_decimals};
use benchhand_words::stated::{half_width, width_told};

use crate::Sheet;
use crate::facts::SheetFacts;
use crate::frame::{STYLE, SheetFrame};
use crate::sizes::told_to;

#[derive(Template)]
#[template(path = "labels.html")]
struct LabelSheet<'a> {
    frame: SheetFrame<'a>,
    engine: &'a str,
    stage: &'a str,
    labels: Vec<Label<'a>>,
}

/// A label.
struct Label<'a> {
    cylinder: u32,
    head: &'a str,
    /// The volume; `None` where it was not measured.
    volume: Option<(String, String)>,
}

/// The labels.
///
/// # Errors
/// A fault of the template.
pub fn labels(facts: &SheetFacts<'_>) -> Sheet {
    let report = facts.report;
    let heads = &report.card.heads;
    LabelSheet {
        frame: SheetFrame::new("Labels", facts),
        engine: &report.engine,
        stage: &report.stage,
        labels: report
            .cylinders
            .iter()
            .map(|one| Label {
                cylinder: one.cylinder,
                head: heads.get(&one.bank).map_or("", String::as_str),
                volume: one.chamber.as_ref().map(volume),
            })
            .collect(),
    }
    .render()
}

/// A volume with its unit, and its ±.
fn volume(figure: &Figure) -> (String, String) {
    let width = half_width(figure);
    let decimals = told_to(width, usual_decimals(figure.unit.symbol()));
    let value = rounded(figure.value, decimals);
    let width = width.map_or("?".to_owned(), |width| width_told(width, decimals));
    (format!("{value} {}", figure.unit), format!("± {width}"))
}
