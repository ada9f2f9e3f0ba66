//! What comes of a run: what is to be said, and what it changed.

use benchhand_blueprint::Spot;
use benchhand_wire::{BuretteCounts, SaidAs};

/// An earlier reading that later ones disagree with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DoubtedReading {
    /// The reading's number.
    pub id: u64,
    /// The reading's spot.
    pub spot: Spot,
    /// The value as shown.
    pub shown: String,
}

/// What a person at the bench should hear.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpokenText {
    /// What sort of thing it is.
    pub said_as: SaidAs,
    /// The words.
    pub text: String,
}

/// What a run changed while it worked on something.
#[derive(Debug, Default)]
pub struct RunOutcome {
    /// What to say.
    pub said: Vec<SpokenText>,
    /// Readings that were kept, revised, made final or voided.
    pub readings: Vec<u64>,
    /// Whether the route stands at another stop now.
    pub moved: bool,
    /// Which way the scale of a gauge runs, where a person told.
    pub learned: Vec<(String, BuretteCounts)>,
}

impl RunOutcome {
    /// Whether nothing came of it, as of most samples.
    pub fn is_empty(&self) -> bool {
        !self.moved && self.said.is_empty() && self.readings.is_empty() && self.learned.is_empty()
    }

    pub(in crate::live) fn say(&mut self, said_as: SaidAs, text: impl Into<String>) {
        self.said.push(SpokenText {
            said_as,
            text: text.into(),
        });
    }
}
