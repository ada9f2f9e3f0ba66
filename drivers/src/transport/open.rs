//! Opening a line, and why it may fail. Absent, busy and forbidden are three different errors.

use super::Transport;

/// Opens a line, as often as it is asked.
pub trait Opener: Send {
    /// Opens the line.
    ///
    /// # Errors
    /// Why the line cannot be opened now.
    fn open(&mut self) -> Result<Box<dyn Transport>, OpenError>;
}

impl<F> Opener for F
where
    F: FnMut() -> Result<Box<dyn Transport>, OpenError> + Send,
{
    fn open(&mut self) -> Result<Box<dyn Transport>, OpenError> {
        self()
    }
}

/// Why a line could not be opened.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum OpenError {
    /// There is no such port.
    #[error(
        "{path}: no such port; is the gauge's adapter plugged in? it may have come back under another name"
    )]
    Absent {
        /// The path of the port.
        path: String,
    },
    /// Another program holds the port.
    #[error(
        "{path}: another program holds this port; close that program, and the port is opened by itself"
    )]
    Busy {
        /// The path of the port.
        path: String,
    },
    /// This user may not open the port.
    #[error("{path}: this user may not open the port; {advice}")]
    Forbidden {
        /// The path of the port.
        path: String,
        /// What to do on this system.
        advice: String,
    },
    /// The path is not a serial port.
    #[error("{path}: this is not a serial port; name a device such as {example}")]
    NotAPort {
        /// The path of the port.
        path: String,
        /// An example of a port's name on this system.
        example: &'static str,
    },
    /// The port does not take these settings.
    #[error(
        "{path}: the port does not take {line}; check speed and format in the profile, or use another adapter"
    )]
    Settings {
        /// The path of the port.
        path: String,
        /// The settings, in words.
        line: String,
    },
    /// Two ports fit the gauge's identity equally well.
    #[error(
        "{wanted} fits both {first} and {second}; pin the gauge to one of them by its path, or by its place on the bus"
    )]
    Ambiguous {
        /// The identity that was looked for.
        wanted: String,
        /// The first port.
        first: String,
        /// The second port.
        second: String,
    },
    /// Another error of the system.
    #[error("{path}: {reason}; unplug the adapter, plug it in again and try once more")]
    Failed {
        /// The path of the port.
        path: String,
        /// The system's words.
        reason: String,
    },
}

impl OpenError {
    /// Whether two errors say the same about the same port, so that the second need not be
    /// reported.
    #[must_use]
    pub fn says_the_same_as(&self, other: &OpenError) -> bool {
        self == other
    }
}
