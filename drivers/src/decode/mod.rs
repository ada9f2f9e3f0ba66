//! Bytes become samples by a profile's rules.
//!
//! Nothing here reads a clock, opens a port or knows where a profile came from.

pub(crate) mod cells;
pub(crate) mod checksum;
pub(crate) mod conversation;
pub(crate) mod decimal;
mod driver;
mod field;
pub(crate) mod framer;
pub(crate) mod modbus;
pub(crate) mod parity;
mod phrase;
pub(crate) mod record;
mod reply;
mod scan;
mod turn;

pub use driver::ProfileDriver;
pub(crate) use modbus::request as modbus_request;
