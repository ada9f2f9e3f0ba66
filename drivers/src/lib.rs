//! Bytes on a line become samples with unit, resolution and status.
//!
//! This room knows ports, frames, checksums and units. It deliberately knows nothing of
//! cylinders, jobs, storage, HTTP or async runtimes: one operating-system thread per port
//! hands batches to whoever listens, and is never held up by what comes after.

mod arrival;
pub mod bench;
pub mod decode;
pub mod driver;
pub mod line;
pub mod port;
pub mod profile;
pub mod sample;
pub mod stream;
pub mod timebase;
pub mod transport;
pub mod unit;

pub use decode::ProfileDriver;
pub use driver::{Decoded, Driver, Next, Trouble};
pub use line::{Format, Line, Parity};
pub use port::{Port, PortEvent};
pub use profile::{DriverOptions, Joined, Mode, Profile, ProfileError, Registry};
pub use sample::{Sample, Status};
pub use timebase::{DrivenTime, RealTime, Timebase};
pub use unit::{QuantityKind, Unit};
