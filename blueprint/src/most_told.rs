//! How many faults of one text are told.

/// How many faults of one text are told; the others are counted. A person corrects a few and asks
/// again.
pub const MOST_TOLD: usize = 20;
