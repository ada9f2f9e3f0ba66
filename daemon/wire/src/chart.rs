//! Charts of a job, as drawings.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks for one chart of a job as SVG.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ChartJob {
    /// The job's name.
    pub job: String,
    /// `chambers`, `compression`, `deck`, `flow` or `scatter`.
    pub chart: String,
    /// The stage to draw; the present one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    /// The gauge whose repeats are drawn; for `scatter` alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
}

/// A chart.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ChartDrawn {
    /// Its title.
    pub title: String,
    /// What it shows, with the numbers, in words.
    pub description: String,
    /// The drawing: an element `svg` that loads nothing.
    pub svg: String,
}

impl Ask for ChartJob {
    const PATH: &'static str = "jobs/chart";
    const CARRY: Carry = Carry::Question;
    type Answer = ChartDrawn;
}
