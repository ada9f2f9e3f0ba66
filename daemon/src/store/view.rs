//! The state of a job: its facts, folded.
//!
//! A view is held in memory and follows the journal fact by fact. It calculates no figure and
//! converts no unit. It knows only which readings count, at which spot, in which stage, and which
//! of them rest on a gauge that was found wrong. A copy of a view shares its parts with the
//! original, so that it costs the same for every job; a change of either leaves the other as it is.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::{
    CheckedLeak, CheckedPlate, CopiedJob, FittedPart, InputKind, OrderedParts, ReadingId,
    StatedCondition,
};
pub use crate::store::gauge_record::{GaugeRecord, LoadedInput};
use crate::store::held_journal::{is_ahead, micros};
use crate::store::kept_reading::ReadingPlace;
pub(crate) use crate::store::kept_reading::ReadingVoid;
pub use crate::store::kept_reading::{KeptReading, ReadingMove, ReadingState};
use crate::store::made::MadeOnce;
use crate::store::merged::{JournalParting, LastSaid, MergeNotes};
pub use crate::store::part::StationPart;
use crate::store::readings::JobReadings;
pub use crate::store::readings::ReadingCounts;
use crate::store::session::Sessions;
use crate::store::so_far::ChamberSoFar;
pub use crate::store::stages::{CutCorrection, JobStage};
pub use crate::store::stamped::Stamped;
pub use crate::store::standing::RouteStanding;
use crate::store::station::base_in;

/// The last line of a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JournalEnd {
    /// The number of the last fact, or of its last row where it is an import.
    pub seq: u64,
    /// The hash of its line, in hexadecimal.
    pub hash: String,
    /// When it was written.
    pub at: Timestamp,
}

/// A job, folded from its facts.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct JobView {
    pub(crate) name: String,
    pub(crate) title: Option<String>,
    pub(crate) opened: Option<Timestamp>,
    pub(crate) copy_of: Option<Arc<CopiedJob>>,
    pub(crate) head: Option<JournalEnd>,
    /// The engine file, whichever station loaded it.
    pub(crate) inputs: Arc<BTreeMap<(InputKind, String), Vec<LoadedInput>>>,
    pub(crate) stages: Arc<Vec<JobStage>>,
    /// Those and the ones whose cuts were taken back.
    pub(crate) opened_stages: Arc<Vec<JobStage>>,
    pub(crate) readings: JobReadings,
    pub(crate) fitted: Arc<BTreeMap<String, Stamped<FittedPart>>>,
    pub(crate) orders: Arc<Vec<Stamped<OrderedParts>>>,
    /// What belongs to this station.
    pub(crate) part: StationPart,
    /// What belongs to each of the others, by the number before its first one.
    pub(crate) others: Arc<BTreeMap<u64, StationPart>>,
    /// Which stations parted from others, each by the number before its first one.
    pub(crate) partings: Arc<BTreeMap<u64, JournalParting>>,
    /// What putting several journals together came to; `None` where there is one.
    pub(crate) merge: Option<Arc<MergeNotes>>,
    /// Where the fact stands that is being taken in, where several stations measure.
    pub(crate) saying: ReadingPlace,
    /// Where the last fact of all stations stands; `None` where there is one journal.
    pub(crate) last_said: Option<LastSaid>,
    pub(crate) made: MadeOnce,
}

impl JobView {
    /// Like [`JobView::condition_of`], for conditions that change from one session to the next.
    /// What was stated in an earlier session does not hold, unless it was stated later and for this
    /// reading.
    #[must_use]
    pub fn condition_in_session(
        &self,
        name: &str,
        reading: ReadingId,
    ) -> Option<&Stamped<StatedCondition>> {
        self.part_of(reading).condition_in_session(name, reading)
    }

    /// The sessions in which this station worked on the job.
    #[must_use]
    pub fn sessions(&self) -> &Sessions {
        &self.part.sessions
    }

    /// What belongs to this station.
    #[must_use]
    pub fn own(&self) -> &StationPart {
        &self.part
    }

    /// What belongs to each station, in an order that is the same at every station.
    pub fn parts(&self) -> impl Iterator<Item = &StationPart> {
        let before = self.others.range(..self.part.base);
        let after = self.others.range(self.part.base..);
        let before = before.map(|(_, part)| part);
        before
            .chain([&self.part])
            .chain(after.map(|(_, part)| part))
    }

    /// What belongs to the station that wrote the fact or reading of this number.
    #[must_use]
    pub fn part_of(&self, number: u64) -> &StationPart {
        match self.part.wrote(number) {
            true => &self.part,
            false => self.others.get(&base_in(number)).unwrap_or(&self.part),
        }
    }

    /// What putting the journals of several stations together came to; `None` where one alone has
    /// one.
    #[must_use]
    pub fn merge(&self) -> Option<&MergeNotes> {
        self.merge.as_deref()
    }

    /// The station whose facts stand so far ahead of `now` that its clock must have been wrong, and by
    /// how many microseconds; `None` where there is none.
    #[must_use]
    pub fn ahead_of(&self, now: Timestamp) -> Option<(&StationPart, u64)> {
        let last = self.last_said.filter(|last| is_ahead(last.stamp, now))?;
        Some((self.part_of(last.base + 1), last.stamp - micros(now)))
    }

    /// The job's name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What the job is, in the builder's words.
    #[must_use]
    pub fn title(&self) -> Option<&str> {
        self.title.as_deref()
    }

    /// The job of which it is a copy, as that one stood then.
    #[must_use]
    pub fn copy_of(&self) -> Option<&CopiedJob> {
        self.copy_of.as_deref()
    }

    /// When the job was opened.
    #[must_use]
    pub fn opened(&self) -> Option<Timestamp> {
        self.opened
    }

    /// The journal's last line.
    #[must_use]
    pub fn head(&self) -> Option<&JournalEnd> {
        self.head.as_ref()
    }

    /// Whether the last work on the job was stopped in good order.
    #[must_use]
    pub fn stopped_clean(&self) -> bool {
        self.part.stopped
    }

    /// The engine file as it was last loaded.
    #[must_use]
    pub fn engine(&self) -> Option<&LoadedInput> {
        self.input(InputKind::Engine, "engine")
    }

    /// An input as it was last loaded, by this station where it is no engine file. A gauge of another
    /// one is named with its station.
    #[must_use]
    pub fn input(&self, kind: InputKind, name: &str) -> Option<&LoadedInput> {
        let named = (kind, self.part.named(name).into_owned());
        if kind == InputKind::Engine {
            return self.inputs.get(&(kind, name.to_owned()))?.last();
        }
        self.parts()
            .find_map(|part| part.inputs.get(&named))?
            .last()
    }

    /// Every loading of every input, with its kind and name, oldest first within each.
    pub fn inputs(&self) -> impl Iterator<Item = (InputKind, &str, &[LoadedInput])> {
        let engine = std::iter::once(&self.inputs);
        let all = engine.chain(self.parts().map(|part| &part.inputs));
        all.flat_map(|inputs| inputs.iter())
            .map(|((kind, name), loads)| (*kind, name.as_str(), loads.as_slice()))
    }

    /// What is known of a gauge in this job: of this station's, or of one named with its station.
    #[must_use]
    pub fn gauge(&self, name: &str) -> Option<&GaugeRecord> {
        let name = self.part.named(name);
        self.parts().find_map(|part| part.gauges.get(name.as_ref()))
    }

    /// Every gauge that was zeroed or checked in this job, at any station.
    pub fn gauges(&self) -> impl Iterator<Item = (&str, &GaugeRecord)> {
        self.parts()
            .flat_map(|part| part.gauges.iter())
            .map(|(name, record)| (name.as_str(), record))
    }

    /// Every check of a metering orifice of this station by a plate, oldest first.
    #[must_use]
    pub fn plates(&self) -> &[Stamped<CheckedPlate>] {
        self.part.plates()
    }

    /// Every leak of this station's flow bench, oldest first.
    #[must_use]
    pub fn leaks(&self) -> &[Stamped<CheckedLeak>] {
        self.part.leaks()
    }

    /// The conditions as this station last stated them, by name.
    pub fn conditions(&self) -> impl Iterator<Item = (&str, &Stamped<StatedCondition>)> {
        self.part.conditions()
    }

    /// The condition that holds for a reading: the latest one stated before the reading, or stated
    /// for readings from its number on, at the station of the reading.
    #[must_use]
    pub fn condition_of(
        &self,
        name: &str,
        reading: ReadingId,
    ) -> Option<&Stamped<StatedCondition>> {
        self.part_of(reading).condition_of(name, reading)
    }

    /// The part that was last fitted at a position; an empty part means an empty position.
    #[must_use]
    pub fn fitted(&self, position: &str) -> Option<&Stamped<FittedPart>> {
        self.fitted.get(position)
    }

    /// Every position with what was last fitted there.
    pub fn all_fitted(&self) -> impl Iterator<Item = &Stamped<FittedPart>> {
        self.fitted.values()
    }

    /// The route that has begun at this station and not ended.
    #[must_use]
    pub fn route(&self) -> Option<&RouteStanding> {
        self.part.route.as_ref()
    }

    /// What went into a chamber whose reading is not kept yet.
    #[must_use]
    pub fn so_far(&self) -> Option<&ChamberSoFar> {
        self.part.so_far.as_ref()
    }
}
