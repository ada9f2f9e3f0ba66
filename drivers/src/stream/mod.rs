//! Recorded streams: the bytes of one gauge in both directions, with times.
//!
//! The format is newline-delimited JSON: a header object, then one array for each event, such as
//! `[41250,"rx","+0.1234 mm\r\n"]`. Times are whole microseconds since `start`. The characters
//! U+0000 to U+00FF stand for the bytes 0x00 to 0xFF. Each read is one event. Reads are never
//! merged, because bugs hide in split frames.
//!
//! This module knows the format. The profile knows what the bytes mean.

mod error;
mod play;
mod read;
mod write;

pub use error::{StreamError, StreamFault};
pub use play::{TimedDecoded, decode_stream, samples_of};
pub use read::StreamReader;
pub use write::StreamWriter;

use crate::serial_settings::SerialSettings;
use serde::{Deserialize, Serialize};

/// The version of the format.
pub const VERSION: u32 = 1;

/// The first line of a stream.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StreamHeader {
    /// The version of the format, 1.
    pub stream: u32,
    /// The name of the profile that the gauge follows.
    pub profile: String,
    /// A hash of the profile's text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profile_hash: Option<String>,
    /// The shop's name for the gauge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// The settings of the line.
    pub line: SerialSettings,
    /// The origin of the bytes.
    pub origin: StreamOrigin,
    /// Time at which the stream began (RFC 3339).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
    /// A free remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl StreamHeader {
    /// A header with the required fields.
    #[must_use]
    pub fn new(profile: impl Into<String>, line: SerialSettings, origin: StreamOrigin) -> Self {
        Self {
            stream: VERSION,
            profile: profile.into(),
            profile_hash: None,
            gauge: None,
            line,
            origin,
            start: None,
            note: None,
        }
    }
}

/// The origin of a stream's bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StreamOrigin {
    /// A program wrote the bytes.
    Synthesised,
    /// The bytes were read from a real gauge.
    Captured,
}

/// One event on the line, with its time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StreamEvent {
    /// Whole microseconds since the stream began.
    pub at_us: u64,
    /// The event.
    pub what: LineEvent,
}

/// An event on the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LineEvent {
    /// The gauge sent these bytes; they came in one read.
    Rx(Vec<u8>),
    /// These bytes were sent to the gauge.
    Tx(Vec<u8>),
    /// Modem inputs changed. Inputs that are not named kept their state.
    Line(ModemChange),
    /// The line was lost or opened.
    Link(LinkChange),
}

/// Modem inputs that changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModemChange {
    /// Clear to send.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cts: Option<bool>,
    /// Data set ready.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dsr: Option<bool>,
}

/// The loss or the opening of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LinkChange {
    /// The adapter left or the far side hung up.
    Gone,
    /// The line was opened, or opened again.
    Open,
}

/// A whole stream in memory.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stream {
    /// The first line.
    pub header: StreamHeader,
    /// The events in order of time.
    pub events: Vec<StreamEvent>,
}

impl Stream {
    /// Reads a whole stream.
    ///
    /// # Errors
    /// The first wrong line, what stands there and what to do.
    pub fn parse(text: &[u8]) -> Result<Self, StreamError> {
        let mut reader = StreamReader::new(text)?;
        let header = reader.header().clone();
        let events = reader.by_ref().collect::<Result<_, _>>()?;
        Ok(Self { header, events })
    }

    /// Reads a stream that may have been cut short, e.g. when its writer was killed: all events
    /// before the first line that is not whole, and what is wrong with that line. `None` instead of
    /// a stream where not even the header is whole.
    #[must_use]
    pub fn parse_cut(text: &[u8]) -> (Option<Self>, Option<StreamError>) {
        let mut reader = match StreamReader::new(text) {
            Ok(reader) => reader,
            Err(error) => return (None, Some(error)),
        };
        let mut stream = Self {
            header: reader.header().clone(),
            events: Vec::new(),
        };
        for event in reader.by_ref() {
            match event {
                Ok(event) => stream.events.push(event),
                Err(error) => return (Some(stream), Some(error)),
            }
        }
        (Some(stream), None)
    }

    /// Writes the whole stream.
    ///
    /// # Errors
    /// The writer's error, or an event that is earlier than the event before it.
    pub fn write_to(&self, to: impl std::io::Write) -> Result<(), StreamError> {
        let mut writer = StreamWriter::new(to, &self.header)?;
        for event in &self.events {
            writer.event(event)?;
        }
        writer.finish().map(drop)
    }

    /// Every byte that the gauge sent, in order.
    #[must_use]
    pub fn received(&self) -> Vec<u8> {
        let mut all = Vec::new();
        for event in &self.events {
            if let LineEvent::Rx(bytes) = &event.what {
                all.extend_from_slice(bytes);
            }
        }
        all
    }

    /// The time of the last event in microseconds. 0 if there is no event.
    #[must_use]
    pub fn duration_us(&self) -> u64 {
        self.events.last().map_or(0, |event| event.at_us)
    }
}

/// The text that stands for these bytes.
pub(crate) fn text_of(bytes: &[u8]) -> String {
    bytes.iter().copied().map(char::from).collect()
}

/// The bytes that a text stands for. The error is the first character that stands for no byte.
pub(crate) fn bytes_of(text: &str) -> Result<Vec<u8>, char> {
    text.chars()
        .map(|c| u8::try_from(u32::from(c)).map_err(|_| c))
        .collect()
}

#[cfg(test)]
mod tests;
