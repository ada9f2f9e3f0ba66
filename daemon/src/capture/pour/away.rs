//! A vessel that was lifted off the balance, or a hand that rests on the pan.
//!
//! A jump is no pour, since no tap flows that fast. What was poured is not known here.

use super::super::sigma::Sigma;
use super::super::still::Point;
use super::level::{Level, LevelChange, Tracker};

/// What became of the vessel.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Seen {
    /// Still away, or nothing new.
    Nothing,
    /// The vessel is back where it stood, but for this shift.
    Back(f64),
    /// Something else rests on the pan, with the level as given, and now liquid runs: another
    /// vessel.
    Other(Level),
    /// The balance was tared while liquid ran, and the liquid came to rest at this level.
    Tared(Level),
}

/// Follows the pan while the vessel is away.
#[derive(Debug, Default)]
pub(crate) struct Away {
    away: bool,
    /// What the balance showed before.
    stood: Option<f64>,
    /// Whether `stood` was a rest.
    rested: bool,
    /// The rest that the level left slowly meanwhile.
    left: Option<Level>,
    /// The first value after a level that moved went to zero in one step.
    zeroed: Option<f64>,
}

impl Away {
    pub(crate) fn is_away(&self) -> bool {
        self.away
    }

    pub(crate) fn begin(&mut self, stood: Option<f64>, rested: bool) {
        *self = Self {
            away: true,
            stood,
            rested,
            left: None,
            zeroed: None,
        };
    }

    /// The level jumped again: the rest left slowly is forgotten.
    pub(crate) fn jumped(&mut self) {
        (self.left, self.zeroed) = (None, None);
    }

    /// The jump went to `v`; within `near` of zero a key may have been pressed while liquid ran.
    pub(crate) fn jumped_to(&mut self, v: f64, near: f64) {
        self.zeroed = (!self.rested && v.abs() <= near).then_some(v);
    }

    /// Takes a value. Within `same` of the rest before, the vessel counts as the same one; a run of
    /// more than `run` is a delivery.
    pub(crate) fn push(
        &mut self,
        point: Point,
        tracker: &mut Tracker,
        sigma: &mut Sigma,
        same: f64,
        run: f64,
    ) -> Seen {
        match tracker.push(point, sigma) {
            Some(LevelChange::Rested) => {
                self.left = None;
                let Some(level) = tracker.level(sigma) else {
                    return Seen::Nothing;
                };
                // A pan from which the vessel was lifted rests at zero. What runs on from there tells
                // of a key.
                if let Some(zeroed) = self.zeroed.take()
                    && (level.now - zeroed).abs() > run
                {
                    self.away = false;
                    return Seen::Tared(level);
                }
                // A vessel lifted while liquid ran comes back with what still ran into it.
                let allowed = if self.rested { same } else { 10.0 * same };
                let shift = self.stood.map_or(0.0, |stood| level.settled - stood);
                if shift.abs() > allowed {
                    return Seen::Nothing;
                }
                self.away = false;
                Seen::Back(if self.rested { shift } else { 0.0 })
            }
            // The level left slowly: a jump would have begun the absence anew.
            Some(LevelChange::Left(level)) => {
                self.left = Some(level);
                Seen::Nothing
            }
            None => match self.left.take() {
                Some(level) if (point.v - level.now).abs() > run => {
                    self.away = false;
                    Seen::Other(level)
                }
                left => {
                    self.left = left;
                    Seen::Nothing
                }
            },
        }
    }
}
