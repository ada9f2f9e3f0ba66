//! What a person is told about an index and its journals.

/// A message for a person about an index and its journals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// The index on disk could not be used and was begun anew; the old one was set aside.
    BegunAnew {
        /// Why.
        reason: String,
    },
    /// The index on disk cannot be used at all; one in memory takes its place.
    InMemory {
        /// Why.
        reason: String,
    },
    /// A job's journal ends before a fact that the index had been told of.
    Shortened {
        /// The job.
        job: String,
        /// The number of the last fact that was known.
        known: u64,
        /// The number of the last fact that is there.
        found: u64,
    },
    /// A job that the index knew no longer exists.
    Gone {
        /// The job.
        job: String,
    },
}
