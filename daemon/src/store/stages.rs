//! The stages of a job: those that its cuts opened, and which of them still stand.
//!
//! A stage is known by the fact that opened it. Where its cut is taken back it is none any more, and
//! its readings count for the latest stage before it that stands. Each reading keeps the stage in
//! which it was taken, so that nothing is lost where the cut turns out to be one after all.

use jiff::Timestamp;

use crate::store::fact::PartsCut;

/// A state of the parts, from one cut to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct JobStage {
    /// Its name.
    pub name: String,
    /// The number of the fact that opened it.
    pub seq: u64,
    /// When the stage was opened.
    pub at: Timestamp,
    /// The cut that opened it, as it was last said; `None` for the first stage.
    pub cut: Option<PartsCut>,
    /// What was last said of the cut after it; `None` where nothing was.
    pub corrected: Option<CutCorrection>,
}

/// What was last said of a cut after it.
#[derive(Debug, Clone, PartialEq)]
pub struct CutCorrection {
    /// The number of the fact.
    pub seq: u64,
    /// When it was said.
    pub at: Timestamp,
    /// Why.
    pub reason: String,
    /// Initials of who said it, where they are known.
    pub by: Option<String>,
    /// Whether something was cut all the same.
    pub stands: bool,
}

impl JobStage {
    /// Whether the stage is one: its cut was not taken back.
    #[must_use]
    pub fn stands(&self) -> bool {
        self.corrected.as_ref().is_none_or(|last| last.stands)
    }

    /// The number of the fact that last said what was cut.
    #[must_use]
    pub fn said(&self) -> u64 {
        self.corrected.as_ref().map_or(self.seq, |last| last.seq)
    }
}
