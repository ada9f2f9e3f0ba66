//! What goes on at the bench, as it goes on.

use serde::{Deserialize, Serialize};

use crate::gauge::{GaugeState, LiveValue};
use crate::job::ShownReading;
use crate::route::RouteProgress;
use crate::{Ask, Carry};

/// The path of the event stream (server-sent events) below `/v1/`.
///
/// Each event's `id` is [`Announced::id`]; a client that lost its connection sends the last one
/// in `Last-Event-ID` and is told by [`Event::Caught`] whether anything was missed.
pub const EVENTS: &str = "events";

/// Asks for everything that is live now.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Watch {}

/// Everything that is live.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct State {
    /// The number of the latest event that this state includes.
    pub id: u64,
    /// The gauges.
    pub gauges: Vec<GaugeState>,
    /// The routes that run or stand half-way, one a job at the most.
    pub routes: Vec<RouteProgress>,
}

impl Ask for Watch {
    const PATH: &'static str = "state";
    const CARRY: Carry = Carry::Question;
    type Answer = State;
}

/// One event with its number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Announced {
    /// Counts up by one from 1 since the daemon started.
    pub id: u64,
    /// What happened.
    #[serde(flatten)]
    pub event: Event,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "event", rename_all = "snake_case")]
pub enum Event {
    /// A gauge's latest value; at most about ten a second for each gauge.
    Value {
        /// The gauge.
        gauge: String,
        /// Its channels.
        live: Vec<LiveValue>,
    },
    /// A gauge's line changed.
    Link {
        /// The gauge as it now is.
        gauge: GaugeState,
    },
    /// A gauge was taken out of the register.
    GaugeRemoved {
        /// The gauge.
        gauge: String,
    },
    /// A reading was kept, revised, made final, voided or moved.
    Reading {
        /// The job.
        job: String,
        /// The reading as it now is.
        reading: ShownReading,
    },
    /// A route moved, started or ended.
    Route {
        /// Where it stands.
        progress: RouteProgress,
    },
    /// Something to be said to the person at the bench.
    Say {
        /// The job it concerns, if any.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        job: Option<String>,
        /// What sort of thing it is, which decides the tone.
        said_as: SaidAs,
        /// The words.
        text: String,
    },
    /// Sent first on a new event stream.
    Caught {
        /// Whether events between the client's last one and now were lost to it.
        missed: bool,
    },
    /// The daemon is stopping.
    Stopping {},
}

/// What sort of thing is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SaidAs {
    /// A reading was taken.
    Taken,
    /// A reading was changed.
    Revised,
    /// Something must be done again.
    Again,
    /// A question that waits for an answer.
    Asked,
    /// A gauge was lost, or is back.
    Gauge,
    /// The route is done.
    Done,
    /// Something worth knowing.
    Note,
}
