//! Takes in a job that was packed into one file.

use askama::Template;
use benchhand_wire::Refusal;

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "unpack.html")]
struct UnpackPage<'a> {
    frame: &'a PageFrame,
    key: &'a str,
    name: &'a str,
    refusal: Option<&'a Refusal>,
}

/// The page. `key` makes a repeated sending count once; `name` is what was typed as the name of a copy;
/// `refusal` says why a file was refused.
///
/// # Errors
/// A fault of the template.
pub fn unpack(frame: &PageFrame, key: &str, name: &str, refusal: Option<&Refusal>) -> Page {
    UnpackPage {
        frame,
        key,
        name,
        refusal,
    }
    .render()
}
