//! The whole data folder in one file, and the folder made of it again.
//!
//! Unlike the archive of a job, a backup is never held in memory: it is written and read entry by
//! entry, of which the record of one job is the largest that is looked at as a whole. Where the file
//! lies and who asks for it is not known here.

pub(crate) mod manifest;
mod read;
mod restore;
mod write;

pub(crate) use restore::restore;
pub(crate) use write::back_up;

/// How far a long work is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BackupProgress<'a> {
    /// Bytes that are done.
    pub done: u64,
    /// Bytes in all, as far as that is known.
    pub total: u64,
    /// What is being done, e.g. a file's name.
    pub doing: &'a str,
}

/// How many bytes of a file are in memory at a time.
const CHUNK: usize = 1 << 20;
