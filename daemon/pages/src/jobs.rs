//! The list of jobs.

use askama::Template;
use benchhand_wire::{JobList, JobSummary, UnreadableJob};

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "jobs.html")]
struct JobsPage<'a> {
    frame: &'a PageFrame,
    jobs: &'a [JobSummary],
    unreadable: &'a [UnreadableJob],
}

/// All jobs, newest change first, and the way to begin one.
///
/// # Errors
/// A fault of the template.
pub fn jobs(frame: &PageFrame, list: &JobList) -> Page {
    JobsPage {
        frame,
        jobs: &list.jobs,
        unreadable: &list.unreadable,
    }
    .render()
}
