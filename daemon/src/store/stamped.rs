//! A statement with the number and the time of its fact.

use jiff::Timestamp;

/// A statement with the number and the time of its fact.
#[derive(Debug, Clone, PartialEq)]
pub struct Stamped<T> {
    /// The number of the fact.
    pub seq: u64,
    /// When the fact was written.
    pub at: Timestamp,
    /// The statement.
    pub what: T,
}
