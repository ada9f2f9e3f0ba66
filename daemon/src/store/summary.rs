//! Jobs in one line each.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::store::error::StoreError;
use crate::store::line::NO_LINE;
use crate::store::view::JobView;

/// One line about a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct JobSummary {
    /// The job's name.
    pub name: String,
    /// What the job is, in the builder's words.
    pub title: Option<String>,
    /// When it was opened.
    pub opened: Option<Timestamp>,
    /// When its last fact was written.
    pub last: Option<Timestamp>,
    /// The number of its last fact.
    pub seq: u64,
    /// The hash of its journal's last line, in hexadecimal.
    pub hash: String,
    /// The stage that the parts are in.
    pub stage: String,
    /// How many readings count, over all stages.
    pub readings: usize,
    /// How many of them are marked.
    pub marked: usize,
    /// What is wrong with its record, where that was seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub damage: Option<String>,
}

impl JobSummary {
    /// The line about a job.
    #[must_use]
    pub fn of(view: &JobView) -> Self {
        let counts = view.counts();
        let head = view.head();
        Self {
            name: view.name().to_owned(),
            title: view.title().map(str::to_owned),
            opened: view.opened(),
            last: head.map(|head| head.at),
            seq: head.map_or(0, |head| head.seq),
            hash: head.map_or_else(|| NO_LINE.to_owned(), |head| head.hash.clone()),
            stage: view.stage().to_owned(),
            readings: counts.live,
            marked: counts.marked,
            damage: None,
        }
    }

    /// The same, with what is wrong with the record.
    #[must_use]
    pub fn with_damage(self, damage: Option<String>) -> Self {
        Self { damage, ..self }
    }
}

/// Every job of a store.
#[derive(Debug, Default)]
pub struct JobList {
    /// Those that can be read, in the order of their names.
    pub jobs: Vec<JobSummary>,
    /// Those that cannot, with the reason.
    pub unreadable: Vec<(String, StoreError)>,
}
