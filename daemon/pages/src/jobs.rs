//! The list of jobs.

use askama::Template;
use benchhand_wire::{JobList, JobSummary, ShopShown, UnreadableJob};

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "jobs.html")]
struct JobsPage<'a> {
    frame: &'a PageFrame,
    jobs: &'a [JobSummary],
    unreadable: &'a [UnreadableJob],
    /// The shop, where this station belongs to one.
    shop: Option<&'a ShopShown>,
}

/// All jobs, newest change first, and the way to begin one. A station of a shop also shows how it
/// stands there.
///
/// # Errors
/// A fault of the template.
pub fn jobs(frame: &PageFrame, list: &JobList, shop: &ShopShown) -> Page {
    JobsPage {
        frame,
        jobs: &list.jobs,
        unreadable: &list.unreadable,
        shop: shop.address.is_some().then_some(shop),
    }
    .render()
}
