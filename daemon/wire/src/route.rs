//! Routes: starting one, steering it, and where it stands.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks which routes there are.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Routes {}

/// The routes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RouteList {
    /// Shipped ones first, then the shop's own.
    pub routes: Vec<RouteInfo>,
}

/// One route.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RouteInfo {
    /// Its name.
    pub name: String,
    /// What it measures, in one line.
    pub title: String,
    /// The kinds of gauge it needs.
    pub needs: Vec<String>,
    /// The cautions to read before it begins.
    pub cautions: Vec<String>,
}

impl Ask for Routes {
    const PATH: &'static str = "routes";
    const CARRY: Carry = Carry::Question;
    type Answer = RouteList;
}

/// Starts a route, or takes up the one that stood half-way.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StartRoute {
    /// The job's name.
    pub job: String,
    /// The route's name.
    pub route: String,
    /// Which gauge does each step's measuring, by kind (`volume`, `length` …); where a kind is
    /// absent, the only gauge of that kind is used.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub gauges: BTreeMap<String, String>,
    /// Only these cylinders, in this order; all of them where empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cylinders: Vec<u32>,
    /// Values for the route's own lists, e.g. `lift` → `0.100in`, `0.200in`.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub lists: BTreeMap<String, Vec<String>>,
    /// How often each spot is visited; the route's own number where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rounds: Option<u32>,
    /// The text of a route of the user's own, kept in the shop's routes under `route`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// Begin again although a route stands half-way.
    #[serde(default)]
    pub afresh: bool,
}

/// Where a route stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RouteProgress {
    /// The job.
    pub job: String,
    /// The route.
    pub route: String,
    /// What it measures.
    pub title: String,
    /// Whether it runs now; a route that does not stands half-way or is done.
    pub running: bool,
    /// Whether every stop was visited or skipped.
    pub done: bool,
    /// The stop to be visited next, as an index into `stops`; absent once done.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<usize>,
    /// What to do now, in one line.
    pub prompt: String,
    /// The stops in order.
    pub stops: Vec<StopDone>,
    /// Cautions for this route.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
}

/// One stop and what became of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StopDone {
    /// The spot.
    pub spot: String,
    /// The round, from 1.
    pub round: u32,
    /// What became of it.
    pub state: StopState,
    /// The gauge that measures it.
    pub gauge: String,
    /// The reading that was taken, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<u64>,
    /// Its value as shown, e.g. `64.21 cc`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub shown: String,
}

/// What became of a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StopState {
    /// Not visited yet.
    Left,
    /// A provisional reading is kept.
    Held,
    /// Its reading is final.
    Taken,
    /// The user passed it over.
    Skipped,
}

impl Ask for StartRoute {
    const PATH: &'static str = "routes/start";
    const CARRY: Carry = Carry::Change;
    type Answer = RouteProgress;
}

/// Steers the route that runs on a job.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct ControlRoute {
    /// The job's name.
    pub job: String,
    /// What to do.
    #[serde(flatten)]
    pub control: Control,
}

/// The controls, the same from pedal, page and command line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "control", rename_all = "snake_case")]
pub enum Control {
    /// Take the reading now, if the gauge allows it.
    Take,
    /// Throw away the last reading of this stop (it is voided) and take it again.
    Again,
    /// Go back one stop.
    Back,
    /// Pass this stop over.
    Skip,
    /// Sum another pour into the last reading.
    Add,
    /// Stop taking until `resume`.
    Hold,
    /// Go on after `hold`.
    Resume,
    /// Go to the stop of this spot.
    Go {
        /// The spot.
        spot: String,
    },
    /// A reading typed for this stop: a value with its unit.
    Type {
        /// The value, e.g. `64.2 cc`.
        value: String,
    },
    /// End the route; what is left stays left and can be taken up again.
    End,
}

impl Ask for ControlRoute {
    const PATH: &'static str = "routes/control";
    const CARRY: Carry = Carry::Change;
    type Answer = RouteProgress;
}
