//! A job's readings, indexed for two frequent questions: which are at a spot, and how many count.
//!
//! A copy shares its structure with the original. So a copy costs the same for any number of
//! readings, and a change costs only what it touches. Every change also updates the index and the
//! counts, so nobody has to go through all readings.

use rpds::{RedBlackTreeMapSync, RedBlackTreeSetSync};

use crate::store::kept_reading::{KeptReading, ReadingPlace, ReadingState};
use crate::store::reading::ReadingId;

/// The readings of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct JobReadings {
    all: RedBlackTreeMapSync<ReadingId, KeptReading>,
    spots: RedBlackTreeMapSync<StageSpot, ReadingsAtSpot>,
    counts: ReadingCounts,
}

/// How many readings a job has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ReadingCounts {
    /// How many count, over all stages.
    pub live: usize,
    /// How many of those are marked.
    pub marked: usize,
}

/// A spot in a stage.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct StageSpot {
    stage: String,
    spot: String,
}

/// The readings at one spot in one stage, in the order in which they were taken.
#[derive(Debug, Clone, PartialEq, Default)]
struct ReadingsAtSpot {
    all: RedBlackTreeSetSync<(ReadingPlace, ReadingId)>,
    live: RedBlackTreeSetSync<(ReadingPlace, ReadingId)>,
}

/// The properties of a reading on which the index and the counts depend.
#[derive(PartialEq)]
struct Counted {
    at: StageSpot,
    live: bool,
    marked: bool,
}

impl StageSpot {
    fn new(stage: &str, spot: &str) -> Self {
        Self {
            stage: stage.to_owned(),
            spot: spot.to_owned(),
        }
    }
}

impl Counted {
    fn of(reading: &KeptReading) -> Self {
        Self {
            at: StageSpot::new(&reading.stage, &reading.spot),
            live: reading.state.is_live(),
            marked: reading.marked.is_some(),
        }
    }
}

impl JobReadings {
    /// Every reading, in the order of the numbers.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &KeptReading> {
        self.all.values()
    }

    /// The readings with a number above `after` and below `before`, in the order of the numbers.
    pub(crate) fn between(
        &self,
        after: ReadingId,
        before: ReadingId,
    ) -> impl Iterator<Item = &KeptReading> {
        let from = after.saturating_add(1);
        let readings = (from < before).then(|| self.all.range(from..before));
        readings.into_iter().flatten().map(|(_, reading)| reading)
    }

    /// A reading by its number.
    pub(crate) fn get(&self, id: ReadingId) -> Option<&KeptReading> {
        self.all.get(&id)
    }

    /// How many there are.
    pub(crate) fn counts(&self) -> ReadingCounts {
        self.counts
    }

    /// The readings at a spot in a stage, in the order in which they were taken.
    pub(crate) fn at<'a>(
        &'a self,
        stage: &str,
        spot: &str,
    ) -> impl Iterator<Item = &'a KeptReading> + use<'a> {
        let there = self.spots.get(&StageSpot::new(stage, spot));
        let ids = there.into_iter().flat_map(|there| there.all.iter());
        ids.filter_map(|(_, id)| self.all.get(id))
    }

    /// The readings that count at a spot in a stage, the newest first.
    pub(crate) fn newest_at<'a>(
        &'a self,
        stage: &str,
        spot: &str,
    ) -> impl Iterator<Item = &'a KeptReading> + use<'a> {
        let there = self.spots.get(&StageSpot::new(stage, spot));
        there.into_iter().flat_map(|there| self.newest(there))
    }

    /// How many readings count at a spot in a stage.
    pub(crate) fn count_at(&self, stage: &str, spot: &str) -> usize {
        let there = self.spots.get(&StageSpot::new(stage, spot));
        there.map_or(0, |there| there.live.size())
    }

    /// The spots of a stage whose first word is `family`, each with its readings that count, the
    /// newest first.
    pub(crate) fn newest_of<'a>(
        &'a self,
        stage: &'a str,
        family: &'a str,
    ) -> impl Iterator<Item = (&'a str, impl Iterator<Item = &'a KeptReading>)> {
        let spots = self.spots.range(StageSpot::new(stage, family)..);
        let below = move |(at, _): &(&StageSpot, &ReadingsAtSpot)| {
            at.stage == stage && at.spot.starts_with(family)
        };
        let of = move |(at, there): (&'a StageSpot, &'a ReadingsAtSpot)| {
            let rest = at.spot.get(family.len()..)?;
            let same = rest.is_empty() || rest.starts_with('/');
            same.then(|| (at.spot.as_str(), self.newest(there)))
        };
        spots.take_while(below).filter_map(of)
    }

    fn newest<'a>(&'a self, there: &'a ReadingsAtSpot) -> impl Iterator<Item = &'a KeptReading> {
        let newest = there.live.iter().rev();
        newest.filter_map(|(_, id)| self.all.get(id))
    }

    /// The reading that people call by this number, at the station of this name. Of several, that
    /// which replaced the others.
    pub(crate) fn numbered(&self, station: &str, number: u64) -> Option<&KeptReading> {
        let one = |reading: &&KeptReading| reading.number == number && *reading.station == *station;
        // A revision keeps the number, even if another station made it.
        let stands = |one: &KeptReading| !matches!(one.state, ReadingState::Superseded { .. });
        let named = self.all.values().filter(one);
        named.max_by_key(|one| (stands(one), one.order()))
    }

    /// The other readings of a reading's number: those that it replaced, or that replaced it.
    pub(crate) fn others_of(&self, id: ReadingId) -> impl Iterator<Item = &KeptReading> {
        let one = self.all.get(&id);
        let same = move |other: &&KeptReading| {
            one.is_some_and(|one| {
                other.id != one.id && other.number == one.number && other.station == one.station
            })
        };
        self.all.values().filter(same)
    }

    /// Takes in a new reading.
    pub(crate) fn insert(&mut self, reading: KeptReading) {
        self.enter(reading.order(), Counted::of(&reading));
        self.all.insert_mut(reading.id, reading);
    }

    /// Changes a reading; returns whether there is one.
    pub(crate) fn change(&mut self, id: ReadingId, change: impl FnOnce(&mut KeptReading)) -> bool {
        let Some(reading) = self.all.get_mut(&id) else {
            return false;
        };
        let before = Counted::of(reading);
        change(reading);
        let (after, order) = (Counted::of(reading), reading.order());
        if before != after {
            self.leave(order, &before);
            self.enter(order, after);
        }
        true
    }

    fn enter(&mut self, order: (ReadingPlace, ReadingId), counted: Counted) {
        self.counts.live += usize::from(counted.live);
        self.counts.marked += usize::from(counted.live && counted.marked);
        let add = |there: &mut ReadingsAtSpot| {
            there.all.insert_mut(order);
            if counted.live {
                there.live.insert_mut(order);
            }
        };
        match self.spots.get_mut(&counted.at) {
            Some(there) => add(there),
            None => {
                let mut there = ReadingsAtSpot::default();
                add(&mut there);
                self.spots.insert_mut(counted.at, there);
            }
        }
    }

    fn leave(&mut self, order: (ReadingPlace, ReadingId), counted: &Counted) {
        self.counts.live -= usize::from(counted.live);
        self.counts.marked -= usize::from(counted.live && counted.marked);
        let Some(there) = self.spots.get_mut(&counted.at) else {
            return;
        };
        there.all.remove_mut(&order);
        there.live.remove_mut(&order);
        if there.all.is_empty() {
            self.spots.remove_mut(&counted.at);
        }
    }
}
