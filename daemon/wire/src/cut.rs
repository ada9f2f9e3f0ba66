//! Cuts, and what is said of them later.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Keeps a cut, which opens a new stage.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CutJob {
    /// The job's name.
    pub job: String,
    /// The new stage's name, e.g. `milled 1`.
    pub stage: String,
    /// What was cut, e.g. `0.010 in off both heads`.
    pub what: String,
    /// The quantities it changed: the first part of their spots, e.g. `chamber`, `deck`.
    pub changes: Vec<String>,
    /// The only cylinders that it was done at; all where empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cylinders: Vec<u32>,
    /// How deep it went, with its unit, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<String>,
    /// Whether the depth is right although it is more than may be cut.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sure: bool,
}

/// A cut that was kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CutMade {
    /// The fact's number in the journal.
    pub id: u64,
    /// The stage that is now current.
    pub stage: String,
    /// How deep it went, as it was kept; `null` where that was not said.
    #[serde(default)]
    pub depth: Option<String>,
}

impl Ask for CutJob {
    const PATH: &'static str = "jobs/cut";
    const CARRY: Carry = Carry::Change;
    type Answer = CutMade;
}

/// Corrects what was said of a cut, or takes the cut back.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CorrectCut {
    /// The job's name.
    pub job: String,
    /// The name of the stage that the cut opened, e.g. `milled 1`.
    pub stage: String,
    /// What was cut in truth; as it was said where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub what: Option<String>,
    /// The quantities that it changed; as they were said where empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<String>,
    /// The only cylinders that it was done at; as they were said where empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cylinders: Vec<u32>,
    /// How deep it went, with its unit; as it was said where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<String>,
    /// How deep it went is not known, whatever was said.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub no_depth: bool,
    /// Nothing was cut: the stage is none, and its readings count for the stage before.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub take_back: bool,
    /// Why; "typed wrong" where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// It is right although readings count for another stage then, or the depth is more than may be
    /// cut.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sure: bool,
    /// Initials of who says it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// A cut as it stands after it was corrected or taken back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CutCorrected {
    /// The fact's number in the journal.
    pub id: u64,
    /// The stage that the cut opened.
    pub stage: String,
    /// Whether it is one still.
    pub stands: bool,
    /// What was cut.
    pub cut: String,
    /// The quantities that it changed.
    pub changes: Vec<String>,
    /// The only cylinders that it was done at; all where empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cylinders: Vec<u32>,
    /// How deep it went, as it was kept; `null` where that was not said.
    #[serde(default)]
    pub depth: Option<String>,
    /// How many readings count for another stage than before.
    pub readings: u64,
    /// The stage for which they count now.
    pub count_for: String,
    /// The stage that the parts are in now.
    pub now: String,
}

impl Ask for CorrectCut {
    const PATH: &'static str = "jobs/correct-cut";
    const CARRY: Carry = Carry::Change;
    type Answer = CutCorrected;
}
