//! What can be wrong with a recorded stream.

/// A stream that could not be read or written on.
#[derive(Debug, thiserror::Error)]
#[error("line {line} of the stream: {fault}")]
pub struct StreamError {
    /// The line, counted from 1; the header is line 1.
    pub line: usize,
    /// The mistake in that line.
    pub fault: StreamFault,
}

impl StreamError {
    pub(super) fn new(line: usize, fault: StreamFault) -> Self {
        Self { line, fault }
    }
}

/// A mistake in one line of a stream.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StreamFault {
    /// The file could not be read or written.
    #[error("{0}")]
    Io(#[from] std::io::Error),
    /// The file is empty.
    #[error(
        "found nothing; expected a header such as {EXAMPLE}; check that this is the right file"
    )]
    Empty,
    /// The first line is not a header.
    #[error(
        "found no header ({reason}); expected an object such as {EXAMPLE}; check that this is a recorded stream"
    )]
    Header {
        /// The JSON reader's words.
        reason: String,
    },
    /// The stream has another version.
    #[error(
        "found version {found}; expected {}; read it with the release that wrote it",
        super::VERSION
    )]
    Version {
        /// The version in the header.
        found: u64,
    },
    /// A line is not an event.
    #[error(
        "found {found}; expected an event such as [41250,\"rx\",\"+0.1234 mm\\r\\n\"], [0,\"tx\",\"?\\r\"], [941250,\"line\",{{\"cts\":true}}] or [942450,\"link\",\"gone\"]; the lines before it are sound"
    )]
    Event {
        /// The text of the line, shortened.
        found: String,
    },
    /// A character above U+00FF stands for no byte.
    #[error(
        "found the character {found:?}; expected U+0000 to U+00FF, one for each byte; the file was changed or is of another kind"
    )]
    NotAByte {
        /// The character.
        found: char,
    },
    /// An event is earlier than the event before it.
    #[error(
        "found time {found} µs after {before} µs; expected times that never go back; the lines were reordered or joined"
    )]
    TimeBack {
        /// Time of the event, in microseconds.
        found: u64,
        /// Time of the event before it, in microseconds.
        before: u64,
    },
    /// The last line has no end.
    #[error(
        "found a last line without its end; expected a line feed; the recorder was cut off there, and the lines before it are sound"
    )]
    Torn,
    /// A line is longer than any event.
    #[error(
        "found more than {limit} bytes without a line feed; expected one event on each line; the file is not a recorded stream, or it was damaged"
    )]
    TooLong {
        /// Most bytes that a line may have.
        limit: usize,
    },
}

const EXAMPLE: &str = r#"{"stream":1,"profile":"ascii-length","line":{"baud":9600,"format":"8N1"},"origin":"captured"}"#;
