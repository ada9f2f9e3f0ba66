//! Metal was cut or parts were changed, and what is said of it later.

use serde::{Deserialize, Serialize};

/// Metal was cut, or parts were changed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PartsCut {
    /// The name of the stage that begins.
    pub stage: String,
    /// What was done, in the builder's words.
    pub what: String,
    /// The quantities that the cut changes, as the first words of their spots: `chamber`, `deck`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<String>,
    /// The only cylinders that it was done at; empty where it was done at all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cylinders: Vec<u32>,
    /// How deep, for each head or bank where it is known.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub depths: Vec<CutDepth>,
}

/// How deep a cut went on one part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CutDepth {
    /// The head, bank or other part.
    pub part: String,
    /// Metal taken off, in `unit`.
    pub depth: f64,
    /// The unit of `depth`.
    pub unit: String,
}

/// What was said of a cut was wrong: there was none, or another one.
///
/// One fact says both, so that a correction is kept whole or not at all and its readings stay where
/// they are. The last one that is said of a cut holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WithdrawnCut {
    /// The number of the cut.
    pub of: u64,
    /// What was cut in truth, under the same stage; `None` where nothing was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instead: Option<TrueCut>,
    /// Why.
    pub reason: String,
    /// How many readings the stage had that the person knew of.
    #[serde(default, skip_serializing_if = "is_none")]
    pub measured: u64,
    /// Initials of who says it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// What was cut in truth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrueCut {
    /// What was done, in the builder's words.
    pub what: String,
    /// The quantities that it changes, as in [`PartsCut`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<String>,
    /// The only cylinders, as in [`PartsCut`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cylinders: Vec<u32>,
    /// How deep, as in [`PartsCut`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub depths: Vec<CutDepth>,
}

fn is_none(count: &u64) -> bool {
    *count == 0
}
