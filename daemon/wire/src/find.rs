//! Finding out what an unknown gauge says, and checking a profile.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Listens to the gauge at a port and finds out how it talks. Takes some ten seconds.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FindGauge {
    /// The port's path.
    pub port: String,
    /// Whether harmless questions may be sent to a gauge that says nothing by itself.
    #[serde(default)]
    pub allow_queries: bool,
    /// Questions that the gauge's manual names, sent before any other. Each character from U+0000
    /// to U+00FF stands for one byte.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub questions: Vec<String>,
}

/// The reason that stands beside a finding whose unit the bytes do not tell.
pub const UNIT_UNTOLD: &str = "the bytes do not tell the unit: say it";

/// What was found, the surest reading first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FoundGauge {
    /// The surest reading.
    pub found: Finding,
    /// What else it could be.
    pub others: Vec<Finding>,
}

/// One reading of what a gauge sends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Finding {
    /// How its line is set.
    pub line: FoundLine,
    /// `stream` or `poll`.
    pub mode: String,
    /// The unit, where the bytes tell it; `null` where a person must say it.
    pub unit: Option<String>,
    /// From 0 to 1; 0.8 and above counts as sure.
    pub confidence: f64,
    /// The text of a profile that reads it; the unit `1` stands where none was told.
    pub profile: String,
    /// The last value of the field, in the gauge's own unit.
    pub last_value: Option<f64>,
    /// What speaks for it and against it, in words.
    pub reasons: Vec<String>,
}

/// A line setting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FoundLine {
    /// Bits a second.
    pub baud: u32,
    /// Word format such as `8N1` or `7E1`.
    pub format: String,
}

impl Ask for FindGauge {
    const PATH: &'static str = "gauges/find";
    const CARRY: Carry = Carry::Change;
    type Answer = FoundGauge;
}

/// Checks the text of a profile, with its own captures.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CheckProfile {
    /// The profile's text.
    pub text: String,
    /// The file's name, for messages.
    pub file: String,
}

/// A profile that can be used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ProfileChecked {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub title: String,
    /// Its channels, each with what it measures.
    pub channels: Vec<String>,
    /// How many of its own captures gave what they must.
    pub captures: usize,
}

impl Ask for CheckProfile {
    const PATH: &'static str = "profiles/check";
    const CARRY: Carry = Carry::Change;
    type Answer = ProfileChecked;
}
