//! The station as it is now: the state of the gauges and the routes that run.
//!
//! One thread owns all of it. Ports send their events to it over a bounded channel, and requests
//! come over the same channel. So everything happens in one order, and no lock is held while a
//! gauge sends.

mod arrange;
#[cfg(test)]
mod evenings;
mod figuring;
mod handle;
mod hub;
mod line;
mod link;
mod opening;
mod progress;
mod recorder;
mod run;
mod station;
mod steady;
mod taken_up;
mod zeros;

pub(crate) use arrange::{GaugeOnRoute, arrange};
pub use handle::StationHandle;
pub(crate) use handle::start as start_station;
pub use hub::Hub;
pub use opening::{OpenLine, Opener, SerialOpener, ToStation, WantedLine};
pub(crate) use station::{RouteOrder, Station};
pub(crate) use steady::RestingValue;
pub(crate) use taken_up::{RouteAtTakeUp, taken_up};
