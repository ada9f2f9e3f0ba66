//! A value at one spot, as it is said in a journal.
//!
//! Everything by which the reading can be judged later stands beside it: what the gauge showed,
//! the samples it rests on, where in the recorded stream they are.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// The number of a reading: the sequence number of the fact that brought it.
pub type ReadingId = u64;

/// How a value was made out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// The gauge held still.
    Settle,
    /// The difference between two stillnesses.
    Pour,
    /// A largest or smallest value at a turn.
    Extreme,
    /// The mean over a window.
    Average,
    /// One press or one typed value.
    Press,
}

/// Where a value came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// From a gauge's own samples.
    Captured,
    /// Typed by a person.
    Typed,
    /// From a file.
    Imported,
}

/// One sample of a decision window: microseconds since its stream began, and the value as the
/// gauge sent it, in the reading's `raw_unit`.
pub type WindowSample = (u64, f64);

/// A value at one spot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// What was measured where. Compared as text: whoever writes it gives each spot one text.
    pub spot: String,
    /// The value, in `unit`, with the gauge's sense, zero and correction applied.
    pub value: f64,
    /// The unit of `value`, `u` and `sd`.
    pub unit: String,
    /// What the gauge itself showed, in `raw_unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw: Option<f64>,
    /// The unit that the gauge sent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw_unit: Option<String>,
    /// Standard uncertainty, in `unit`; `None` where nothing is known, never 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// The gauge's name in the shop's register.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// How many samples the value rests on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u32>,
    /// How still the gauge was, in `unit`. This is not the reading's repeatability.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// Which repeat of the whole set-up, counted from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<u32>,
    /// How the value was made out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mode: Option<Mode>,
    /// The samples of the decision window, so that the reading can be judged by itself.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub window: Vec<WindowSample>,
    /// Where the gauge's recorded stream stood.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stream: Option<StreamAt>,
    /// Where the value came from.
    pub source: Source,
    /// The stage it belongs to; `None` is the stage that the job is in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    /// The held reading whose place this one takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supersedes: Option<ReadingId>,
    /// What else was measured at the same time: pressures and lift of a flow, drift.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<Part>,
    /// What is known in words: orifice, direction, burette levels as typed.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub labels: BTreeMap<String, String>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl Reading {
    /// A reading of which nothing is known but its spot, value, unit and source.
    #[must_use]
    pub fn new(
        spot: impl Into<String>,
        value: f64,
        unit: impl Into<String>,
        source: Source,
    ) -> Self {
        Self {
            spot: spot.into(),
            value,
            unit: unit.into(),
            raw: None,
            raw_unit: None,
            u: None,
            gauge: None,
            n: None,
            sd: None,
            round: None,
            mode: None,
            window: Vec::new(),
            stream: None,
            source,
            stage: None,
            supersedes: None,
            parts: Vec::new(),
            labels: BTreeMap::new(),
            note: None,
        }
    }
}

/// A moment in a recorded stream.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StreamAt {
    /// The file's name under the job's `streams/`.
    pub file: String,
    /// Microseconds since that stream began, of the last sample that the reading rests on.
    pub at_us: u64,
}

/// One of several values that make up a reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// Which: `test_pressure`, `metering_pressure`, `lift`.
    pub role: String,
    /// The value, in `unit`.
    pub value: f64,
    /// The unit of `value`, `u` and `sd`.
    pub unit: String,
    /// Standard uncertainty, in `unit`; `None` where nothing is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// The gauge that gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// What the gauge itself showed, in `raw_unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw: Option<f64>,
    /// The unit that the gauge sent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw_unit: Option<String>,
    /// How many samples.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u32>,
    /// How still it was, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// The samples of its decision window, in `raw_unit`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub window: Vec<WindowSample>,
    /// Where its gauge's recorded stream stood.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stream: Option<StreamAt>,
}

pub(super) fn is_default(channel: &u8) -> bool {
    *channel == 0
}
