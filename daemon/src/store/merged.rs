//! What is known of the facts of several stations when they are put together: in which order they
//! stand, what their stations are called, and what came of those that did not know of each other.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::{Fact, ReadingId};
use crate::store::station::{FactRef, StationId};

/// A fact of one of several stations, as its line says it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SaidFact {
    /// Where it stands: whole microseconds since 1970, never less than those of the line before.
    pub(crate) stamp: u64,
    /// The station that wrote it.
    pub(crate) station: StationId,
    /// Its number in that station's journal.
    pub(crate) seq: u64,
    pub(crate) at: Timestamp,
    /// What it rests on, as its station knew it.
    pub(crate) on: Option<FactRef>,
    /// The station of the fact that it names, where that is another.
    pub(crate) of_station: Option<StationId>,
    /// With the numbers of its journal.
    pub(crate) fact: Arc<Fact>,
}

impl SaidFact {
    /// The order of all facts of a job, the same at every station.
    pub(crate) fn order(&self) -> (u64, &StationId, u64) {
        (self.stamp, &self.station, self.seq)
    }
}

/// What a station is in a job.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StationRole {
    /// The number before its first one in a view.
    pub(crate) base: u64,
    /// By what people name it; empty where one station alone measures.
    pub(crate) label: Arc<str>,
    /// Its identity.
    pub(crate) station: StationId,
}

/// The stations of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct StationCast(pub(crate) BTreeMap<StationId, StationRole>);

impl StationCast {
    pub(crate) fn role(&self, station: &StationId) -> Option<&StationRole> {
        self.0.get(station)
    }

    /// The number in a view of a fact that a line of `own` names.
    pub(crate) fn number(&self, named: &FactRef, own: &StationId) -> Option<u64> {
        let role = self.role(named.station.as_ref().unwrap_or(own))?;
        Some(role.base + named.seq)
    }
}

/// Where the last fact of all stations stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct LastSaid {
    /// Its stamp: whole microseconds since 1970.
    pub(crate) stamp: u64,
    /// The number before the first one of the station that wrote it.
    pub(crate) base: u64,
}

/// Where a station's journal parted from another one's, in the numbers of a view.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct JournalParting {
    /// The last number that both share.
    pub(crate) last: u64,
    /// By what the station of that number is named.
    pub(crate) label: Arc<str>,
    /// The checks that the station's journal repeats, each with the one that it repeats.
    pub(crate) repeats: BTreeMap<u64, u64>,
}

/// What came of facts that did not know of each other, where a person is to look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StationFinding {
    /// Two cuts opened a stage each, and neither knew of the other.
    TwoCuts {
        /// The number of the stage before.
        first: u64,
        /// The number of the stage that follows now.
        second: u64,
    },
    /// A cut was taken back or corrected at two stations, differently; the later one holds.
    TwoCorrections {
        /// The number of the cut.
        stage: u64,
    },
    /// A cut was taken back at one station while another one measured in its stage.
    MeasuredWhereNoCutWas {
        /// The number of the cut.
        stage: u64,
    },
    /// Two engine files were loaded, and neither knew of the other; the later one holds.
    TwoEngines {
        /// The number of the one that does not hold.
        first: u64,
        /// The number of the one that holds.
        second: u64,
    },
    /// A reading was moved to two spots; the later one holds.
    TwoMoves {
        /// The reading.
        reading: ReadingId,
        /// Where it would lie by the first.
        first: String,
        /// Where it lies.
        second: String,
    },
    /// A reading was taken back at one station and revised at another; the revision stands.
    VoidedAndRevised {
        /// The reading that was taken back.
        reading: ReadingId,
    },
    /// A reading was revised at two stations; the later revision stands.
    TwoRevisions {
        /// The reading that both replace.
        reading: ReadingId,
    },
    /// A reading was made final at one station and revised at another; the revision stands.
    RevisedAfterFinal {
        /// The reading that was made final.
        reading: ReadingId,
    },
    /// A reading was restored at one station and taken back at another; it does not count.
    RestoredAndVoided {
        /// The reading.
        reading: ReadingId,
    },
}

/// What putting the journals of several stations together came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MergeNotes {
    pub(crate) findings: Vec<StationFinding>,
    /// Facts that name one that has not come yet.
    pub(crate) waiting: Vec<SaidFact>,
    /// Facts that say what no station of this version would have written.
    pub(crate) refused: usize,
    /// The stations of which lines are held that a newer program wrote, each with how many.
    pub(crate) not_understood: Vec<(String, u64)>,
}

impl MergeNotes {
    /// Where a person is to look.
    #[must_use]
    pub fn findings(&self) -> &[StationFinding] {
        &self.findings
    }

    /// How many facts wait for another one that has not come.
    #[must_use]
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    /// How many facts say what no station of this version would have written.
    #[must_use]
    pub fn refused(&self) -> usize {
        self.refused
    }

    /// The stations of which lines are held that a newer program wrote, each by its letter or some
    /// digits, with how many. What those lines say is not in the view.
    #[must_use]
    pub fn not_understood(&self) -> &[(String, u64)] {
        &self.not_understood
    }

    pub(crate) fn find(&mut self, finding: StationFinding) {
        if !self.findings.contains(&finding) {
            self.findings.push(finding);
        }
    }
}
