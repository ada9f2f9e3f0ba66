//! What a browser sees where a page cannot be shown.

use askama::Template;
use benchhand_wire::Refusal;

use crate::{Frame, Page};

#[derive(Template)]
#[template(path = "refused.html")]
struct RefusedPage<'a> {
    frame: &'a Frame,
    refusal: &'a Refusal,
}

/// A refusal as a page.
///
/// # Errors
/// A fault of the template.
pub fn refused(frame: &Frame, refusal: &Refusal) -> Page {
    RefusedPage { frame, refusal }.render()
}
