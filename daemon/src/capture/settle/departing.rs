//! Whether a gauge at rest was moved, knocked, or lifted before its value was taken.
//!
//! It does not know whether the next rest may be taken.

use benchhand_drivers::Unit;

use super::super::CaptureNote;
use super::super::frozen::repeats;
use super::super::settings::per_base;
use super::super::still::seconds;
use super::Settle;

/// With a smaller chance than this that a live gauge repeats itself so, the samples show no
/// movement.
const REPEATS: f64 = 2e-2;

/// A value that lies apart from the last rest.
#[derive(Debug, Clone, Copy)]
pub(super) struct Away {
    since_us: u64,
    last_us: u64,
    /// How long the samples there were no mere repeats, s, and how many they were.
    alive_s: f64,
    n: usize,
}

impl Settle {
    pub(super) fn watch_departure(&mut self) {
        let (Some(rested), Some(&last)) = (self.rested, self.points.last()) else {
            return;
        };
        if self.armed || self.paused || self.thaws {
            return;
        }
        let q = self.intake.resolution();
        let far = (self.settings.depart_counts * q)
            .max(self.settings.depart_sigmas * self.sigma.at(q))
            .max(self.settings.depart_mm * self.intake.unit().map_or(0.0, per_base));
        if (last.v - rested).abs() <= far {
            self.away = None;
            if self.still {
                // The rest follows the value slowly, so that drift is no departure.
                self.rested = Some(rested + 0.02 * (last.v - rested));
            }
            return;
        }
        // Repeated frames are no movement, wherever the display froze.
        let alive = !repeats(&self.intake, &self.sigma, REPEATS);
        let new = Away {
            since_us: last.at_us,
            last_us: last.at_us,
            alive_s: 0.0,
            n: 0,
        };
        let away = self.away.get_or_insert(new);
        if alive {
            away.alive_s += seconds(away.last_us, last.at_us).min(self.settings.depart_s / 3.0);
            away.n += 1;
        }
        away.last_us = last.at_us;
        if away.n >= 3 && away.alive_s >= self.settings.depart_s {
            let since_us = away.since_us;
            self.away = None;
            self.armed = true;
            self.departed = self.rested.take().map(|level| (level, since_us));
            // Samples of the rest before are not mixed with those of the rest to come.
            self.points.retain(|p| p.at_us >= since_us);
            self.said = None;
        }
    }

    /// Whether the gauge was knocked rather than set down anew: it is soon back where it was.
    pub(super) fn is_back(&self, value: f64, at_us: u64) -> bool {
        let q = self.intake.resolution();
        let same = (2.0 * q).max(2.0 * self.sigma.at(q));
        self.departed.is_some_and(|(level, since_us)| {
            (value - level).abs() <= same && seconds(since_us, at_us) < self.settings.knock_s
        })
    }

    /// Whether the gauge rested elsewhere since a value became wanted, and was lifted before its
    /// value was taken.
    pub(super) fn left_too_soon(&self, value: f64, unit: Unit) -> Option<CaptureNote> {
        let q = self.intake.resolution();
        let far = (20.0 * q).max(10.0 * self.sigma.at(q));
        let value = self.left.elsewhere(value, far)?;
        Some(CaptureNote::LeftTooSoon { value, unit })
    }

    /// Remembers a rest that is too short for a value, until a value is taken.
    pub(super) fn look_for_short_rests(&mut self) {
        if !self.armed || self.paused {
            return;
        }
        let q = self.intake.resolution();
        let hangs = self.points.last().is_some_and(|p| self.hangs(p.v));
        self.left.look(&self.points, self.sigma.at(q), q, hangs);
    }
}
