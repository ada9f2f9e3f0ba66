//! The list of jobs.

use askama::Template;
use benchhand_wire::{JobList, JobSummary};

use crate::{Frame, Page, address};

#[derive(Template)]
#[template(path = "jobs.html")]
struct JobsPage<'a> {
    frame: &'a Frame,
    jobs: &'a [JobSummary],
}

/// All jobs, newest change first, and the way to begin one.
///
/// # Errors
/// A fault of the template.
pub fn jobs(frame: &Frame, list: &JobList) -> Page {
    JobsPage {
        frame,
        jobs: &list.jobs,
    }
    .render()
}
