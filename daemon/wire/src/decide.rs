//! Questions about a job whose answer is a decision.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks what follows from a job's figures: how much to mill, which crown to order, what if.
/// Changes nothing.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct DecideJob {
    /// The job's name.
    pub job: String,
    /// The stage that it is about; the present one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    // Its shape is the blueprint's, which this package does not know.
    /// The question, with its name in `ask`; docs/commands.md lists them with their fields.
    pub question: serde_json::Value,
    /// What it is compared with, where the question compares.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub against: Option<OtherSide>,
}

/// The other side of a comparison.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct OtherSide {
    /// The other job; the same one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// Its stage; the present one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
}

/// A decision.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DecideAnswer {
    /// The document that `decide --json` prints.
    pub document: serde_json::Value,
}

impl Ask for DecideJob {
    const PATH: &'static str = "jobs/decide";
    const CARRY: Carry = Carry::Inquiry;
    type Answer = DecideAnswer;
}
