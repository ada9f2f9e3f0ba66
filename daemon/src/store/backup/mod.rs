//! The whole data folder in one file, and the folder made of it again.
//!
//! Unlike the archive of a job, a backup is never held in memory: it is written and read entry by
//! entry, of which the record of one job is the largest that is looked at as a whole. Where the file
//! lies and who asks for it is not known here.

pub(crate) mod manifest;
pub mod progress;
mod read;
pub(crate) mod restore;
pub(crate) mod write;
