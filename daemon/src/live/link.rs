//! The state of a gauge's connection, in one word.

/// The state of a line's connection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Link {
    Opening,
    Open,
    Live,
    Silent,
    Lost,
    /// No port: a person reads the gauge by eye.
    ByEye,
}

impl Link {
    pub(super) fn word(&self) -> &'static str {
        match self {
            Link::Opening => "opening",
            Link::Open => "open",
            Link::Live => "live",
            Link::Silent => "silent",
            Link::Lost => "lost",
            Link::ByEye => "by eye",
        }
    }
}
