//! One job: its stages, its route, and the ways on.

use askama::Template;
use benchhand_wire::{JobDetail, RouteInfo};

use crate::{Frame, Page, address};

#[derive(Template)]
#[template(path = "job.html")]
struct JobPage<'a> {
    frame: &'a Frame,
    job: &'a JobDetail,
    routes: &'a [RouteInfo],
}

/// One job. `routes` are those that can be begun.
///
/// # Errors
/// A fault of the template.
pub fn job(frame: &Frame, job: &JobDetail, routes: &[RouteInfo]) -> Page {
    JobPage { frame, job, routes }.render()
}
