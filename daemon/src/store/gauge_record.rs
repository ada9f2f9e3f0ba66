//! What is known of a gauge in a job, and of a text that was loaded.

use jiff::Timestamp;

use crate::store::fact::{CheckedGauge, ZeroedGauge};
use crate::store::stamped::Stamped;

/// A text as it was loaded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoadedInput {
    /// The number of the fact.
    pub seq: u64,
    /// When the text was loaded.
    pub at: Timestamp,
    /// BLAKE3 of the content, in hexadecimal.
    pub hash: String,
    /// The text.
    pub content: String,
}

/// All that is known of one gauge in this job, oldest first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GaugeRecord {
    /// Every zero.
    pub zeros: Vec<Stamped<ZeroedGauge>>,
    /// Every check.
    pub checks: Vec<Stamped<CheckedGauge>>,
}
