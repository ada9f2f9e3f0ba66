//! What a journal says of a route: that it was begun, and where it stands.

use serde::{Deserialize, Serialize};

use crate::capture::Sigma;

/// A route was begun.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RouteStarted {
    /// The route's name, the same as of the input that holds its text.
    pub route: String,
    /// The spots in the order of the visit, as they were laid out for this engine.
    pub stops: Vec<String>,
    /// How often all stops are to be measured, at least 1.
    pub rounds: u32,
    /// The seconds of a mean, where a person said them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean_s: Option<f64>,
    /// The gauges at that moment: with them their readings can be made out anew.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub gauges: Vec<RouteGauge>,
}

/// A gauge at the beginning of a route.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RouteGauge {
    /// The gauge.
    pub gauge: String,
    /// The file under the job's `streams/` in which its bytes are recorded from then on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stream: Option<String>,
    /// What was known of the gauge's noise.
    pub sigma: Sigma,
}

/// Where a route stands.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct RouteAt {
    /// The route's name.
    pub route: String,
    /// The stop that is next, counted from 0 in the route's stops.
    pub stop: u32,
    /// The round, counted from 1.
    pub round: u32,
    /// All stops that were passed over so far, counted from 0.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub skipped: Vec<u32>,
    /// Whether the stop has its reading, and a person went back to measure it anew.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub revisits: bool,
}
