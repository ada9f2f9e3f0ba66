//! How far a backup is, which may take its time.

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
