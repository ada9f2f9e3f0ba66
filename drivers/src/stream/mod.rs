//! Recorded streams: the bytes of one gauge in both directions, with times.
//!
//! Newline-delimited JSON: a header object, then one array for each event, as
//! `[41250,"rx","+0.1234 mm\r\n"]`. Times are whole microseconds since `start`; the characters
//! U+0000 to U+00FF stand for the bytes 0x00 to 0xFF. One event for each read; chunks are never
//! merged, since split frames are where bugs live.
//!
//! This module knows the format; what the bytes mean is the profile's.

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

/// What stands in a stream's first line.
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
    /// How the line was set.
    pub line: SerialSettings,
    /// Where the bytes come from.
    pub origin: StreamOrigin,
    /// When the stream began, as an RFC 3339 time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
    /// Anything worth knowing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl StreamHeader {
    /// A header with what every stream must state.
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

/// Where a stream's bytes come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StreamOrigin {
    /// Written by a program.
    Synthesised,
    /// Read from a real gauge.
    Captured,
}

/// Something that happened on the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StreamEvent {
    /// Whole microseconds since the stream began.
    pub at_us: u64,
    /// What happened.
    pub what: LineEvent,
}

/// What happened on the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LineEvent {
    /// The gauge sent these bytes; one read's worth.
    Rx(Vec<u8>),
    /// These bytes were sent to the gauge.
    Tx(Vec<u8>),
    /// Inputs for the modem lines changed; those not named kept their state.
    Line(ModemChange),
    /// The line itself went or came.
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

/// What became of the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LinkChange {
    /// The adapter left or the far side hung up.
    Gone,
    /// It was opened, or opened again.
    Open,
}

/// A whole stream in memory.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stream {
    /// Its first line.
    pub header: StreamHeader,
    /// What happened, in order of time.
    pub events: Vec<StreamEvent>,
}

impl Stream {
    /// Reads a whole stream.
    ///
    /// # Errors
    /// The first line that is wrong, with what stands there and what to do.
    pub fn parse(text: &[u8]) -> Result<Self, StreamError> {
        let mut reader = StreamReader::new(text)?;
        let header = reader.header().clone();
        let events = reader.by_ref().collect::<Result<_, _>>()?;
        Ok(Self { header, events })
    }

    /// Writes the whole stream.
    ///
    /// # Errors
    /// What the writer says, or an event that lies before the one in front of it.
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

    /// The time of the last event, 0 where there is none.
    #[must_use]
    pub fn duration_us(&self) -> u64 {
        self.events.last().map_or(0, |event| event.at_us)
    }
}

/// Bytes as the text that stands for them.
pub(crate) fn text_of(bytes: &[u8]) -> String {
    bytes.iter().copied().map(char::from).collect()
}

/// The bytes that a text stands for, or the first character that stands for none.
pub(crate) fn bytes_of(text: &str) -> Result<Vec<u8>, char> {
    text.chars()
        .map(|c| u8::try_from(u32::from(c)).map_err(|_| c))
        .collect()
}

#[cfg(test)]
mod tests;
