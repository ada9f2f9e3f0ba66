//! What a balance loses while nothing is poured: seen at rest, taken off the time between.
//!
//! Evaporation runs evenly and downwards; a drop is a step. One rest of a few seconds says little
//! about so slow a run. So the slopes of all rests of a route are put together, each with its
//! weight, and only a plain run is taken off. What evaporates is not known here.

use super::super::still::seconds;
use super::lean::{Lean, MOST_G_PER_MIN};
use super::level::Level;

/// A run is plain from so many of its standard deviations on …
const PLAIN: f64 = 4.0;
/// … with so many left when any one rest is left out: a small drop may have fallen into that rest.
const WITHOUT_ONE: f64 = 0.5;
/// How many rests are remembered.
const RESTS: usize = 12;

/// The slopes of the rests of a route.
#[derive(Debug, Default)]
pub(crate) struct Evaporation {
    /// When each rest began, and its slope.
    rests: Vec<(u64, Lean)>,
}

impl Evaporation {
    pub(crate) fn clear(&mut self) {
        self.rests.clear();
    }

    /// Adds a rest before a delivery.
    pub(crate) fn before(&mut self, level: &Level) {
        self.add(level, level.lean);
    }

    /// Adds a rest after a delivery.
    pub(crate) fn after(&mut self, level: &Level) {
        self.add(level, level.late);
    }

    fn add(&mut self, level: &Level, lean: Option<Lean>) {
        let Some(lean) = lean else { return };
        self.rests.retain(|(from, _)| *from != level.from_us);
        self.rests.push((level.from_us, lean));
        let more = self.rests.len().saturating_sub(RESTS);
        self.rests.drain(..more);
    }

    /// The run per second from one rest to another, in units of `scale` grams: negative, or 0 where
    /// the run is not plain at both rests.
    pub(crate) fn rate(&self, base: &Level, level: &Level, scale: f64) -> f64 {
        let other = |from: &u64| base.from_us != *from && level.from_us != *from;
        let both: Vec<Lean> = base.lean.into_iter().chain(level.late).collect();
        let leans: Vec<Lean> = self
            .rests
            .iter()
            .filter(|(from, _)| other(from))
            .map(|(_, lean)| *lean)
            .chain(both.iter().copied())
            .collect();
        let weight: f64 = leans.iter().map(|l| l.weight).sum();
        let run: f64 = leans.iter().map(|l| l.slope * l.weight).sum();
        let slope = run / weight;
        let without_one = |l: &Lean| {
            let (run, weight) = (run - l.slope * l.weight, weight - l.weight);
            weight > 0.0 && run / weight.sqrt() < -WITHOUT_ONE
        };
        let plain = run / weight.sqrt() < -PLAIN && leans.iter().all(without_one);
        let possible = slope * 60.0 > -MOST_G_PER_MIN * scale;
        let even = both.iter().all(|lean| lean.off(slope) < 3.0);
        let plain = plain && leans.len() >= 2;
        if plain && possible && even {
            slope
        } else {
            0.0
        }
    }

    /// What was lost between two rests: 0 or negative.
    pub(crate) fn between(&self, base: &Level, level: &Level, scale: f64) -> f64 {
        self.rate(base, level, scale) * seconds(base.mid_us, level.mid_us)
    }
}
