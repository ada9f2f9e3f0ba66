//! The states of a conversation, and what they ask of the caller.

/// Where the conversation stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Phase {
    /// Nothing was asked or sent since the line was opened.
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

/// What the caller is to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Turn {
    Listen,
    Wait(u64),
    Drain,
    Send(Vec<u8>),
}

/// What bytes that arrive now are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Meaning {
    /// Part of what the gauge sends by itself.
    Stream,
    /// Part of the answer to this question.
    Answer { question: usize },
    /// Part of the answer to a start-up command.
    StartUp,
    /// Too late; to be thrown away.
    Late { first: bool },
    /// Nothing was asked.
    Unasked,
}
