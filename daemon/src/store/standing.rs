//! Where a route stands, and what its present chamber holds already.

use serde::{Deserialize, Serialize};

use crate::capture::PourSoFar;
use crate::store::fact::RouteStarted;

/// What went into a chamber of a running route before its reading is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChamberSoFar {
    /// The chamber.
    pub spot: String,
    /// The round, counted from 1.
    pub round: u32,
    /// The gauge that measures it.
    pub gauge: String,
    /// What came so far; `None` once that does not hold any more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub poured: Option<PourSoFar>,
}

/// A route that has begun and not ended.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteStanding {
    /// The fact that began it.
    pub started: RouteStarted,
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
