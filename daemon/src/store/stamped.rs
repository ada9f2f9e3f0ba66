//! What was said, with the number and the time of its fact.

use jiff::Timestamp;

/// Something with the number and the time of its fact.
#[derive(Debug, Clone, PartialEq)]
pub struct Stamped<T> {
    /// The number of the fact.
    pub seq: u64,
    /// When.
    pub at: Timestamp,
    /// What was said.
    pub what: T,
}
