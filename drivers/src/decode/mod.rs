//! Bytes become samples by a profile's rules.
//!
//! Nothing here reads a clock, opens a port or knows where a profile came from.

// What comes from outside must not end the program: nothing here may panic.
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::string_slice,
        clippy::unreachable,
        clippy::unwrap_used
    )
)]

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
