//! The sessions in which a job was worked on.
//!
//! A session ends after four hours in which nothing is done on the job. What drifts meanwhile (a
//! zero, a temperature) is no longer known in the next session.

use jiff::{SignedDuration, Timestamp};

use crate::store::fact::{Fact, ReadingId};

/// After a pause of this length a zero and a temperature are asked for anew.
pub const PAUSE: SignedDuration = SignedDuration::from_hours(4);

/// Where each session of a job begins.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sessions {
    /// The first fact of each session but the first.
    begins: Vec<u64>,
    /// When the last work was done.
    last: Option<Timestamp>,
}

impl Sessions {
    /// Takes in a fact. Facts that the program writes by itself, rows from a file, orders and
    /// cuts that are taken back are no work at the bench.
    pub(crate) fn take(&mut self, seq: u64, at: Timestamp, fact: &Fact) {
        if matches!(
            fact,
            Fact::Joined(_)
                | Fact::Input(_)
                | Fact::Import(_)
                | Fact::Ordered(_)
                | Fact::CutWithdrawn(_)
                | Fact::DamageKnown { .. }
                | Fact::Stop {}
        ) {
            return;
        }
        if self.over_at(at) {
            self.begins.push(seq);
        }
        self.last = self.last.max(Some(at));
    }

    /// The session of a fact or reading, counted from 0.
    #[must_use]
    pub fn of(&self, id: ReadingId) -> usize {
        self.begins.partition_point(|&begin| begin <= id)
    }

    /// The latest session, counted from 0; `None` where a new session would begin at `now`.
    #[must_use]
    pub fn at(&self, now: Timestamp) -> Option<usize> {
        (!self.over_at(now)).then_some(self.begins.len())
    }

    /// When the last work was done.
    pub(crate) fn last(&self) -> Option<Timestamp> {
        self.last
    }

    fn over_at(&self, now: Timestamp) -> bool {
        self.last
            .is_some_and(|last| now.duration_since(last) >= PAUSE)
    }
}
