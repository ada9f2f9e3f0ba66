//! What to send to a gauge, and what its bytes mean.
//!
//! A driver works on bytes handed to it and on a time handed to it. It never opens a port,
//! never reads a clock, and treats "not yet a whole frame" as the normal case.

use crate::sample::Sample;

/// The conversation with one gauge.
///
/// The caller owns the port and the time. It asks [`Driver::next`] what to do and does it. It
/// hands every byte that arrives to [`Driver::receive`], in order.
pub trait Driver: Send {
    /// The caller's next action at `now_us` (microseconds since the stream began, never going
    /// back).
    fn next(&mut self, now_us: u64) -> NextAction;

    /// Decodes bytes that were read at `at_us` and appends the results to `out`. Bytes of an
    /// unfinished frame are kept for the next call. No bytes can make it panic.
    ///
    /// An empty `bytes` says that time has passed, so an unanswered question is reported. A caller
    /// does this after each [`Driver::next`] and each empty read.
    fn receive(&mut self, at_us: u64, bytes: &[u8], out: &mut Vec<Decoded>);

    /// Starts over when the line was opened, the first time as well, and in a recorded stream where
    /// the gauge went away: forgets unfinished frames and open questions.
    /// A driver that keeps nothing has nothing to do.
    fn restart(&mut self) {}
}

/// The caller's next action.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NextAction {
    /// Listen until bytes come. There is nothing to send.
    Listen,
    /// Listen until this time, then ask again. There is nothing to send before.
    Wait {
        /// Microseconds since the stream began.
        until_us: u64,
    },
    /// Throw away the bytes that the port has received and not yet handed over, then ask again at
    /// once. The driver throws away any bytes that are handed over before the next question.
    Drain,
    /// Send these bytes, then ask again at once.
    Send(Vec<u8>),
}

/// One result of decoding.
#[derive(Debug, Clone, PartialEq)]
pub enum Decoded {
    /// A value.
    Sample(Sample),
    /// The reason for the lack of a value.
    Trouble(DecodeTrouble),
}

/// Why bytes or silence gave no sample. The conversation goes on after each of these.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DecodeTrouble {
    /// Bytes that fit no frame were passed over.
    Skipped {
        /// Number of bytes.
        bytes: usize,
    },
    /// A frame whose checksum did not fit.
    Checksum {
        /// The checksum computed from the frame.
        computed: u32,
        /// The checksum that the frame states.
        stated: u32,
    },
    /// The value in a whole frame could not be read. The text says why.
    Unreadable(String),
    /// The gauge refused a question. The text says how.
    Refused(String),
    /// No answer came in time. The session is spoiled until the reply window has passed.
    NoAnswer,
    /// An answer that came too late, or to another question, was thrown away.
    LateAnswer,
    /// The first answer after a lost one was thrown away. It only showed that question and answer
    /// are in step again.
    Withheld,
    /// The parity of some bytes did not fit. The driver judges parity only on 7-bit lines.
    Parity {
        /// Number of bytes.
        bytes: usize,
    },
}
