//! What a store is opened for: reading, or writing under the data folder's lock.

use std::time::Duration;

/// How long to wait for another writer, unless the caller states another time.
pub const WAIT_FOR_LOCK: Duration = Duration::from_secs(3);

/// Whether a store is opened for reading or for writing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Access {
    /// For reading: needs no lock and changes nothing.
    Read,
    /// For writing: takes the data folder's lock.
    Write {
        /// What the caller does, in a person's words; named to others who want to write.
        what: String,
        /// How long to wait for another writer.
        wait: Duration,
    },
}

impl Access {
    /// For writing, waiting [`WAIT_FOR_LOCK`] for another writer.
    #[must_use]
    pub fn write(what: impl Into<String>) -> Self {
        Access::Write {
            what: what.into(),
            wait: WAIT_FOR_LOCK,
        }
    }
}
