//! Bytes become samples by a profile's rules.
//!
//! Nothing here reads a clock, opens a port or knows where a profile came from.

pub mod cells;
pub mod checksum;
pub(crate) mod conversation;
pub mod decimal;
mod driver;
mod field;
pub(crate) mod framer;
pub mod modbus;
pub mod parity;
mod phase;
mod phrase;
pub(crate) mod record;
mod reply;
mod scan;

pub use driver::ProfileDriver;
pub(crate) use modbus::request as modbus_request;
