//! Whether a refill came so early that too much of the draining film was lost.
//!
//! After fast delivery glass drains for a while. A level that rests long enough shows where it will
//! stand. A refill that comes sooner washes the film away, and its amount is never known. One rest
//! is looked at.

use statrs::distribution::{ContinuousCDF, Normal};

use super::super::still::seconds;
use super::super::{CaptureNote, CapturedValue};
use super::account::Account;
use super::level::Level;

/// How far off a chamber may be, cc.
const OFF_CC: f64 = 0.05;
/// The chance that a film drains at all after fast delivery, before anything was seen. …
const CHANCE: f64 = 1.0 / 3.0;
/// … The chance is spread over so many sizes of film, up to the largest.
const SIZES: u32 = 12;
/// The other levels of a pour are means of some thirty samples each, and there are three.
const OTHER_LEVELS: f64 = 3.0 / 30.0;
/// A chance of more than this is asked about. A lower limit would ask at more than 2 % of the stops
/// of evenings at which nothing goes wrong.
const RISK: f64 = 0.0085;
/// A smaller delivery is drops, cc. Common practice, no source: eight drops.
const DROPS_CC: f64 = 0.4;

impl Account {
    /// The burette is refilled from `level` amid a pour: notes whether a film had time to drain.
    pub(super) fn refills_from(&mut self, level: &Level) {
        let risk = self.drainage_risk(level);
        self.undrained = (risk > RISK).then(|| seconds(level.from_us, level.to_us));
    }

    /// A stream comes after the refill: no question. Asking at each refill amid a large chamber
    /// would ask at every tenth stop. Where only drops are still to come, the hand had aimed at the
    /// end.
    pub(super) fn streams_on(&mut self) {
        self.undrained = None;
    }

    /// The level has come to rest after the refill.
    pub(super) fn drops_on(&mut self, taken: &CapturedValue, level: &Level) {
        if !level.dripped && taken.value - self.sum > DROPS_CC * self.scale {
            self.streams_on();
        }
    }

    /// Only drops came since a refill that washed a film away: how much the film held is not known.
    pub(super) fn not_drained(&self, taken: &CapturedValue) -> Option<CaptureNote> {
        let rested_s = self.undrained?;
        let off = OFF_CC * self.scale;
        let unit = self.unit;
        (taken.value > self.sum).then_some(CaptureNote::NotDrained {
            rested_s,
            off,
            unit,
        })
    }

    /// The chance that a pour is off by more than it may be, because a film had not drained when
    /// the burette was refilled from `level`. Films of all sizes and time constants are weighed by
    /// how well each explains the rest, as in `creep`.
    fn drainage_risk(&self, level: &Level) -> f64 {
        // Drops come after the stream: the film has drained by then.
        if self.balance || level.dripped || level.window.len() < 2 {
            return 0.0;
        }
        let scale = self.scale;
        let q = self.resolution;
        let noise = level.sd.unwrap_or(0.0).max(q / 12f64.sqrt());
        let from = level.window[0].0;
        let count = level.window.len() as f64;
        let mean = level.window.iter().map(|(_, v)| v).sum::<f64>() / count;
        let spread = noise * (1.0 / count + OTHER_LEVELS).sqrt();
        let normal = Normal::standard();
        let beyond = |value: f64| {
            let (d, off) = ((value - level.settled).abs(), OFF_CC * scale);
            normal.cdf((d - off) / spread) + normal.cdf((-d - off) / spread)
        };
        // Twice the log likelihood against rest, where the level itself is not known.
        let explains = |film: f64, tau: f64| {
            let fading = |t: u64| (-seconds(from, t) / tau).exp();
            let middle = level.window.iter().map(|(t, _)| fading(*t)).sum::<f64>() / count;
            let gain = level.window.iter().map(|(t, v)| {
                let (x, y) = (film * (fading(*t) - middle), v - mean);
                2.0 * x * y - x * x
            });
            let likely = (gain.sum::<f64>() / (2.0 * noise * noise)).exp();
            (likely, mean - film * middle)
        };
        let taus = &self.settings.drain_s;
        let step = self.settings.drain_cc * scale / f64::from(SIZES);
        let share = CHANCE / (2.0 * f64::from(SIZES) * taus.len() as f64);
        let (mut off, mut all) = ((1.0 - CHANCE) * beyond(mean), 1.0 - CHANCE);
        for &tau in taus {
            for size in 1..=SIZES {
                for sign in [1.0, -1.0] {
                    let (likely, value) = explains(sign * f64::from(size) * step, tau);
                    all += share * likely;
                    off += share * likely * beyond(value);
                }
            }
        }
        off / all
    }
}
