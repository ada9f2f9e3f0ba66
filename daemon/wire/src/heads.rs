//! Heads that change their banks.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Two heads change their banks: what was measured of them goes along, all of it or nothing.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ExchangeHeads {
    /// The job's name.
    pub job: String,
    /// The two banks, by their names in the engine file.
    pub banks: Vec<String>,
    /// Whether a head keeps its front to the front. A head that changes sides is turned end for end
    /// otherwise: what was at the front is then at the rear.
    #[serde(default)]
    pub not_turned: bool,
    /// Initials of who does it, at most 8 letters or digits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// Heads that changed their banks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HeadsExchanged {
    /// Which cylinder each reading went to: from, to.
    pub cylinders: Vec<(u32, u32)>,
    /// How many readings went along.
    pub readings: usize,
    /// The mark of the head on each bank now, where the job card has them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub heads: Vec<(String, String)>,
}

impl Ask for ExchangeHeads {
    const PATH: &'static str = "jobs/exchange-heads";
    const CARRY: Carry = Carry::Change;
    type Answer = HeadsExchanged;
}
