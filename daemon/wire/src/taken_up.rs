//! What is told of a route that goes on after more than a day.

use serde::{Deserialize, Serialize};

/// Where a route stood that is taken up after more than a day, and what changed since.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TakenUp {
    /// When its last reading was kept, in UTC, e.g. `2026-03-02 09:14`.
    pub last: String,
    /// How long ago that was, e.g. `3 weeks ago`.
    pub ago: String,
    /// The stops whose readings stand, e.g. `chamber/3`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub kept: Vec<String>,
    /// What was still asked or in doubt, in words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<String>,
    /// The stop that is next; absent where none is left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
    /// What changed since, in words: cuts, the engine file, the gauges' entries, zeros, checks,
    /// conditions, parts. Empty where nothing is known to have.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changed: Vec<String>,
}
