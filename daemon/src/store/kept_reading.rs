//! A reading as it stands now, and whether it counts.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;

use crate::capture::CaptureMode;
use crate::store::reading::{ReadingId, ReadingPart, ReadingSource, StreamAt};

/// Whether a reading counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadingState {
    /// The reading is shown and counts, but may still be revised.
    Held,
    /// The reading counts for good.
    Final,
    /// The value is kept safe while a person is asked about it; it does not count.
    Asked,
    /// Another reading replaced it.
    Superseded {
        /// The reading that replaced it.
        by: ReadingId,
    },
    /// A person took the reading back.
    Voided {
        /// The reason.
        reason: String,
        /// Initials of that person, where they are known.
        by: Option<String>,
    },
}

impl ReadingState {
    /// Whether the reading counts.
    #[must_use]
    pub fn is_live(&self) -> bool {
        matches!(self, ReadingState::Held | ReadingState::Final)
    }

    /// Whether another one took its place.
    pub(crate) fn is_superseded(&self) -> bool {
        matches!(self, ReadingState::Superseded { .. })
    }

    /// Whether it was taken back.
    pub(crate) fn is_voided(&self) -> bool {
        matches!(self, ReadingState::Voided { .. })
    }
}

/// Where a reading stands among those of all stations: its stamp, and its station's rank among those
/// of the job. Of a job that one station alone measures all have the same, and the number decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct ReadingPlace(pub(crate) u64, pub(crate) usize);

/// A reading as it stands now.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptReading {
    /// Where it stands among those of all stations; the same for all where one station alone measures.
    pub(crate) place: ReadingPlace,
    /// The entry of the record that the reading is, for ever.
    pub id: ReadingId,
    /// The reading's number for people: its count among the readings of the job, from 1. A reading
    /// that takes another one's place has that one's number.
    pub number: u64,
    /// By what the station that measured it is named to people; empty where one alone measures.
    pub station: Arc<str>,
    /// The reading's spot, after all moves.
    pub spot: String,
    /// The reading's stage.
    pub stage: String,
    /// The number of the stage in which it was taken, whether that one still stands or not.
    pub(crate) opened_in: u64,
    /// The value, in `unit`.
    pub value: f64,
    /// The unit of `value`, `u` and `sd`.
    pub unit: String,
    /// What the gauge itself showed, in `raw_unit`.
    pub raw: Option<f64>,
    /// The unit that the gauge sent.
    pub raw_unit: Option<String>,
    /// Standard uncertainty, in `unit`; `None` where nothing is known.
    pub u: Option<f64>,
    /// The gauge's name.
    pub gauge: Option<String>,
    /// Whether it counts.
    pub state: ReadingState,
    /// When its line was written.
    pub at: Timestamp,
    /// Which repeat of the whole set-up, counted from 1.
    pub round: Option<u32>,
    /// How many samples are behind the value.
    pub n: Option<u32>,
    /// How still the gauge was, in `unit`.
    pub sd: Option<f64>,
    /// How long the window of its samples was, in seconds.
    pub window_s: Option<f64>,
    /// How the value was captured.
    pub mode: Option<CaptureMode>,
    /// Where the value came from.
    pub source: ReadingSource,
    /// A remark.
    pub note: Option<String>,
    /// Initials of who took it, where they are known.
    pub by: Option<String>,
    /// Further values measured at the same time.
    pub parts: Vec<ReadingPart>,
    /// Further facts in words.
    pub labels: BTreeMap<String, String>,
    /// The place in the gauge's recorded stream.
    pub stream: Option<StreamAt>,
    /// The reading that this one replaced.
    pub supersedes: Option<ReadingId>,
    /// The reading's moves, oldest first.
    pub moves: Vec<ReadingMove>,
    /// The facts by which it was taken back and not restored since.
    pub(crate) voids: Vec<ReadingVoid>,
    /// Why the reading is in doubt: its gauge failed a later check.
    pub marked: Option<String>,
}

impl KeptReading {
    /// What puts readings into the order in which they were taken, at whichever station.
    #[must_use]
    pub fn order(&self) -> (ReadingPlace, ReadingId) {
        (self.place, self.id)
    }

    /// The reading's number as people say it: with its station where several measure.
    #[must_use]
    pub fn said_number(&self) -> String {
        let letters = self.station.chars().all(|c| c.is_ascii_uppercase());
        match letters {
            true => format!("{}{}", self.station, self.number),
            false => format!("{}-{}", self.station, self.number),
        }
    }
}

/// A fact by which a reading was taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ReadingVoid {
    /// The number of the fact.
    pub(crate) seq: u64,
    /// The reason.
    pub(crate) reason: String,
    /// Initials of who took it back, where they are known.
    pub(crate) by: Option<String>,
}

/// A move of a reading to another spot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingMove {
    /// The number of the fact.
    pub seq: u64,
    /// When the reading was moved.
    pub at: Timestamp,
    /// The spot before.
    pub from: String,
    /// The spot after.
    pub to: String,
    /// The reason.
    pub reason: String,
    /// Initials of who moved it, where they are known.
    pub by: Option<String>,
}
