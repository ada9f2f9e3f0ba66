//! What a check by several comparisons rests on, and the checks of a flow bench, as a journal says
//! them.

use serde::{Deserialize, Serialize};

/// One comparison of a gauge with a master, in the check's unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CheckPoint {
    /// What it truly was.
    pub truth: f64,
    /// What the gauge showed, with no correction; of a gauge that was zeroed counted from there.
    pub shown: f64,
    /// Standard uncertainty of this master alone; `None` where nothing is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
}

/// The metering orifice of a flow bench was checked by a plate of known flow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plate {
    /// The orifice, by its name in the engine file.
    pub orifice: String,
    /// Whether readings that name no orifice were taken with it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unnamed: bool,
    /// What passes it at the metering pressure `pressure`, in `unit`.
    pub flow: f64,
    /// The unit of `flow` and `u`.
    pub unit: String,
    /// Standard uncertainty of `flow`; `None` where unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// The metering pressure, in `at_unit`.
    pub pressure: f64,
    /// Its unit.
    pub pressure_unit: String,
    /// What the bench would have said, in `unit`; `None` where nothing was known of the orifice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub said: Option<f64>,
    /// Whether that was near enough; `None` where nothing was judged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passed: Option<bool>,
    /// The plate.
    pub against: String,
}

/// The leak of a flow bench, with its port sealed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Leak {
    /// The leak, in `unit`.
    pub flow: f64,
    /// The unit of `flow` and `u`.
    pub unit: String,
    /// Standard uncertainty of `flow`; `None` where unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// The test pressure at which it was measured, in `at_unit`.
    pub pressure: f64,
    /// Its unit.
    pub pressure_unit: String,
}

/// A gauge was set to zero.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Zero {
    /// The gauge.
    pub gauge: String,
    /// Which of its channels, counted from 0.
    #[serde(default, skip_serializing_if = "super::reading::is_default")]
    pub channel: u8,
    /// What the gauge showed, in `unit`.
    pub raw: f64,
    /// The unit of `raw`, `u` and `sd`.
    pub unit: String,
    /// Standard uncertainty of the zero, the master's share included; `None` where unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// What it was set against: a flat plate, a setting ring, the open air.
    pub against: String,
    /// What that master is by definition, in `unit`, where it is not 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nominal: Option<f64>,
    /// Spread of the samples, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
    /// How many samples.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u32>,
    /// What the gauge shows with nothing under it, in `unit`, where that was learned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hanging: Option<f64>,
    /// Whether it was not set anew: a person let the zero before stand, although hours had passed
    /// or the gauge had been off.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub let_stand: bool,
}
