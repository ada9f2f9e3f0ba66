//! One job: its stages, its route, and the ways on.

use askama::Template;
use benchhand_wire::{JobDetail, RouteInfo};

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "job.html")]
struct JobPage<'a> {
    frame: &'a PageFrame,
    job: &'a JobDetail,
    routes: Vec<&'a RouteInfo>,
}

/// The routes in the order in which the work goes on: the heads, the block and its parts, both
/// together, the flow (common practice, no source).
const ORDER: [&str; 14] = [
    "chambers",
    "chambers-balanced",
    "seats",
    "runners",
    "bores",
    "stroke",
    "crowns",
    "deck",
    "deck-sides",
    "gasket",
    "valve-gaps",
    "flow",
    "flow-exhaust",
    "flow-runners",
];

/// Where a route stands in the work; a route of the shop's own comes last.
fn turn(route: &RouteInfo) -> usize {
    let at = ORDER.iter().position(|name| *name == route.name);
    at.unwrap_or(ORDER.len())
}

/// One job. `routes` are those that can be begun.
///
/// # Errors
/// A fault of the template.
pub fn job(frame: &PageFrame, job: &JobDetail, routes: &[RouteInfo]) -> Page {
    let mut routes: Vec<&RouteInfo> = routes.iter().collect();
    routes.sort_by_key(|route| turn(route));
    JobPage { frame, job, routes }.render()
}
