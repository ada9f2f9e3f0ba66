//! Samples become readings at their spot, kept for good; the local API.
//!
//! This room knows ports (through the drivers' room), jobs, time and storage. It deliberately
//! does not know how a table is printed, and it never prints.

pub mod backup;
pub mod capture;
pub mod clock;
pub mod demo;
pub mod offline;
pub mod route;
pub mod store;
pub mod synth;

mod api;
mod desk;
mod examine;
mod joined;
mod known;
mod live;
mod pedal;
mod serve;

pub use desk::Desk;
pub use known::keeper::Keeper;
pub use live::{OpenLine, Opener, SerialOpener, StationHandle, ToStation, WantedLine};
pub use serve::{Ready, ServeOptions, serve, serve_on};
