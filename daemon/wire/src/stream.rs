//! What a recorded stream yields when it is played without a bench.

use serde::{Deserialize, Serialize};

/// One sample of a played stream.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PlayedSample {
    /// Microseconds since the stream began.
    pub at_us: u64,
    /// The channel's name in the profile.
    pub channel: String,
    /// The value; `null` where the gauge sent a status.
    pub value: Option<f64>,
    /// Its unit.
    pub unit: String,
    /// What the gauge said of itself; empty where nothing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub status: String,
}

/// A played stream.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Played {
    /// The profile it was decoded with.
    pub profile: String,
    /// `synthesised` or `captured`, as the stream's header says.
    pub origin: String,
    /// The samples, in order.
    pub samples: Vec<PlayedSample>,
    /// What could not be read, in words, with the time in microseconds.
    pub troubles: Vec<(u64, String)>,
}

/// One capture event of a replayed stream.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CaptureLine {
    /// `held`, `revised` or `final`.
    pub state: String,
    /// The value, in `unit`.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// Samples in the decision window.
    pub n: usize,
    /// Standard deviation inside the window.
    pub sd: Option<f64>,
    /// Microseconds since the stream began.
    pub at_us: u64,
}

/// Something worth saying of a replayed stream that is not a value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReplayNote {
    /// Always `note`.
    pub state: String,
    /// What is to be said.
    pub text: String,
    /// How often it was said in a row, the first time at `at_us`.
    pub times: usize,
    /// Microseconds since the stream began.
    pub at_us: u64,
}

/// A stream that was captured from anew.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReplayedStream {
    /// The capture events, in order.
    pub lines: Vec<CaptureLine>,
    /// What was said meanwhile, in order.
    pub notes: Vec<ReplayNote>,
    /// Where nothing was captured: why, as far as is known.
    pub why_nothing: Option<String>,
}
