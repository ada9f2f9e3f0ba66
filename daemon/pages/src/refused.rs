//! What a browser sees where a page cannot be shown.

use askama::Template;
use benchhand_wire::Refusal;

use crate::{Page, PageFrame};

#[derive(Template)]
#[template(path = "refused.html")]
struct RefusedPage<'a> {
    frame: &'a PageFrame,
    refusal: &'a Refusal,
}

/// A refusal as a page.
///
/// # Errors
/// A fault of the template.
pub fn refused(frame: &PageFrame, refusal: &Refusal) -> Page {
    RefusedPage { frame, refusal }.render()
}
