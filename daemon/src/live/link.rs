//! How a gauge's line is, in one word.

/// How a line is just now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Link {
    Opening,
    Open,
    Live,
    Silent,
    Lost,
    /// Nobody listens: a person reads it off.
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
