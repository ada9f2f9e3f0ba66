//! A value at one spot, as a journal keeps it.
//!
//! Everything that a later judgement of the reading needs stands beside the value: what the gauge
//! showed, the samples behind the value, and their place in the recorded stream.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::capture::CaptureMode;

/// The number of a reading: the sequence number of its fact.
pub type ReadingId = u64;

/// Where a value came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadingSource {
    /// From a gauge's own samples.
    Captured,
    /// Typed by a person.
    Typed,
    /// From a file.
    Imported,
}

/// One sample of a reading's window: microseconds since its stream began, and the value as the
/// gauge sent it, in the reading's `raw_unit`.
pub type WindowSample = (u64, f64);

/// A value at one spot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The spot. Compared as text: every writer must write a spot in the same form.
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
    /// How many samples are behind the value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u32>,
    /// How still the gauge was, in `unit`. This is not the reading's repeatability.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// Which repeat of the whole set-up, counted from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<u32>,
    /// How the value was captured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mode: Option<CaptureMode>,
    /// The samples of the window, so that the reading can be judged by itself.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub window: Vec<WindowSample>,
    /// The place in the gauge's recorded stream.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stream: Option<StreamAt>,
    /// Where the value came from.
    pub source: ReadingSource,
    /// The reading's stage; `None` is the job's present stage.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    /// The number of its stage in the view that takes it in, where that is known. No line says it.
    #[serde(skip)]
    pub opened_in: Option<u64>,
    /// The held reading that this one replaces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supersedes: Option<ReadingId>,
    /// Further values measured at the same time: pressures and lift of a flow, drift.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<ReadingPart>,
    /// Further facts in words: orifice, direction, burette levels as typed.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub labels: BTreeMap<String, String>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Initials of who took it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

impl Reading {
    /// A reading with only a spot, a value, a unit and a source.
    #[must_use]
    pub fn new(
        spot: impl Into<String>,
        value: f64,
        unit: impl Into<String>,
        source: ReadingSource,
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
            opened_in: None,
            supersedes: None,
            parts: Vec::new(),
            labels: BTreeMap::new(),
            note: None,
            by: None,
        }
    }
}

/// Whether a text can be initials: at most 8 letters or digits.
#[must_use]
pub fn are_initials(text: &str) -> bool {
    (1..=8).contains(&text.chars().count()) && text.chars().all(char::is_alphanumeric)
}

/// A moment in a recorded stream.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StreamAt {
    /// The file's name under the job's `streams/`.
    pub file: String,
    /// Time of the last sample behind the reading, in microseconds since that stream began.
    pub at_us: u64,
}

/// A further value that belongs to a reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingPart {
    /// The value's role: `test_pressure`, `metering_pressure`, `lift`.
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
    /// How still the gauge was, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// Standard error of the mean beside the main value, in `unit`, as its window shows it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub se: Option<f64>,
    /// The samples of its decision window, in `raw_unit`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub window: Vec<WindowSample>,
    /// The place in the gauge's recorded stream.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stream: Option<StreamAt>,
}

impl ReadingPart {
    /// A part with only a role, a value and a unit.
    #[must_use]
    pub fn new(role: impl Into<String>, value: f64, unit: impl Into<String>) -> Self {
        Self {
            role: role.into(),
            value,
            unit: unit.into(),
            u: None,
            gauge: None,
            raw: None,
            raw_unit: None,
            n: None,
            sd: None,
            se: None,
            window: Vec::new(),
            stream: None,
        }
    }
}

pub(super) fn is_default(channel: &u8) -> bool {
    *channel == 0
}
