//! A verdict as a sheet shows it: its sign and its frame tell it without colour.

use benchhand_blueprint::decide::VerdictAnswer;

/// A verdict.
pub(crate) struct Verdict {
    /// The class of its frame.
    pub(crate) class: &'static str,
    pub(crate) sign: &'static str,
    pub(crate) words: &'static str,
}

impl Verdict {
    pub(crate) fn new(answer: VerdictAnswer, words: &'static str) -> Self {
        let (class, sign) = match answer {
            VerdictAnswer::Within => ("ok", "✓"),
            VerdictAnswer::Outside => ("not-ok", "✕"),
            VerdictAnswer::CannotTell => ("unsure", "?"),
        };
        Self { class, sign, words }
    }
}
