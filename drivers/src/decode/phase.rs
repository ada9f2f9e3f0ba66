//! The states of a conversation with one gauge, and what arriving bytes mean in each.

/// The state of a conversation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Phase {
    /// Nothing was sent since the line was opened.
    Fresh,
    Settling {
        until: u64,
    },
    Start {
        step: usize,
        tries: u32,
    },
    Starting {
        step: usize,
        tries: u32,
        deadline: u64,
        seen: Vec<u8>,
    },
    Listening,
    Idle {
        due: u64,
    },
    Draining {
        question: usize,
    },
    Awaiting {
        question: usize,
        deadline: u64,
        withhold: bool,
    },
    Thanks {
        due: u64,
    },
    Spoiled {
        until: u64,
        told: bool,
    },
    Proving {
        until: u64,
    },
}

/// The meaning of arriving bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum BytesMeaning {
    /// They are part of what the gauge sends by itself.
    Stream,
    /// They are part of the answer to this question.
    Answer { question: usize },
    /// They are part of the answer to a start-up command.
    StartUp,
    /// They came too late and are thrown away. `first` for the first of them.
    Late { first: bool },
    /// Nobody asked for them.
    Unasked,
}
