//! What was measured over many jobs: a gauge's history, engines like one, the readings of a spot.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry, Figure, JobSummary};

/// How repeats of one quantity scatter under one gauge: each spot in each stage about its own
/// mean, pooled. Readings that do not count, marked ones and flow are left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GaugeScatter {
    /// The quantity: the first word of its spots, e.g. `chamber`.
    pub quantity: String,
    /// Repeatability: the pooled standard deviation of one reading, in `unit`.
    pub sd: f64,
    /// The unit of `sd`.
    pub unit: String,
    /// Degrees of freedom: readings less sets of repeats.
    pub dof: u64,
    /// How many sets of at least two readings of a spot in one stage.
    pub sets: u64,
}

/// A check that a gauge went through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PastCheck {
    /// The job in whose journal it is kept.
    pub job: String,
    /// The number of the fact there.
    pub id: u64,
    /// When it was kept, RFC 3339.
    pub at: String,
    /// Which of the gauge's channels, counted from 0.
    pub channel: u8,
    /// What it was held against.
    pub against: String,
    /// What it was found off by, of several comparisons the largest; `u` is `null` where nobody
    /// stated it.
    pub error: Figure,
    /// What was allowed, in the unit of the error, where it is kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allow: Option<f64>,
    /// Whether it passed; absent where nothing was judged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passed: Option<bool>,
    /// How many comparisons it rests on.
    pub comparisons: u64,
}

/// A gauge's history in short, as a list shows it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GaugeInShort {
    /// In how many jobs it measured or was checked.
    pub jobs: u64,
    /// How many readings that count it gave, or a part of.
    pub readings: u64,
    /// How its repeats scatter over all jobs, by quantity.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scatter: Vec<GaugeScatter>,
    /// Its last check.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_check: Option<PastCheck>,
}

/// Asks for all that the jobs tell of one gauge.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct GaugeHistory {
    /// The gauge's name; it need not be in the register any more.
    pub name: String,
}

/// All that the jobs tell of one gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GaugeHistoryAnswer {
    /// The gauge's name.
    pub name: String,
    /// All jobs taken together.
    pub in_short: GaugeInShort,
    /// Job by job, the one that used it first before the others.
    pub jobs: Vec<GaugeInJob>,
    /// Every check, oldest first.
    pub checks: Vec<PastCheck>,
}

/// What a gauge measured in one job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GaugeInJob {
    /// The job.
    pub job: String,
    /// How many readings that count it gave, or a part of.
    pub readings: u64,
    /// When the first of them was kept, RFC 3339; absent where there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first: Option<String>,
    /// When the last of them was kept, RFC 3339.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last: Option<String>,
    /// How its repeats scatter, by quantity.
    pub scatter: Vec<GaugeScatter>,
    /// How many of its checks are kept in this job.
    pub checks: u64,
    /// How many of them failed.
    pub failed: u64,
}

impl Ask for GaugeHistory {
    const PATH: &'static str = "gauges/history";
    const CARRY: Carry = Carry::Question;
    type Answer = GaugeHistoryAnswer;
}

/// Asks for the jobs whose engines are like that of one job.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct JobsLike {
    /// The job's name.
    pub job: String,
}

/// What engines are compared by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Sizes {
    /// How many cylinders each bank has.
    pub banks: Vec<usize>,
    /// Bore, in the unit of the asked job's engine.
    pub bore: Option<Figure>,
    /// Stroke, in the same unit.
    pub stroke: Option<Figure>,
    /// The chamber volume that it should have, where it is stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chamber: Option<Figure>,
}

/// The jobs whose engines are like that of one job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JobsLikeAnswer {
    /// The asked job's engine.
    pub sizes: Sizes,
    /// How far apart the sizes may be to be listed, as a share.
    pub within: f64,
    /// How many more are as near, and not listed.
    pub more: u64,
    /// The nearest first.
    pub jobs: Vec<LikeJob>,
}

/// A job with an engine like another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LikeJob {
    /// The job.
    pub summary: JobSummary,
    /// Its engine.
    pub sizes: Sizes,
    /// The measure of nearness: the largest difference among bore, stroke and nominal chamber
    /// (where both state one), as a share of the asked engine's; 0 is alike.
    pub apart: f64,
    /// Its figures by the names that the report gives them, such as `compression_mean`, of the
    /// stage that its parts are in; what was not measured is left out.
    pub figures: Vec<(String, Figure)>,
}

impl Ask for JobsLike {
    const PATH: &'static str = "jobs/like";
    const CARRY: Carry = Carry::Question;
    type Answer = JobsLikeAnswer;
}

/// Asks for every reading that counts at a spot, over all jobs.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ReadingsAt {
    /// The spot, or the beginning of several, e.g. `chamber/3` or `chamber/`.
    pub spot: String,
}

/// Every reading that counts at a spot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReadingsAtAnswer {
    /// In the order in which they were kept.
    pub readings: Vec<ReadingOfJob>,
}

/// A reading of some job, in short.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReadingOfJob {
    /// The job.
    pub job: String,
    /// The reading's number in the job's journal.
    pub id: u64,
    /// The spot it belongs to now.
    pub spot: String,
    /// The stage it was taken at.
    pub stage: String,
    /// The value; `u` is the reading's own, where one was given.
    pub figure: Figure,
    /// The gauge, where one is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// When it was kept, RFC 3339.
    pub at: String,
    /// Whether its gauge failed a check later.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub marked: bool,
}

impl Ask for ReadingsAt {
    const PATH: &'static str = "readings/at";
    const CARRY: Carry = Carry::Question;
    type Answer = ReadingsAtAnswer;
}
