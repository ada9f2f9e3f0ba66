//! The comparisons behind a check, and the checks of a flow bench, as a journal keeps them.

use serde::{Deserialize, Serialize};

/// One comparison of a gauge with a master, in the check's unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CheckPoint {
    /// The true value.
    pub truth: f64,
    /// What the gauge showed, uncorrected; for a zeroed gauge, counted from its zero.
    pub shown: f64,
    /// Standard uncertainty of this master alone; `None` where nothing is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
}

/// The metering orifice of a flow bench was checked by a plate of known flow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CheckedPlate {
    /// The orifice, by its name in the engine file.
    pub orifice: String,
    /// Whether readings that name no orifice were taken with this one.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unnamed: bool,
    /// The flow through the orifice at the metering pressure `pressure`, in `unit`.
    pub flow: f64,
    /// The unit of `flow` and `u`.
    pub unit: String,
    /// Standard uncertainty of `flow`; `None` where unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// The metering pressure, in `pressure_unit`.
    pub pressure: f64,
    /// The unit of `pressure`.
    pub pressure_unit: String,
    /// The flow that the bench would have given, in `unit`; `None` where nothing was known of the
    /// orifice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub said: Option<f64>,
    /// Whether the two flows were near enough; `None` where nothing was judged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passed: Option<bool>,
    /// The plate.
    pub against: String,
}

/// The leak of a flow bench, with its port sealed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CheckedLeak {
    /// The leak, in `unit`.
    pub flow: f64,
    /// The unit of `flow` and `u`.
    pub unit: String,
    /// Standard uncertainty of `flow`; `None` where unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// The test pressure at which the leak was measured, in `pressure_unit`.
    pub pressure: f64,
    /// The unit of `pressure`.
    pub pressure_unit: String,
}

/// A gauge was set to zero.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZeroedGauge {
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
    /// The master of the zero: a flat plate, a setting ring, the open air.
    pub against: String,
    /// The size of that master by definition, in `unit`, where it is not 0.
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
    /// Whether a person let the zero before stand, although hours had passed or the gauge had been
    /// off. Then the zero was not set anew.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub let_stand: bool,
}
