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

pub use spots::not_measured;

use benchhand_blueprint::Unit;
use benchhand_blueprint::engine::JobCard;
use benchhand_blueprint::report::Report;

use crate::digits::rounded;
use crate::rows::wrapped;

/// Columns of the short report.
pub(crate) const WIDTH: usize = 80;
/// Lines of the short report for up to eight cylinders.
const LINES: usize = 40;

/// The short report, with a line end after each line. `job` is the job's name, empty for a report of
/// files.
pub fn short_report(report: &Report, job: &str) -> String {
    let mut parts: Vec<Vec<String>> = vec![
        heading(report, job),
        averages::lines(report),
        next::lines(report, job),
        cylinders::lines(report),
        flow::lines(report),
    ];
    let last = ending(report);
    let so_far: usize = parts.iter().chain([&last]).map(|part| part.len() + 1).sum();
    // What does not fit is named by its number; the long report has it.
    let room = LINES.saturating_sub(so_far + 1).max(4);
    parts.push(check::lines(report, job, room));
    parts.push(last);
    let parts = parts.into_iter().filter(|part| !part.is_empty());
    let parts: Vec<String> = parts.map(|part| part.join("\n")).collect();
    parts.join("\n\n") + "\n"
}

fn heading(report: &Report, job: &str) -> Vec<String> {
    let mut title = Vec::new();
    if !job.is_empty() {
        title.push(format!("Job {job}"));
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
    let mut lines = wrapped("", &title.join(", "), WIDTH);
    let card = card(&report.card);
    if !card.is_empty() {
        lines.extend(wrapped("", &card.join(", "), WIDTH));
    }
    lines
}

/// The job card, entry by entry.
fn card(card: &JobCard) -> Vec<String> {
    let heads = card
        .heads
        .iter()
        .map(|(bank, mark)| match card.heads.len() {
            1 => format!("head {mark}"),
            _ => format!("head {mark} on bank {bank}"),
        });
    let named = |name: &str, value: &Option<String>| value.as_ref().map(|v| format!("{name} {v}"));
    let first = [
        named("Customer:", &card.customer),
        named("order", &card.order),
        named("block", &card.block),
    ];
    let last = named("measured by", &card.measured_by);
    first
        .into_iter()
        .flatten()
        .chain(heads)
        .chain(last)
        .collect()
}

/// What the ± covers and leaves out, and the cautions.
fn ending(report: &Report) -> Vec<String> {
    let mut lines = wrapped("", &covers(report), WIDTH);
    let cautions = report.cautions.iter();
    lines.extend(cautions.flat_map(|caution| wrapped("CAUTION  ", caution, WIDTH)));
    lines
}

const COVERS: &str = "Each ± covers 95 %; ? marks what is less sure than that.";

/// What is left out is named once, as far as it fits into two lines.
fn covers(report: &Report) -> String {
    let figures = report.cylinders.iter();
    let figures = figures.flat_map(|one| [&one.chamber, &one.deck, &one.compression]);
    let mut lacking: Vec<&str> = Vec::new();
    for words in figures.flatten().flat_map(|figure| &figure.lacking) {
        if !lacking.contains(&words.as_str()) {
            lacking.push(words);
        }
    }
    let told = |named: usize| match (named, lacking.len() - named) {
        (0, 0) => COVERS.to_owned(),
        (0, all) => format!("{COVERS} Not in it: {all} things that --full names."),
        (named, 0) => format!("{COVERS} Not in it: {}.", lacking[..named].join("; ")),
        (named, more) => format!(
            "{COVERS} Not in it: {}; and {more} more.",
            lacking[..named].join("; ")
        ),
    };
    let fits = |named: &usize| wrapped("", &told(*named), WIDTH).len() <= 2;
    told((0..=lacking.len()).rev().find(fits).unwrap_or(0))
}
