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
         put another file in its place; close that, keep a copy of the file, and open the job \
         again",
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
         that and open the job again",
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
    /// The fact cannot be written as JSON.
    #[error("the fact cannot be written as JSON: {0}")]
    Unwritable(#[from] serde_json::Error),
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
