//! Why lines of a shop's journals were not taken in.

use crate::store::station::{JobId, StationId};

/// Why lines of a station's journal were not taken in.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StationFault {
    /// The data folder never joined a shop.
    #[error("this data folder is no station of a shop; join one first")]
    NoStation,
    /// The identity cannot be one.
    #[error("{0:?} is no identity of a job or a station")]
    BadIdentity(String),
    /// There is no such job here.
    #[error("no job here has the identity {0}")]
    NoJob(JobId),
    /// The journal of that station is not held.
    #[error("no journal of the station {station} is held for this job")]
    NoJournal {
        /// The station.
        station: StationId,
    },
    /// Lines are missing before those that came.
    #[error("line {found} came, and line {expected} is the next one; send the lines between first")]
    Gap {
        /// The number of the next line.
        expected: u64,
        /// The number that came.
        found: u64,
    },
    /// Another line stands at that number.
    #[error(
        "line {number} of the station {station} is another one here; one of the two was changed"
    )]
    Forked {
        /// The station.
        station: StationId,
        /// The line.
        number: u64,
    },
    /// The line is not what was once written, or does not follow on the one before.
    #[error("line {number} of the station {station} is not as it was written, or not the next one")]
    NotSound {
        /// The station.
        station: StationId,
        /// The line.
        number: u64,
    },
    /// The journal is another job's or another station's.
    #[error("the journal of the station {station} does not begin as one of this job")]
    OfAnother {
        /// The station.
        station: StationId,
    },
    /// The journal that opens the job has to come first.
    #[error("the journal that opens the job {0} has not come yet; send it first")]
    NotOpened(JobId),
    /// The own journal is another station's.
    #[error(
        "this job's own journal was written by the station {station}, and this data folder is \
         another one; it is one station's alone"
    )]
    OtherStation {
        /// The station that wrote it.
        station: StationId,
    },
    /// These are this station's own lines.
    #[error("the station {station} is this one; its own lines are taken back, not taken in")]
    Own {
        /// The station.
        station: StationId,
    },
}
