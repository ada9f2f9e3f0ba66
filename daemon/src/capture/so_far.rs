//! What a pour had come to, so that the pour goes on after the work was broken off.

use benchhand_drivers::Unit;
use serde::{Deserialize, Serialize};

use super::CapturedValue;

/// A pour of which far too little had come, at its last rest. All numbers are in the gauge's unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PourSoFar {
    /// The symbol of the gauge's unit.
    pub unit: String,
    /// The size of one count.
    pub resolution: f64,
    /// The amount up to that rest.
    pub value: f64,
    /// How much of that amount earlier fillings delivered.
    pub sum: f64,
    /// Where the level stood before the present filling delivered.
    pub from: f64,
    /// Where the level rested.
    pub at: f64,
    /// Where the level stood before and after each earlier filling of this pour.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fills: Vec<(f64, f64)>,
    /// Whether this person lets the last of a pour fall in drops.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub drips: bool,
    /// Whether part of the pour may have come while nobody listened.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unheard: bool,
}

impl PourSoFar {
    /// The amount as a value of a capture; `None` where the unit is not known.
    pub fn captured(&self) -> Option<CapturedValue> {
        let unit: Unit = self.unit.parse().ok()?;
        let mut fills = self.fills.clone();
        fills.push((self.from, self.at));
        Some(CapturedValue {
            value: self.value,
            unit,
            n: 0,
            sd: None,
            se: None,
            at_us: 0,
            from_us: 0,
            window: Vec::new(),
            others: Vec::new(),
            resolution: self.resolution,
            fills,
            also: None,
            parts_at: None,
            expected: None,
            doubt: None,
        })
    }
}
