//! What can be wrong with a recorded stream.

/// A stream that could not be read or written on.
#[derive(Debug, thiserror::Error)]
#[error("line {line} of the stream: {fault}")]
pub struct StreamError {
    /// The line, counted from 1; the header is line 1.
    pub line: usize,
    /// What is wrong with it.
    pub fault: StreamFault,
}

impl StreamError {
    pub(super) fn new(line: usize, fault: StreamFault) -> Self {
        Self { line, fault }
    }
}

/// What is wrong with a line.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StreamFault {
    /// The file could not be read or written.
    #[error("{0}")]
    Io(#[from] std::io::Error),
    /// There is no line at all.
    #[error(
        "found nothing; expected a header such as {EXAMPLE}; check that this is the right file"
    )]
    Empty,
    /// The first line is no header.
    #[error(
        "found no header ({reason}); expected an object such as {EXAMPLE}; check that this is a recorded stream"
    )]
    Header {
        /// What the JSON reader says.
        reason: String,
    },
    /// The stream has another version.
    #[error(
        "found version {found}; expected {}; read it with the release that wrote it",
        super::VERSION
    )]
    Version {
        /// The version it states.
        found: u64,
    },
    /// A line is no event.
    #[error(
        "found {found}; expected an event such as [41250,\"rx\",\"+0.1234 mm\\r\\n\"], [0,\"tx\",\"?\\r\"], [941250,\"line\",{{\"cts\":true}}] or [942450,\"link\",\"gone\"]; the lines before it are sound"
    )]
    Event {
        /// What stands there, cut short.
        found: String,
    },
    /// A character that stands for no byte.
    #[error(
        "found the character {found:?}; expected U+0000 to U+00FF, one for each byte; the file was changed or is of another kind"
    )]
    NotAByte {
        /// The character.
        found: char,
    },
    /// An event lies before the one in front of it.
    #[error(
        "found time {found} µs behind {before} µs; expected times that never go back; the lines were reordered or joined"
    )]
    TimeBack {
        /// Its time.
        found: u64,
        /// The time of the event in front of it.
        before: u64,
    },
    /// The last line has no end.
    #[error(
        "found a last line without its end; expected a line feed; the recorder was cut off there, and the lines before it are sound"
    )]
    Torn,
    /// A line is longer than any event.
    #[error(
        "found more than {limit} bytes without a line feed; expected one event a line; this is no recorded stream, or it was damaged"
    )]
    TooLong {
        /// The most that a line may have.
        limit: usize,
    },
}

const EXAMPLE: &str = r#"{"stream":1,"profile":"ascii-length","line":{"baud":9600,"format":"8N1"},"origin":"captured"}"#;
