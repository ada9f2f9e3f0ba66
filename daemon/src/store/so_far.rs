//! What the present chamber of a route holds already.

use serde::{Deserialize, Serialize};

use crate::capture::PourSoFar;

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
