//! Jobs: opening, listing, showing, cuts, reports, verification.

use serde::{Deserialize, Serialize};

use crate::route::RouteProgress;
use crate::shop::RouteElsewhere;
use crate::{Ask, Carry, Figure};

/// Opens a job from an engine file.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct NewJob {
    /// The job's name, which becomes its folder's name.
    pub name: String,
    /// The engine file's text.
    pub engine: String,
    /// The engine file's name, for messages.
    pub file: String,
}

/// What a list shows of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JobSummary {
    /// The job's name.
    pub name: String,
    /// The engine's name.
    pub engine: String,
    /// When it was opened, RFC 3339.
    pub opened: String,
    /// When something was last kept, RFC 3339.
    pub changed: String,
    /// The present stage.
    pub stage: String,
    /// Readings that count: neither voided nor superseded.
    pub readings: usize,
    /// The job's folder.
    pub folder: String,
    /// What was not measured yet at the present stage, in words; only where jobs are listed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lacks: Vec<String>,
    /// What is wrong with the job's record, where that is known; only where jobs are listed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub damage: Option<String>,
}

/// A job whose record cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct UnreadableJob {
    /// The job's name.
    pub name: String,
    /// Why, and what to do.
    pub why: String,
}

/// For whom a job is, what its parts are marked with, and who measures. What is not said is absent.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct CardShown {
    /// Whose engine it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    /// The number of the order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order: Option<String>,
    /// What the block is marked with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub block: Option<String>,
    /// What the head on each bank is marked with, by the bank's name.
    #[serde(skip_serializing_if = "std::collections::BTreeMap::is_empty")]
    pub heads: std::collections::BTreeMap<String, String>,
    /// Initials of who measures.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_by: Option<String>,
}

impl Ask for NewJob {
    const PATH: &'static str = "jobs/new";
    const CARRY: Carry = Carry::Change;
    type Answer = JobSummary;
}

/// Asks for all jobs, or for those that have readings at a spot.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Jobs {
    /// Only jobs with a reading whose spot begins so, e.g. `chamber/`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spot: Option<String>,
}

/// The jobs found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JobList {
    /// Newest change first.
    pub jobs: Vec<JobSummary>,
    /// The jobs whose record cannot be read, in the order of their names.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unreadable: Vec<UnreadableJob>,
}

impl Ask for Jobs {
    const PATH: &'static str = "jobs";
    const CARRY: Carry = Carry::Question;
    type Answer = JobList;
}

/// Of which job a job is a copy, as that one stood then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CopyOf {
    /// The job's name.
    pub job: String,
    /// The number of its last fact at that time.
    pub seq: u64,
    /// The hash of its last line at that time, in hexadecimal.
    pub hash: String,
}

/// Asks for all that is known of a job.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ShowJob {
    /// The job's name.
    pub job: String,
}

/// All that is known of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JobDetail {
    /// The summary.
    pub summary: JobSummary,
    /// The job of which it is a copy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub copy_of: Option<CopyOf>,
    /// The units that its engine is told in, `inch` or `metric`; absent where its engine file cannot
    /// be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub units: Option<String>,
    /// The job card.
    #[serde(default)]
    pub card: CardShown,
    /// The stages in order.
    pub stages: Vec<StageInfo>,
    /// Cuts that were taken back.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub taken_back: Vec<CutTakenBack>,
    /// Every reading, voided ones too, in the order of taking.
    pub readings: Vec<ShownReading>,
    /// The route that runs or stands half-way, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub route: Option<RouteProgress>,
    /// Routes of other stations of the shop on this job.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub elsewhere: Vec<RouteElsewhere>,
    /// What opening the job found amiss, e.g. a torn last line that was set aside.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// One stage of the parts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StageInfo {
    /// Its name.
    pub name: String,
    /// When it began, RFC 3339.
    pub since: String,
    /// What was cut to open it; empty for the first.
    pub cut: String,
    /// The quantities the cut changed, e.g. `chamber`.
    pub changes: Vec<String>,
    /// The only cylinders that it was done at; all where empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cylinders: Vec<u32>,
    /// How deep it went, as it was kept; absent where that was not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<String>,
    /// Why what was said of the cut was corrected; absent where it was not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corrected: Option<String>,
}

/// A cut that was taken back: its stage is none any more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CutTakenBack {
    /// The name of the stage that it had opened.
    pub stage: String,
    /// What was said to be cut.
    pub cut: String,
    /// When it was taken back, RFC 3339.
    pub at: String,
    /// Why.
    pub reason: String,
    /// Initials of who took it back, where they are known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// A reading as it is shown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShownReading {
    /// The entry of the job's record that it is.
    pub id: u64,
    /// Its number for people: its count among the readings of its station, from 1. A reading that
    /// takes another one's place has that one's number.
    pub number: u64,
    /// By what its station is named where several measure: `A`, so that the reading is `A12`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub station: String,
    /// The spot it belongs to now.
    pub spot: String,
    /// The stage it was taken at.
    pub stage: String,
    /// `held`, `final`, `asked` (not kept before it is answered for), `voided` or `superseded`.
    pub state: String,
    /// The value; `u` is the reading's own, where one was given.
    pub figure: Figure,
    /// What the gauge itself showed, in the unit of the figure or its own, where it differs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw: Option<Figure>,
    /// The gauge, where one is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// `captured`, `typed` or `imported`.
    pub source: String,
    /// The round it was taken in, from 1.
    pub round: u32,
    /// When it was kept, RFC 3339.
    pub at: String,
    /// Samples in the decision window, where captured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u64>,
    /// Standard deviation inside the window: how still the gauge was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// How long the decision window was, in seconds, where captured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window_s: Option<f64>,
    /// Further parts of the reading, e.g. `metering` pressure.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<(String, Figure)>,
    /// The value in the unit in which the engine or the free spot is told, to the digits of its gauge,
    /// where that is another unit than the one it is kept in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub told: Option<Figure>,
    /// The further parts in the units in which the engine is told, where one of them is another.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub told_parts: Vec<(String, Figure)>,
    /// Initials of who took it, where they are known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// Why it was voided, moved or marked.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl ShownReading {
    /// Its number as people say it.
    #[must_use]
    pub fn said_number(&self) -> String {
        crate::reading::said_number(&self.station, self.number)
    }

    /// The value as people read it.
    #[must_use]
    pub fn as_told(&self) -> &Figure {
        self.told.as_ref().unwrap_or(&self.figure)
    }

    /// The further parts as people read them.
    #[must_use]
    pub fn parts_as_told(&self) -> &[(String, Figure)] {
        match self.told_parts.is_empty() {
            true => &self.parts,
            false => &self.told_parts,
        }
    }
}

impl Ask for ShowJob {
    const PATH: &'static str = "jobs/show";
    const CARRY: Carry = Carry::Question;
    type Answer = JobDetail;
}

/// Asks for a job's report.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct JobReport {
    /// The job's name.
    pub job: String,
    /// The stage to report on; the present one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
}

// Its shape is the blueprint's, which this package does not know.
/// A report.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReportAnswer {
    /// The document that `report --json` prints.
    pub document: serde_json::Value,
    /// When the last reading of the stage that counts was kept, RFC 3339.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<String>,
}

impl Ask for JobReport {
    const PATH: &'static str = "jobs/report";
    const CARRY: Carry = Carry::Question;
    type Answer = ReportAnswer;
}

/// Asks for a check of a job's whole chain.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct VerifyJob {
    /// The job's name.
    pub job: String,
}

/// What the check of the chain found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Verified {
    /// The lines of the journal.
    pub lines: u64,
    /// The hash of the last line.
    pub head: String,
    /// The first line that does not fit the chain, with the reason.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub broken: Option<String>,
    /// Bytes at the end that a write left which never ended and was never acknowledged.
    #[serde(default, skip_serializing_if = "is_none_of_them")]
    pub torn: u64,
    /// The damage that was accepted before.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub accepted: Vec<String>,
}

fn is_none_of_them(count: &u64) -> bool {
    *count == 0
}

/// Accepts the damage of a job's record: the job goes on without what is missing.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AcceptDamage {
    /// The job's name.
    pub job: String,
    /// Why the record goes on without what is missing.
    pub reason: String,
}

/// The damage that was accepted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DamageAccepted {
    /// Each, in words; none where the record is sound.
    pub damage: Vec<String>,
}

impl Ask for AcceptDamage {
    const PATH: &'static str = "jobs/accept-damage";
    const CARRY: Carry = Carry::Change;
    type Answer = DamageAccepted;
}

impl Ask for VerifyJob {
    const PATH: &'static str = "jobs/verify";
    const CARRY: Carry = Carry::Question;
    type Answer = Verified;
}
