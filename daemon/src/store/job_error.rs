//! The result of a request to a job: an acknowledgement, or the reason why nothing was kept.

use std::path::PathBuf;
use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::ReadingId;
use crate::store::journal_error::JournalError;
use crate::store::misfit::Misfit;
use crate::store::station_fault::StationFault;
use benchhand_files::FileError;

/// The longest key of a request, in bytes.
pub(crate) const LONGEST_KEY: usize = 200;

/// The job did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum JobError {
    /// The fact does not fit what is known.
    #[error(transparent)]
    Misfit(#[from] Misfit),
    /// The record would not take it.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The disk refused.
    #[error(transparent)]
    Files(#[from] FileError),
    /// A key that was used for another fact.
    #[error(
        "the write key {key:?} was used before for another fact, number {seq}; \
         give each request a key of its own"
    )]
    KeyReused {
        /// The key.
        key: String,
        /// The fact that it was used for.
        seq: u64,
    },
    /// A key that cannot be one.
    #[error("the write key has {0} bytes; expected 1 to {LONGEST_KEY}")]
    BadKey(usize),
    /// What was written together with it was not kept, for this reason.
    #[error("{0}")]
    Together(Arc<JobError>),
    /// What is in line is being written by another.
    #[error("the journal is being written; try again")]
    Writing,
    /// Lines of a shop's journals do not fit.
    #[error(transparent)]
    Station(#[from] StationFault),
    /// The engine file is not text.
    #[error("{} is not UTF-8 text; save it as UTF-8", .0.display())]
    NotText(PathBuf),
}

/// The acknowledgement that a fact is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ack {
    /// The number of the fact: the reading's number, or that of an import's first row.
    pub seq: u64,
    /// How many numbers the fact took, 1 for all but an import.
    pub numbers: u64,
    /// When it was written.
    pub at: Timestamp,
    /// Whether the request was a repetition: then nothing was written now.
    pub repeated: bool,
    /// The readings that the fact touched; none for a repetition.
    pub touched: Vec<ReadingId>,
}
