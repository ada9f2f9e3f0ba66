//! Why a record cannot be read or written.

use std::path::PathBuf;

use crate::store::line::LineFault;
use benchhand_files::FileError;

/// Something is wrong with the record.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// The fact was not kept.
    #[error("not kept: {0}")]
    NotKept(#[source] FileError),
    /// An earlier append failed, and its remains could not be removed.
    #[error("not kept: the journal still ends in what an earlier failure left, and {0}")]
    Unsound(#[source] FileError),
    /// The journal's file has fewer bytes than were acknowledged.
    #[error(
        "{} has {found} bytes, but {acknowledged} were written: something else shortened it or \
         put another file in its place; close that, keep a copy of the file, restore it, and try again",
        .path.display()
    )]
    Shortened {
        /// The journal.
        path: PathBuf,
        /// How long it is.
        found: u64,
        /// How long it should be.
        acknowledged: u64,
    },
    /// Something else wrote to the journal.
    #[error(
        "{} has {found} bytes where {expected} are expected: something else writes to it; close \
         that and try again",
        .path.display()
    )]
    Foreign {
        /// The journal.
        path: PathBuf,
        /// How long it is.
        found: u64,
        /// How long it should be.
        expected: u64,
    },
    /// The disk refused.
    #[error(transparent)]
    Files(#[from] FileError),
    /// A line is damaged.
    #[error(
        "{0}; nothing is written to a damaged record: restore the file from a copy, or accept \
         the damage and go on without that line"
    )]
    Damaged(Box<LineDamage>),
    /// The record as a whole is not what was kept.
    #[error(transparent)]
    Record(#[from] RecordFault),
    /// The fact cannot be written as JSON.
    #[error("the fact cannot be written as JSON: {0}")]
    Unwritable(#[from] serde_json::Error),
}

/// What is wrong with a record as a whole.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RecordFault {
    /// No fact is there.
    #[error("{} is empty; restore the file from a copy", .path.display())]
    Empty {
        /// The journal.
        path: PathBuf,
    },
    /// The folder of one job has the journal of another.
    #[error(
        "{} is the record of job {found:?}, in the folder of job {expected:?}; restore the record \
         of {expected:?} from a copy, or call the folder {found:?}",
        .path.display()
    )]
    OfAnother {
        /// The journal.
        path: PathBuf,
        /// The job that the record names.
        found: String,
        /// The job that the folder names.
        expected: String,
    },
    /// Facts that were kept are missing at the end.
    #[error(
        "{} ends with fact {found}, and {known} were kept: its end is missing; restore the file \
         from a copy, or accept the damage and go on without them",
        .path.display()
    )]
    CutShort {
        /// The journal.
        path: PathBuf,
        /// The number of the last fact that is there.
        found: u64,
        /// The number of the last fact that was kept.
        known: u64,
        /// The hash of the line that ended the record.
        hash: String,
    },
    /// Another record stands where this job's was.
    #[error(
        "{} is not the record that was kept here: its fact {known} is another one; restore the \
         file from a copy, or accept the damage and go on with this record",
        .path.display()
    )]
    Replaced {
        /// The journal.
        path: PathBuf,
        /// The number of the last fact that was kept.
        known: u64,
        /// The hash of the line that ended the record.
        hash: String,
    },
}

impl RecordFault {
    /// The hash by which a later fact accepts it; `None` where no fact can.
    pub(crate) fn accepted_by(&self) -> Option<&str> {
        match self {
            RecordFault::Empty { .. } | RecordFault::OfAnother { .. } => None,
            RecordFault::CutShort { hash, .. } | RecordFault::Replaced { hash, .. } => Some(hash),
        }
    }
}

/// A damaged line: it differs from what was once written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("line {line} of {} is damaged: {fault}", .path.display())]
pub struct LineDamage {
    /// The journal.
    pub path: PathBuf,
    /// The line, counted from 1.
    pub line: usize,
    /// What is wrong with it.
    pub fault: LineFault,
    /// BLAKE3 of its bytes as they were found, in hexadecimal.
    pub hash: String,
}
