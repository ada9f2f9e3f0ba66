//! Bytes on a line become samples with unit, resolution and status.
//!
//! This room knows ports, frames, checksums and units. It deliberately knows nothing of
//! cylinders, jobs, storage, HTTP or async runtimes: one operating-system thread per port
//! hands batches to whoever listens, and is never held up by what comes after.

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
pub use sample::{Sample, Status};
pub use serial_settings::{Parity, SerialFormat, SerialSettings};
pub use timebase::{DrivenTime, RealTime, Timebase};
pub use unit::{QuantityKind, Unit};
