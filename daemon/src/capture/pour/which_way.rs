//! A burette whose direction of counting nobody knows: everything waits until a person tells it.
//!
//! Example: a first movement from 60 to 0 is a delivery on a scale that counts down, and a refill
//! on one that counts up. No signal tells the two apart, so nothing is guessed. What came meanwhile
//! is then counted in its order, as if the direction had been known from the beginning.

use benchhand_drivers::{Sample, Unit};
use benchhand_wire::BuretteCounts;

use super::super::settings::{PourCounts, PourSettings};
use super::super::sigma::Sigma;
use super::super::still::Point;
use super::super::{Capture, CaptureEvent, CaptureNote};
use super::Pour;
use super::level::LevelChange;

impl From<BuretteCounts> for PourCounts {
    fn from(known: BuretteCounts) -> PourCounts {
        match known {
            BuretteCounts::Up => PourCounts::Up,
            BuretteCounts::Down => PourCounts::Down,
        }
    }
}

/// What reached the capture while it waited.
#[derive(Debug, Clone)]
enum Came {
    Sample(Sample),
    Gap(u64),
}

/// So many of the latest samples are kept while nothing moves: a minute of a fast gauge. BuretteCounts
/// needs a rest of only some seconds.
const AT_REST: usize = 1200;

/// Everything that waits until the direction is told.
#[derive(Debug)]
pub(super) struct WhichWay {
    sigma: Sigma,
    came: Vec<Came>,
    rest: Option<f64>,
    /// The first movement, from rest to rest.
    moved: Option<(f64, f64)>,
}

impl WhichWay {
    /// Begins to wait; `sigma` is the noise known so far.
    pub(super) fn new(sigma: Sigma) -> WhichWay {
        WhichWay {
            sigma,
            came: Vec::new(),
            rest: None,
            moved: None,
        }
    }

    pub(super) fn sigma(&self) -> Sigma {
        self.sigma
    }

    pub(super) fn sample(&mut self, sample: &Sample) {
        self.came.push(Came::Sample(*sample));
    }

    pub(super) fn gap(&mut self, at_us: u64) {
        self.came.push(Came::Gap(at_us));
    }

    /// The level has come to rest. A person is asked once it has moved by more than `least`.
    pub(super) fn rested(
        &mut self,
        level: f64,
        least: f64,
        unit: Unit,
        out: &mut Vec<CaptureEvent>,
    ) {
        if self.moved.is_some() {
            return;
        }
        let from = *self.rest.get_or_insert(level);
        if (level - from).abs() > least {
            self.moved = Some((from, level));
            let to = level;
            out.push(CaptureEvent::WhichWay { from, to, unit });
        } else {
            self.rest = Some(level);
        }
    }

    /// Nothing moves: drops samples of long ago, which say nothing any more.
    pub(super) fn rests(&mut self) {
        if self.moved.is_none() && self.came.len() > 2 * AT_REST {
            self.came.drain(..self.came.len() - AT_REST);
        }
    }

    /// Which way the scale runs, if the first movement was a delivery (`delivered`) or else a
    /// refill; `None` where nothing moved yet.
    pub(super) fn counts(&self, delivered: bool) -> Option<BuretteCounts> {
        let (from, to) = self.moved?;
        Some(if (to > from) == delivered {
            BuretteCounts::Up
        } else {
            BuretteCounts::Down
        })
    }

    /// PourCounts what came.
    pub(super) fn replay(self, pour: &mut Pour, out: &mut Vec<CaptureEvent>) {
        for came in self.came {
            match came {
                Came::Sample(sample) => pour.sample(&sample, out),
                Came::Gap(at_us) => pour.gap(at_us, out),
            }
        }
    }
}

impl Pour {
    /// Follows the level until its first movement has come to rest.
    pub(super) fn watch_which_way(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        let least = self.settings.least_refill_cc * self.scale();
        let unit = self.account.unit;
        let rested = self.tracker.push(point, &mut self.sigma) == Some(LevelChange::Rested);
        let level = self.tracker.level(&self.sigma).filter(|_| rested);
        let resting = self.tracker.is_resting();
        let Some(waiting) = &mut self.which_way else {
            return;
        };
        match level {
            Some(level) => waiting.rested(level.now, least, unit, out),
            None if resting => waiting.rests(),
            None => {}
        }
    }

    /// The direction of the scale is known now: everything that came meanwhile is counted.
    pub(super) fn known_which_way(&mut self, delivered: bool, out: &mut Vec<CaptureEvent>) {
        let Some((counts, waiting)) = self
            .which_way
            .take()
            .and_then(|waiting| Some((waiting.counts(delivered)?, waiting)))
        else {
            out.push(CaptureEvent::Note(CaptureNote::NothingToTake));
            return;
        };
        out.push(CaptureEvent::Learned(counts));
        let settings = PourSettings {
            counts: counts.into(),
            ..self.settings.clone()
        };
        let (expected, unseen) = (self.account.expected, self.account.unseen);
        *self = Pour::new(settings, waiting.sigma());
        self.account.expect(expected);
        self.account.unseen = unseen;
        waiting.replay(self, out);
    }
}
