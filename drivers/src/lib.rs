//! Turns bytes on a serial line into samples with unit, resolution and status.
//!
//! This room knows ports, frames, checksums and units. It knows nothing of cylinders, jobs,
//! storage, HTTP or async runtimes. Each port has one operating-system thread that hands batches
//! to a listener. A slow listener never holds that thread up.

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

mod arrival;
pub mod decode;
pub mod driver;
pub mod player;
pub mod port;
pub mod profile;
pub mod sample;
pub mod serial_settings;
pub mod stream;
pub mod timebase;
pub mod transport;
pub mod unit;

pub use decode::ProfileDriver;
pub use driver::{DecodeTrouble, Decoded, Driver, NextAction};
pub use port::{PortEvent, PortLoop};
pub use profile::{DriverOptions, JoinPoint, Profile, ProfileError, ProfileRegistry, TalkMode};
pub use sample::{Sample, SampleStatus};
pub use serial_settings::{Parity, SerialFormat, SerialSettings};
pub use timebase::{DrivenTime, RealTime, Timebase};
pub use unit::{QuantityKind, Unit};
