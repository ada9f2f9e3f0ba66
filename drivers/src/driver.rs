//! What a gauge is asked, and what its bytes mean.
//!
//! A driver works on bytes handed to it and on a time handed to it. It never opens a port,
//! never reads a clock, and treats "not yet a whole frame" as the normal case.

use crate::sample::Sample;

/// The conversation with one gauge.
///
/// The caller owns the port and the time: it asks [`Driver::next`] what to do, does it, and
/// hands every byte that arrives to [`Driver::receive`], in order and undivided by meaning.
pub trait Driver: Send {
    /// What is to be done at `now_us` (microseconds since the stream began, never going back).
    fn next(&mut self, now_us: u64) -> Next;

    /// What these bytes, read at `at_us`, mean. Appends to `out`; bytes of an unfinished frame
    /// are kept inside for the next call. Never panics, whatever the bytes.
    ///
    /// No bytes at all says that time has passed: a question that stays unanswered is told of
    /// in the next call. A caller does this after each [`Driver::next`] and each empty read.
    fn receive(&mut self, at_us: u64, bytes: &[u8], out: &mut Vec<Decoded>);

    /// The line was opened anew: forgets unfinished frames and open questions, and begins the
    /// conversation from its start. A driver that keeps nothing has nothing to do.
    fn restart(&mut self) {}
}

/// What the caller should do next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Next {
    /// Nothing to send: listen until bytes come.
    Listen,
    /// Nothing to send before this time: listen until then, then ask again.
    Wait {
        /// Microseconds since the stream began.
        until_us: u64,
    },
    /// Throw away what the port has received and not yet handed over, then ask again at once.
    /// Bytes that are handed over all the same before the next question are thrown away inside.
    Drain,
    /// Send these bytes, then ask again at once.
    Send(Vec<u8>),
}

/// What came out of the bytes.
#[derive(Debug, Clone, PartialEq)]
pub enum Decoded {
    /// A value.
    Sample(Sample),
    /// Something that was not one, with the reason.
    Trouble(Trouble),
}

/// Why bytes or silence gave no sample. None of these ends the conversation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// Bytes that fit no frame were passed over.
    Skipped {
        /// How many.
        bytes: usize,
    },
    /// A frame whose checksum did not fit.
    Checksum {
        /// What the frame's bytes give.
        computed: u32,
        /// What the frame said.
        stated: u32,
    },
    /// A whole frame whose value could not be read, in words.
    Unreadable(String),
    /// The gauge answered a question with a refusal of its own, in words.
    Refused(String),
    /// No answer came in time; the session is spoiled until the reply window has passed.
    NoAnswer,
    /// An answer that came too late, or to another question, was thrown away.
    LateAnswer,
    /// The first answer after a lost one was thrown away: it only shows that question and answer
    /// are in step again.
    Withheld,
    /// Bytes whose parity did not fit, on a line whose parity is judged here.
    Parity {
        /// How many.
        bytes: usize,
    },
}
