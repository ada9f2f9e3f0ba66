//! The state of a gauge's connection, in one word.

/// The state of a line's connection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum LineState {
    Opening,
    Open,
    Live,
    Silent,
    Lost,
    /// No port: a person reads the gauge by eye.
    ByEye,
}

impl LineState {
    pub(super) fn word(&self) -> &'static str {
        match self {
            LineState::Opening => "opening",
            LineState::Open => "open",
            LineState::Live => "live",
            LineState::Silent => "silent",
            LineState::Lost => "lost",
            LineState::ByEye => "by eye",
        }
    }
}
