//! Where a route stands.

use std::sync::Arc;

use crate::store::fact::RouteStarted;

/// A route that has begun and not ended.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteStanding {
    /// The fact that began it.
    pub started: Arc<RouteStarted>,
    /// The number of the fact that began it.
    pub seq: u64,
    /// The stop that is next, counted from 0.
    pub stop: u32,
    /// The round, counted from 1.
    pub round: u32,
    /// The stops that were passed over, counted from 0.
    pub skipped: Vec<u32>,
    /// The number of the fact by which a person went back to a stop that has its reading.
    pub went_back: Option<u64>,
}

impl RouteStanding {
    /// The stop that is next.
    #[must_use]
    pub fn at(&self) -> usize {
        usize::try_from(self.stop).unwrap_or(usize::MAX)
    }

    /// Whether a stop was passed over.
    #[must_use]
    pub fn passed(&self, stop: usize) -> bool {
        self.skipped
            .iter()
            .any(|&one| usize::try_from(one) == Ok(stop))
    }
}
