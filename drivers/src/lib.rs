//! Bytes on a line become samples with unit, resolution and status.
//!
//! This room knows ports, frames, checksums and units. It deliberately knows nothing of
//! cylinders, jobs, storage, HTTP or async runtimes: one operating-system thread per port
//! hands batches to whoever listens, and is never held up by what comes after.

pub mod driver;
pub mod sample;
pub mod transport;
pub mod unit;

pub use driver::{Decoded, Driver, Next, Trouble};
pub use sample::{Sample, Status};
pub use unit::{Kind, Unit};
