//! Which station takes part in a job.

use serde::{Deserialize, Serialize};

use crate::store::station::{JobId, StationId};

/// A station takes part in a job that began at another one, or in a job of its own since it joined a
/// shop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct JoinedStation {
    /// The job's identity.
    pub job: JobId,
    /// The station whose journal this is.
    pub station: StationId,
    /// By what the station is named to people: a letter that the shop gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub letter: Option<String>,
    /// From whose journal this one parted; `None` where it parted from none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parted: Option<PartedFrom>,
}

/// From whose journal a journal parted, as two machines ran from copies of one data folder.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartedFrom {
    /// The station that goes on with that journal.
    pub from: StationId,
    /// The last number there that both share.
    pub seq: u64,
}
