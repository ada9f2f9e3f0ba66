//! A line that carries bytes, of whatever kind.
//!
//! A transport knows nothing of frames or gauges.

pub mod identity;
mod macos;
mod memory;
mod open;
#[cfg(unix)]
pub mod pty;
mod recorded;
pub mod serial;
pub mod sysfs;

use std::time::Duration;

pub use identity::{FoundPort, PortIdentity, UsbIdentity};
pub use memory::{MemoryEnd, memory_pair};
pub use open::{OpenError, Opener};
pub use recorded::RecordedTransport;

/// An open line. Dropping it closes it.
pub trait Transport: Send {
    /// Reads the bytes that are there. Waits for at most `timeout` if there are none. `Ok(0)`
    /// means that nothing came.
    ///
    /// # Errors
    /// [`LinkError::Gone`] once the far side has hung up or the adapter has left.
    fn read(&mut self, buffer: &mut [u8], timeout: Duration) -> Result<usize, LinkError>;

    /// Writes all of `bytes`.
    ///
    /// # Errors
    /// [`LinkError::Gone`] as for reading. [`LinkError::Stuck`] if the line takes no more bytes.
    fn write(&mut self, bytes: &[u8]) -> Result<(), LinkError>;

    /// Throws away bytes that have arrived and are not yet read.
    ///
    /// # Errors
    /// [`LinkError::Gone`] as for reading.
    fn drain(&mut self) -> Result<(), LinkError>;

    /// The modem inputs. `None` if this line has none (a pseudo-terminal).
    ///
    /// # Errors
    /// [`LinkError::Gone`] as for reading.
    fn inputs(&mut self) -> Result<Option<ModemInputs>, LinkError>;
}

/// The modem inputs that a contact can close.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ModemInputs {
    /// Clear to send.
    pub cts: bool,
    /// Data set ready.
    pub dsr: bool,
}

/// Why an open line failed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LinkError {
    /// The far side hung up, or the adapter left.
    #[error("the line is gone: {0}")]
    Gone(String),
    /// The line took no more bytes within the time allowed.
    #[error("the line takes no more bytes")]
    Stuck,
}
