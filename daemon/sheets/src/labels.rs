//! Labels: one for each chamber, to be cut out and tied to the head.

use askama::Template;
use benchhand_blueprint::Figure;
use benchhand_words::digits::{rounded, usual_decimals};
use benchhand_words::stated::half_width;

use crate::Sheet;
use crate::facts::SheetFacts;
use crate::frame::{STYLE, SheetFrame};

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
    let decimals = usual_decimals(figure.unit.symbol());
    let width = half_width(figure).map_or("± ?".to_owned(), |width| {
        format!("± {}", rounded(width, decimals))
    });
    (
        format!("{} {}", rounded(figure.value, decimals), figure.unit),
        width,
    )
}
