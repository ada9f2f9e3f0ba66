//! A job's engine file as text: read, and replaced whole.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks for the text of a job's engine file, as it stands in the job's folder.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ReadEngine {
    /// The job's name.
    pub job: String,
}

/// The text of a job's engine file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct EngineFileText {
    /// The text.
    pub text: String,
    /// The text's hash: sent back with a change, it says which text was changed.
    pub hash: String,
    /// Whether the file was edited in its folder and the edit is not loaded yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub edited: bool,
}

impl Ask for ReadEngine {
    const PATH: &'static str = "jobs/engine/text";
    const CARRY: Carry = Carry::Question;
    type Answer = EngineFileText;
}

/// Replaces a job's engine file whole, or not at all.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SetEngine {
    /// The job's name.
    pub job: String,
    /// The engine file's text.
    pub engine: String,
    /// The engine file's name, for messages.
    pub file: String,
    /// The hash of the text that was changed, as [`EngineFileText`] has it. The change is refused
    /// where another text stands in the folder. Absent, it is refused where the file was edited in
    /// its folder and the edit is not loaded yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub base: Option<String>,
}

/// An engine file that was replaced.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct EngineSet {
    /// The engine's name.
    pub engine: String,
    /// The fact's number in the journal; absent where the text is the one that was there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<u64>,
}

impl Ask for SetEngine {
    const PATH: &'static str = "jobs/engine/set";
    const CARRY: Carry = Carry::Change;
    type Answer = EngineSet;
}
