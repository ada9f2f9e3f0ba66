//! The report that is read in ten seconds: averages and spreads, what to do next, a row a cylinder,
//! what to check, and what the figures leave out.
//!
//! At most 80 columns. It says nothing that the long report does not say as well.

mod averages;
mod check;
mod cylinders;
mod flow;
mod next;
mod spots;

use benchhand_blueprint::Unit;
use benchhand_blueprint::report::Report;

pub use next::next_steps;

use crate::digits::rounded;
use crate::rows::wrapped;

/// Columns of the short report.
pub(crate) const WIDTH: usize = 80;
/// Lines of the short report for up to eight cylinders.
const LINES: usize = 40;

/// What the document does not say.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct About {
    /// The job's name; empty for a report of files.
    pub job: String,
}

/// The short report, with a line end after each line.
pub fn short_report(report: &Report, about: &About) -> String {
    let mut parts: Vec<Vec<String>> = vec![
        heading(report, about),
        averages::lines(report),
        next::lines(report, &about.job),
        cylinders::lines(report),
        flow::lines(report),
    ];
    let last = ending(report);
    let so_far: usize = parts.iter().chain([&last]).map(|part| part.len() + 1).sum();
    // What does not fit is named by its number; the long report has it.
    let room = LINES.saturating_sub(so_far + 1).max(4);
    parts.push(check::lines(report, &about.job, room));
    parts.push(last);
    let parts = parts.into_iter().filter(|part| !part.is_empty());
    let parts: Vec<String> = parts.map(|part| part.join("\n")).collect();
    parts.join("\n\n") + "\n"
}

fn heading(report: &Report, about: &About) -> Vec<String> {
    let mut title = Vec::new();
    if !about.job.is_empty() {
        title.push(format!("Job {}", about.job));
    }
    let invented = if report.invented { " (INVENTED)" } else { "" };
    title.push(format!("{}{invented}", report.engine));
    if let Some(displacement) = &report.summary.displacement {
        let cc = displacement.unit.to_base(displacement.value);
        let inches = Unit::CubicInch.from_base(cc);
        title.push(format!(
            "{} cu in ({} cc)",
            rounded(inches, 0),
            rounded(cc, 0)
        ));
    }
    title.push(report.stage.clone());
    wrapped("", &title.join(", "), WIDTH)
}

/// What the ± covers and leaves out, and the cautions.
fn ending(report: &Report) -> Vec<String> {
    let mut lines = wrapped("", &covers(report), WIDTH);
    let cautions = report.cautions.iter();
    lines.extend(cautions.flat_map(|caution| wrapped("CAUTION  ", caution, WIDTH)));
    lines
}

const COVERS: &str = "Each ± covers 95 %; ? marks what is less sure than that.";

/// What is left out is named once, at most three of it.
fn covers(report: &Report) -> String {
    const NAMED: usize = 3;
    let figures = report.cylinders.iter();
    let figures = figures.flat_map(|one| [&one.chamber, &one.deck, &one.compression]);
    let mut lacking: Vec<&str> = Vec::new();
    for words in figures.flatten().flat_map(|figure| &figure.lacking) {
        if !lacking.contains(&words.as_str()) {
            lacking.push(words);
        }
    }
    let more = lacking.len().saturating_sub(NAMED);
    lacking.truncate(NAMED);
    match (lacking.is_empty(), more) {
        (true, _) => COVERS.to_owned(),
        (false, 0) => format!("{COVERS} Not in it: {}.", lacking.join("; ")),
        (false, more) => format!(
            "{COVERS} Not in it: {}; and {more} more.",
            lacking.join("; ")
        ),
    }
}
