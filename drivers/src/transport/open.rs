//! Opening a line, and why it may fail: absent, busy and forbidden are three different answers.

use super::Transport;

/// Something that can open a line, again and again.
pub trait Opener: Send {
    /// Opens the line.
    ///
    /// # Errors
    /// Why it cannot be opened now.
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
        /// What was to be opened.
        path: String,
    },
    /// Another program holds the port.
    #[error("{path}: another program holds this port; close it there, then it is opened by itself")]
    Busy {
        /// What was to be opened.
        path: String,
    },
    /// This user may not open the port.
    #[error("{path}: this user may not open the port; {advice}")]
    Forbidden {
        /// What was to be opened.
        path: String,
        /// What to do about it on this system.
        advice: String,
    },
    /// What is there is no serial port.
    #[error("{path}: this is no serial port; name a device such as {example}")]
    NotAPort {
        /// What was to be opened.
        path: String,
        /// A name such as ports have on this system.
        example: &'static str,
    },
    /// The port does not take these settings.
    #[error(
        "{path}: the port does not take {line}; check speed and format in the profile, or use another adapter"
    )]
    Settings {
        /// What was to be opened.
        path: String,
        /// The settings, in words.
        line: String,
    },
    /// Two ports fit the gauge's identity equally well.
    #[error(
        "{wanted} fits both {first} and {second}; pin the gauge to one of them by its path, or by its place on the bus"
    )]
    Ambiguous {
        /// What was looked for.
        wanted: String,
        /// One port.
        first: String,
        /// Another.
        second: String,
    },
    /// Anything else that the system says.
    #[error("{path}: {reason}; unplug the adapter, plug it in again and try once more")]
    Failed {
        /// What was to be opened.
        path: String,
        /// What the system says.
        reason: String,
    },
}

impl OpenError {
    /// Whether two errors say the same of the same port, so that the second need not be told.
    #[must_use]
    pub fn says_the_same_as(&self, other: &OpenError) -> bool {
        self == other
    }
}
