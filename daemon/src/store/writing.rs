//! Facts in line to be written: those that come together share a write and a sync.
//!
//! A fact that fits gets its number and its place in line at once, and those behind it are held
//! against it. None of them is acknowledged before its lines are on the disk. What is in line is
//! written together and kept or refused together; where it is refused, everything behind it is too,
//! and the job is what it was before.

use std::collections::BTreeMap;
use std::sync::Arc;

use benchhand_files::Files;

use crate::store::anchor::Anchor;
use crate::store::job_error::JobError;
use crate::store::journal::{Journal, JournalError, NewLine};
use crate::store::merged::SaidFact;
use crate::store::view::JobView;

/// The most lines that are written together: enough for everybody who writes at once.
pub(super) const MOST: usize = 256;

/// A place in line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct WritingPlace(pub(super) u64);

/// The facts of a job that are in line to be written.
#[derive(Debug)]
pub(super) struct WritingLine {
    /// `None` while a batch is being written.
    pub(super) journal: Option<Journal>,
    pub(super) next_seq: u64,
    /// The number of the last fact that was kept.
    pub(super) kept_seq: u64,
    /// How many bytes of the journal are kept.
    pub(super) kept_len: u64,
    /// Of one of several stations: the facts that are being written and those that wait.
    pub(super) said: Vec<SaidFact>,
    /// The job as of its last acknowledged fact.
    pub(super) kept: JobView,
    pub(super) waiting: Vec<Waiting>,
    /// The place of the last fact that was put in line.
    pub(super) last: u64,
    /// The place of the last fact of which it is known whether it was kept.
    pub(super) decided: u64,
    pub(super) refused: BTreeMap<u64, Arc<JobError>>,
}

/// A fact in line.
#[derive(Debug)]
pub(super) struct Waiting {
    pub(super) line: NewLine,
    /// The job with this fact.
    pub(super) view: JobView,
}

/// Facts that are being written.
#[derive(Debug)]
pub struct WritingBatch {
    pub(super) journal: Option<Journal>,
    pub(super) lines: Vec<NewLine>,
    /// The job with all of them.
    pub(super) view: JobView,
    pub(super) last: u64,
    pub(super) written: Result<(), JournalError>,
}

impl WritingLine {
    pub(super) fn new(journal: Journal, kept: JobView) -> Self {
        Self {
            next_seq: journal.next_seq(),
            kept_seq: journal.next_seq() - 1,
            kept_len: journal.kept_len(),
            said: Vec::new(),
            journal: Some(journal),
            kept,
            waiting: Vec::new(),
            last: 0,
            decided: 0,
            refused: BTreeMap::new(),
        }
    }

    /// How the journal ends; `None` while lines are being written.
    pub(super) fn anchor(&self) -> Option<Anchor> {
        let journal = self.journal.as_ref()?;
        Some(Anchor {
            seq: self.kept_seq,
            hash: journal.last_hash().to_owned(),
        })
    }

    /// The journal's lines that are kept.
    ///
    /// # Errors
    /// When the disk refuses, or lines are being written.
    pub(super) fn kept_bytes(&self, files: &dyn Files) -> Result<Vec<u8>, JobError> {
        let journal = self.journal.as_ref().ok_or(JobError::Writing)?;
        Ok(journal.kept_bytes(files)?)
    }

    /// Whether something else wrote to the journal.
    pub(super) fn is_foreign(&self) -> bool {
        self.journal.as_ref().is_some_and(Journal::is_foreign)
    }
}

impl WritingBatch {
    /// Writes the lines and syncs them.
    pub fn write(&mut self) {
        if let Some(journal) = &mut self.journal {
            self.written = journal.append(&self.lines);
        }
    }
}
