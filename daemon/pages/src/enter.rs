//! The page for a browser that was not let in yet.

use askama::Template;

use crate::Page;

#[derive(Template)]
#[template(path = "enter.html")]
struct EnterPage<'a> {
    why: &'a str,
    back: &'a str,
}

/// Asks for a code. `why` says why the last one was refused, empty before there was one; `back` is
/// the page that was asked for.
///
/// # Errors
/// A fault of the template.
pub fn enter(why: &str, back: &str) -> Page {
    EnterPage { why, back }.render()
}
