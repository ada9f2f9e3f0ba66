//! Of which job a job is a copy.

use serde::{Deserialize, Serialize};

/// A job as it stood when it was copied.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CopiedJob {
    /// Its name.
    pub job: String,
    /// The number of its last fact at that time.
    pub seq: u64,
    /// The hash of its last line at that time, in hexadecimal.
    pub hash: String,
}
