//! What a recorded stream yields when it is played without a bench.

use serde::{Deserialize, Serialize};

/// One sample of a played stream.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
