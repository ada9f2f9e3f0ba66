//! Whether a job's record is whole, and what its recorded streams give anew.

use askama::Template;
use benchhand_wire::{Recomputed, Verified};
use benchhand_words::record::{awaited, recomputed, verified};
use benchhand_words::told::{ToldPart, ToldText};

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "record.html")]
struct RecordPage<'a> {
    frame: &'a PageFrame,
    job: &'a str,
    verified: String,
    broken: bool,
    recomputed: Option<ToldText>,
    /// Whether another station's answer is on the way.
    awaited: bool,
}

impl RecordPage<'_> {
    fn may_ask(&self) -> bool {
        self.recomputed.is_none() || self.awaited
    }

    fn asks(&self) -> &'static str {
        match self.awaited {
            true => "Look whether the other station has answered",
            false => "Compute the readings again from their recorded streams",
        }
    }

    fn worded(&self, text: &str) -> String {
        text.to_owned()
    }
}

/// What the check of the record found; `again` where its readings were computed again.
///
/// # Errors
/// A fault of the template.
pub fn record(frame: &PageFrame, found: &Verified, again: Option<&Recomputed>) -> Page {
    let job = frame.job.as_deref().unwrap_or_default();
    RecordPage {
        frame,
        job,
        verified: verified(job, found),
        broken: found.broken.is_some(),
        recomputed: again.map(recomputed),
        awaited: again.is_some_and(awaited),
    }
    .render()
}
