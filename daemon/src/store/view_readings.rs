//! What a view is asked of its readings.

use crate::store::fact::ReadingId;
use crate::store::readings::ReadingCounts;
use crate::store::view::{JobView, KeptReading, ReadingState, StationPart};

impl JobView {
    /// Every reading ever kept, in the order of their numbers: superseded and voided ones too.
    pub fn readings(&self) -> impl Iterator<Item = &KeptReading> {
        self.readings.iter()
    }

    /// The readings with a number above `after` and below `before`, whatever their state.
    pub fn readings_between(
        &self,
        after: ReadingId,
        before: ReadingId,
    ) -> impl Iterator<Item = &KeptReading> {
        self.readings.between(after, before)
    }

    /// How many readings count.
    #[must_use]
    pub fn counts(&self) -> ReadingCounts {
        self.readings.counts()
    }

    /// The readings that count, of one stage, in the order of their numbers.
    pub fn live<'a>(&'a self, stage: &'a str) -> impl Iterator<Item = &'a KeptReading> {
        self.readings
            .iter()
            .filter(move |reading| reading.state.is_live() && reading.stage == stage)
    }

    /// A reading by its number.
    #[must_use]
    pub fn reading(&self, id: ReadingId) -> Option<&KeptReading> {
        self.readings.get(id)
    }

    /// The newest reading of this station with this number for people.
    #[must_use]
    pub fn numbered(&self, number: u64) -> Option<&KeptReading> {
        self.readings.numbered(&self.part.label, number)
    }

    /// The newest reading with this number as people say it: `B12` is another station's where
    /// several measure.
    #[must_use]
    pub fn said(&self, number: &str) -> Option<&KeptReading> {
        if let Ok(number) = number.parse() {
            return self.numbered(number);
        }
        let of_part = |part: &StationPart| {
            let label = Some(&*part.label).filter(|label| !label.is_empty())?;
            let number = number.strip_prefix(label)?;
            let number = number.strip_prefix('-').unwrap_or(number).parse().ok()?;
            self.readings.numbered(label, number)
        };
        self.parts().find_map(of_part)
    }

    /// Whether several stations measured, so that a number names a reading only with its station.
    #[must_use]
    pub fn several_measure(&self) -> bool {
        self.parts().any(|part| !part.label.is_empty())
    }

    /// The readings at a spot in a stage, whatever their state, in the order of their numbers. A
    /// reading that was moved away is not among them.
    pub fn at_spot<'a>(
        &'a self,
        stage: &str,
        spot: &str,
    ) -> impl Iterator<Item = &'a KeptReading> + use<'a> {
        self.readings.at(stage, spot)
    }

    /// The readings that count at a spot in a stage, the newest first.
    pub fn newest_at<'a>(
        &'a self,
        stage: &str,
        spot: &str,
    ) -> impl Iterator<Item = &'a KeptReading> + use<'a> {
        self.readings.newest_at(stage, spot)
    }

    /// How many readings count at a spot in a stage.
    #[must_use]
    pub fn count_at(&self, stage: &str, spot: &str) -> usize {
        self.readings.count_at(stage, spot)
    }

    /// Of every spot of a stage whose first word is `family`, the spot and its readings that count,
    /// the newest first.
    pub fn newest_of<'a>(
        &'a self,
        stage: &'a str,
        family: &'a str,
    ) -> impl Iterator<Item = (&'a str, impl Iterator<Item = &'a KeptReading>)> {
        self.readings.newest_of(stage, family)
    }

    /// The number of the reading that now stands for this one: itself, or the last of those that
    /// replaced it one after another.
    #[must_use]
    pub fn successor(&self, id: ReadingId) -> Option<ReadingId> {
        let mut reading = self.readings.get(id)?;
        while let ReadingState::Superseded { by } = reading.state {
            reading = self.readings.get(by)?;
        }
        Some(reading.id)
    }
}
