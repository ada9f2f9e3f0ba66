//! How far a long work is that another request began.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// The most letters of the name of a long work.
pub const LONGEST_WORK_NAME: usize = 64;

/// Asks how far a long work is. Whoever began it gave it the name, in the request's field `work`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct HowFar {
    /// The name of the work.
    pub work: String,
}

/// How far it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HowFarAnswer {
    /// The work; absent where none of that name is under way: it has not begun, or has ended.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub under_way: Option<WorkUnderWay>,
}

/// A work that is under way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WorkUnderWay {
    /// What is being done, e.g. `checking the file`.
    pub doing: String,
    /// How much of it is done, in parts of `total`.
    pub done: u64,
    /// How many parts it has: bytes, or recorded streams. 0 while that is not known.
    pub total: u64,
}

impl Ask for HowFar {
    const PATH: &'static str = "work/how-far";
    const CARRY: Carry = Carry::Question;
    type Answer = HowFarAnswer;
}
