//! What an index holds of a job besides its readings: its engine, the checks of its gauges, and the
//! scatter of their repeats.

use std::collections::{BTreeMap, BTreeSet};

use benchhand_blueprint::stats::sum_of_squares;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::rows::ReadingRow;
use crate::store::fact::CheckedGauge;
use crate::store::summary::JobSummary;
use crate::store::view::{JobView, Stamped};

/// The first word of the spots of pressures. Pressures follow the flow bench's test pressure, so
/// their scatter is not the gauge's.
const FLOW: &str = "flow";

/// The first word of a free spot, which is measured under its own name.
const FREE: &str = "free/";

/// How to make what an index holds of a job and the store itself does not understand. The code that
/// opens the store supplies it.
#[derive(Debug, Clone, Copy)]
pub struct Digests {
    /// Makes from an engine file what the engine is found by; `None` for a file that cannot be
    /// used.
    pub engine: fn(&str) -> Option<Value>,
    /// Makes the figures of a job.
    pub figures: fn(&JobView) -> Value,
}

impl Default for Digests {
    fn default() -> Self {
        Self {
            engine: |_| None,
            figures: |_| Value::Null,
        }
    }
}

/// A job as an index takes it in, without its readings.
#[derive(Debug, Clone, PartialEq)]
pub struct JobEntry {
    /// Its line in a list.
    pub summary: JobSummary,
    /// What its engine is found by, see [`Digests::engine`].
    pub engine: Option<Value>,
    /// Every check of a gauge, in the order of the gauges' names, the oldest of each gauge first.
    pub checks: Vec<GaugeCheck>,
}

impl JobEntry {
    /// The index entry of a job; `engine` makes the engine's digest from its file.
    #[must_use]
    pub fn of(view: &JobView, engine: impl FnOnce(&str) -> Option<Value>) -> Self {
        let checks = view.gauges().flat_map(|(_, record)| &record.checks);
        Self {
            summary: JobSummary::of(view),
            engine: view.engine().and_then(|file| engine(&file.content)),
            checks: checks.map(GaugeCheck::of).collect(),
        }
    }
}

/// A job with what its engine is found by, and its latest figures.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineRow {
    /// The job's line in a list.
    pub summary: JobSummary,
    /// As in [`JobEntry::engine`].
    pub engine: Option<Value>,
    /// The job's figures; `None` where none were made since its last fact.
    pub figures: Option<Value>,
}

/// A gauge in one job: what it measured there, how its repeats scatter, and its checks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GaugeInJob {
    /// The job.
    pub job: String,
    /// The gauge.
    pub gauge: String,
    /// How many readings that count came from the gauge, wholly or in part.
    pub readings: u64,
    /// When the first of them was kept.
    pub first: Option<Timestamp>,
    /// When the last of them was kept.
    pub last: Option<Timestamp>,
    /// How its repeats scatter, by quantity.
    pub scatter: Vec<RepeatScatter>,
    /// Its checks, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<GaugeCheck>,
}

/// How repeats of one quantity scatter: each spot in each stage about its own mean.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RepeatScatter {
    /// The quantity: the first word of the spots, e.g. `chamber`; of free spots their name.
    pub quantity: String,
    /// The unit whose square `squares` is in.
    pub unit: String,
    /// How many sets of at least two readings.
    pub sets: u64,
    /// Sum of the squared differences from each set's own mean.
    pub squares: f64,
    /// Degrees of freedom: readings less sets.
    pub dof: u64,
}

/// A check of a gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GaugeCheck {
    /// The gauge.
    pub gauge: String,
    /// The number of the fact in its job's journal.
    pub seq: u64,
    /// When it was kept.
    pub at: Timestamp,
    /// Which of the gauge's channels, counted from 0.
    pub channel: u8,
    /// The master or gauge of the comparison.
    pub against: String,
    /// The error that was found, in `unit`; of several comparisons the largest.
    pub error: f64,
    /// Standard uncertainty of the error; `None` where unknown.
    pub u: Option<f64>,
    /// The unit of `error`, `u` and `allow`.
    pub unit: String,
    /// The largest error allowed, where the journal states it.
    pub allow: Option<f64>,
    /// Whether it passed; `None` where nothing was judged.
    pub passed: Option<bool>,
    /// How many comparisons the check rests on.
    pub comparisons: u64,
}

impl GaugeCheck {
    fn of(check: &Stamped<CheckedGauge>) -> Self {
        let what = &check.what;
        Self {
            gauge: what.gauge.clone(),
            seq: check.seq,
            at: check.at,
            channel: what.channel,
            against: what.against.clone(),
            error: what.result - what.expected.unwrap_or(0.0),
            u: what.u,
            unit: what.unit.clone(),
            allow: what.allow,
            passed: what.passed,
            comparisons: what.points.len().max(1) as u64,
        }
    }
}

/// What the gauges of one job measured, in the order of their names, without their checks. The rows
/// of a spot must come in the order of their numbers.
pub(super) fn gauges_of<'a>(
    job: &str,
    rows: impl IntoIterator<Item = &'a ReadingRow>,
) -> Vec<GaugeInJob> {
    let mut gauges: BTreeMap<&str, GaugeInJob> = BTreeMap::new();
    let mut sets: BTreeMap<(&str, &str, &str, &str), Vec<f64>> = BTreeMap::new();
    for row in rows.into_iter().filter(|row| row.standing.is_live()) {
        for gauge in &row.gauges {
            let one = gauges
                .entry(gauge)
                .or_insert_with(|| empty(job, gauge.clone()));
            one.readings += 1;
            one.first = Some(one.first.map_or(row.at, |first| first.min(row.at)));
            one.last = Some(one.last.map_or(row.at, |last| last.max(row.at)));
        }
        // The gauge that gave the value comes first.
        if let Some(gauge) = row.gauges.first().filter(|_| !row.marked) {
            let key = (gauge.as_str(), &*row.spot, &*row.stage, &*row.unit);
            sets.entry(key).or_default().push(row.value);
        }
    }
    let mut pooled: BTreeMap<(&str, &str, &str), RepeatScatter> = BTreeMap::new();
    for ((gauge, spot, _, unit), values) in &sets {
        let quantity = quantity_of(spot);
        if values.len() < 2 || quantity == FLOW {
            continue;
        }
        let scatter = pooled
            .entry((gauge, quantity, unit))
            .or_insert_with(|| RepeatScatter {
                quantity: quantity.to_owned(),
                unit: (*unit).to_owned(),
                sets: 0,
                squares: 0.0,
                dof: 0,
            });
        scatter.sets += 1;
        scatter.squares += sum_of_squares(values);
        scatter.dof += values.len() as u64 - 1;
    }
    for ((gauge, ..), scatter) in pooled {
        if let Some(one) = gauges.get_mut(gauge) {
            one.scatter.push(scatter);
        }
    }
    gauges.into_values().collect()
}

/// What a spot measures: its first word, of a free spot its name.
pub(crate) fn quantity_of(spot: &str) -> &str {
    let named = spot.strip_prefix(FREE).unwrap_or(spot);
    named.split('/').next().unwrap_or(named)
}

/// The gauges of one job with their checks, in the order of their names; only the gauge `name`,
/// where one is named.
pub(super) fn with_checks(
    job: &str,
    gauges: Vec<GaugeInJob>,
    checks: &[GaugeCheck],
    name: Option<&str>,
) -> Vec<GaugeInJob> {
    let mut by_name: BTreeMap<String, GaugeInJob> = gauges
        .into_iter()
        .map(|one| (one.gauge.clone(), one))
        .collect();
    let checked: BTreeSet<&String> = checks.iter().map(|check| &check.gauge).collect();
    for gauge in checked {
        by_name
            .entry(gauge.clone())
            .or_insert_with(|| empty(job, gauge.clone()));
    }
    for check in checks {
        if let Some(one) = by_name.get_mut(&check.gauge) {
            one.checks.push(check.clone());
        }
    }
    let wanted = |one: &GaugeInJob| name.is_none_or(|name| one.gauge == name);
    by_name.into_values().filter(wanted).collect()
}

fn empty(job: &str, gauge: String) -> GaugeInJob {
    GaugeInJob {
        job: job.to_owned(),
        gauge,
        readings: 0,
        first: None,
        last: None,
        scatter: Vec::new(),
        checks: Vec::new(),
    }
}
