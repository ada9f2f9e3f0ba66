//! The report of one stage.

use askama::Template;
use benchhand_blueprint::report::Report;

use crate::{Frame, Page};

#[derive(Template)]
#[template(path = "report.html")]
struct ReportPage<'a> {
    frame: &'a Frame,
    report: &'a Report,
    text: String,
}

/// The report that is read in ten seconds.
///
/// # Errors
/// A fault of the template.
pub fn report(frame: &Frame, report: &Report) -> Page {
    let job = frame.job.as_deref().unwrap_or_default();
    ReportPage {
        frame,
        report,
        text: benchhand_words::short_report(report, job),
    }
    .render()
}
