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
    CheckedGauge, CheckedLeak, CheckedPlate, CopiedJob, FIRST_STAGE, FittedPart, InputKind,
    OrderedParts, PartsCut, ReadingId, StatedCondition, ZeroedGauge,
};
pub use crate::store::kept_reading::{KeptReading, ReadingMove, ReadingState};
use crate::store::made::MadeOnce;
use crate::store::readings::JobReadings;
pub use crate::store::readings::ReadingCounts;
use crate::store::session::Sessions;
use crate::store::so_far::ChamberSoFar;
pub use crate::store::stamped::Stamped;
pub use crate::store::standing::RouteStanding;

/// A state of the parts, from one cut to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct JobStage {
    /// Its name.
    pub name: String,
    /// The number of the fact that opened it.
    pub seq: u64,
    /// When the stage was opened.
    pub at: Timestamp,
    /// The cut that opened it; `None` for the first stage.
    pub cut: Option<PartsCut>,
}

/// A text as it was loaded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoadedInput {
    /// The number of the fact.
    pub seq: u64,
    /// When the text was loaded.
    pub at: Timestamp,
    /// BLAKE3 of the content, in hexadecimal.
    pub hash: String,
    /// The text.
    pub content: String,
}

/// All that is known of one gauge in this job, oldest first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GaugeRecord {
    /// Every zero.
    pub zeros: Vec<Stamped<ZeroedGauge>>,
    /// Every check.
    pub checks: Vec<Stamped<CheckedGauge>>,
}

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
    pub(crate) stopped: bool,
    pub(crate) inputs: Arc<BTreeMap<(InputKind, String), Vec<LoadedInput>>>,
    pub(crate) stages: Arc<Vec<JobStage>>,
    pub(crate) readings: JobReadings,
    pub(crate) gauges: Arc<BTreeMap<String, GaugeRecord>>,
    pub(crate) plates: Arc<Vec<Stamped<CheckedPlate>>>,
    pub(crate) leaks: Arc<Vec<Stamped<CheckedLeak>>>,
    pub(crate) conditions: Arc<BTreeMap<String, Vec<Stamped<StatedCondition>>>>,
    pub(crate) fitted: Arc<BTreeMap<String, Stamped<FittedPart>>>,
    pub(crate) orders: Arc<Vec<Stamped<OrderedParts>>>,
    pub(crate) route: Option<RouteStanding>,
    pub(crate) so_far: Option<ChamberSoFar>,
    pub(crate) sessions: Sessions,
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
        let one = self.condition_of(name, reading)?;
        let from = one.what.since.unwrap_or(one.seq);
        let same = self.sessions.of(from) == self.sessions.of(reading);
        (same || one.seq > reading).then_some(one)
    }

    /// The sessions in which the job was worked on.
    #[must_use]
    pub fn sessions(&self) -> &Sessions {
        &self.sessions
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
        self.stopped
    }

    /// The engine file as it was last loaded.
    #[must_use]
    pub fn engine(&self) -> Option<&LoadedInput> {
        self.input(InputKind::Engine, "engine")
    }

    /// An input as it was last loaded.
    #[must_use]
    pub fn input(&self, kind: InputKind, name: &str) -> Option<&LoadedInput> {
        self.inputs.get(&(kind, name.to_owned()))?.last()
    }

    /// Every loading of every input, with its kind and name, oldest first within each.
    pub fn inputs(&self) -> impl Iterator<Item = (InputKind, &str, &[LoadedInput])> {
        self.inputs
            .iter()
            .map(|((kind, name), loads)| (*kind, name.as_str(), loads.as_slice()))
    }

    /// The stages, in order; never empty once the job is opened.
    #[must_use]
    pub fn stages(&self) -> &[JobStage] {
        &self.stages
    }

    /// The stage that the parts are in.
    #[must_use]
    pub fn stage(&self) -> &str {
        self.stages
            .last()
            .map_or(FIRST_STAGE, |stage| stage.name.as_str())
    }

    /// What is known of a gauge in this job.
    #[must_use]
    pub fn gauge(&self, name: &str) -> Option<&GaugeRecord> {
        self.gauges.get(name)
    }

    /// Every gauge that was zeroed or checked in this job.
    pub fn gauges(&self) -> impl Iterator<Item = (&str, &GaugeRecord)> {
        self.gauges
            .iter()
            .map(|(name, record)| (name.as_str(), record))
    }

    /// Every check of a metering orifice by a plate, oldest first.
    #[must_use]
    pub fn plates(&self) -> &[Stamped<CheckedPlate>] {
        &self.plates
    }

    /// Every leak of the flow bench, oldest first.
    #[must_use]
    pub fn leaks(&self) -> &[Stamped<CheckedLeak>] {
        &self.leaks
    }

    /// The conditions as they were last stated, by name.
    pub fn conditions(&self) -> impl Iterator<Item = (&str, &Stamped<StatedCondition>)> {
        self.conditions
            .iter()
            .filter_map(|(name, said)| Some((name.as_str(), said.last()?)))
    }

    /// The condition that holds for a reading: the latest one stated before the reading, or stated
    /// for readings from its number on.
    #[must_use]
    pub fn condition_of(
        &self,
        name: &str,
        reading: ReadingId,
    ) -> Option<&Stamped<StatedCondition>> {
        let said = self.conditions.get(name)?;
        let holds = |one: &&Stamped<StatedCondition>| one.what.since.unwrap_or(one.seq) <= reading;
        said.iter().rev().find(holds)
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

    /// The route that has begun and not ended.
    #[must_use]
    pub fn route(&self) -> Option<&RouteStanding> {
        self.route.as_ref()
    }

    /// What went into a chamber whose reading is not kept yet.
    #[must_use]
    pub fn so_far(&self) -> Option<&ChamberSoFar> {
        self.so_far.as_ref()
    }
}
