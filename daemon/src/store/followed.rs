//! A fact of a job on the way through all of them.

use crate::store::fact::Fact;

/// A fact of a job on the way through it.
#[derive(Debug, Clone, Copy)]
pub struct FollowedFact<'a> {
    /// Its number in the view.
    pub id: u64,
    /// The station that wrote it, by its letter or some digits; `None` where it is this one.
    pub station: Option<&'a str>,
    /// With the numbers of its own journal.
    pub fact: &'a Fact,
}
