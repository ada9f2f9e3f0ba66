//! Whether a gauge was lifted and set down: a change that no crank makes between two samples.
//!
//! Places of the bridge are not known here.

use super::settings::ExtremeSettings;
use super::still::{Point, seconds};

/// The limits that tell a lift from a crank, in the gauge's unit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lift {
    /// Faster than any piston near its turn, per second.
    pub(crate) fastest: f64,
    /// The least step from rest to rest.
    pub(crate) least_step: f64,
    /// The most speed of a piston whose crank is pulled from rest to rest by hand, per second.
    pub(crate) by_hand: f64,
    /// Samples at rest lie within this.
    pub(crate) at_rest: f64,
    /// The gauge's period, s.
    pub(crate) period: f64,
}

/// From rest to rest a hand moves the piston more slowly than this, mm/s: the crank at 15° a
/// second, 16° before the turn of a stroke of 4 in.
const FROM_REST_MM_PER_S: f64 = 5.0;
/// The longest time from rest to rest of a lift when one sample falls into the lift, s.
const LONGEST_S: f64 = 0.25;
/// A lift by an easy hand takes so long from rest to rest, s, …
const EASY_S: f64 = 0.8;
/// … and goes so far, mm. Common practice, no source.
const EASY_MM: f64 = 1.5;
/// A plunger that hangs free rests for this long, s.
const HANGS_S: f64 = 0.5;
/// A gauge that was lifted off is set down again within this, s.
const OFF_FOR_S: f64 = 60.0;

/// A run from rest to rest, faster than a hand that pulls the crank from rest to rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum FastRun {
    /// The plunger came out: the gauge may have been lifted off.
    Out,
    /// The plunger went in: the gauge may have been set down.
    In,
}

/// A gauge that may have been lifted off, until it is set down. A crank that is jerked once looks the
/// same, and so does one that is jerked there and back, from rest to rest each time: only a lifted
/// plunger hangs free, each time at the same value.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct LiftedOff {
    off: Option<(u64, bool)>,
}

/// What the plunger did before it went in again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SetDown {
    /// It hung free, where it had hung before.
    Hung,
    /// It rested where it had not hung before: a lift, or a jerk of the crank.
    Unknown,
}

impl LiftedOff {
    /// Takes in a run to a rest; what the plunger did if it went out and in. `hangs`: whether that
    /// rest is where it hung before.
    pub(crate) fn is_set_down(&mut self, run: FastRun, hangs: bool, at_us: u64) -> Option<SetDown> {
        match run {
            FastRun::Out => {
                self.off = Some((at_us, hangs));
                None
            }
            FastRun::In => {
                let (off, hung) = self.off.take()?;
                let soon = seconds(off, at_us) <= OFF_FOR_S;
                soon.then_some(if hung {
                    SetDown::Hung
                } else {
                    SetDown::Unknown
                })
            }
        }
    }
}

/// Where the plunger hangs free: the outmost rest that was seen, with the sign that makes every
/// turning point a top.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct HangingRest {
    outmost: Option<f64>,
}

impl HangingRest {
    /// Takes in the newest samples; a rest of half a second is one.
    pub(crate) fn watch(&mut self, lift: &Lift, points: &[Point]) {
        let least = (HANGS_S / lift.period.max(1e-3)).ceil() as usize;
        let last = points.len().checked_sub(least.clamp(5, 60));
        let Some(rest) = last.and_then(|at| points.get(at..)) else {
            return;
        };
        let out = |rest: &[Point]| self.outmost.is_none_or(|outmost| mean(rest) < outmost);
        if lift.rests(rest) && out(rest) {
            self.outmost = Some(mean(rest));
        }
    }

    /// Whether the last three samples, at rest, are where it hung before; `near` is how exactly a
    /// plunger comes back to its stop.
    pub(crate) fn hangs(&self, lift: &Lift, points: &[Point], near: f64) -> bool {
        let rest = points.len().checked_sub(3).and_then(|at| points.get(at..));
        let hung = self.outmost.zip(rest);
        hung.is_some_and(|(hung, rest)| (mean(rest) - hung).abs() <= near + lift.at_rest)
    }

    /// The same in a unit of which `factor` make one of the former.
    pub(crate) fn scaled(self, factor: f64) -> HangingRest {
        let outmost = self.outmost.map(|outmost| outmost * factor);
        HangingRest { outmost }
    }
}

impl Lift {
    /// The limits for a gauge: `scale` is a millimetre in the gauge's unit, `noise` its standard
    /// deviation, `count` one count.
    pub(crate) fn new(
        settings: &ExtremeSettings,
        scale: f64,
        (noise, count): (f64, f64),
        period: f64,
    ) -> Self {
        Self {
            fastest: settings.fastest_mm_per_s * scale,
            least_step: (settings.least_step_mm * scale)
                .max(FROM_REST_MM_PER_S * scale * period)
                .max(8.0 * count),
            by_hand: FROM_REST_MM_PER_S * scale,
            at_rest: 1.5 * count + 3.0 * noise,
            period,
        }
    }

    /// Whether two samples in a row are further apart than a piston near its turn can move.
    pub(crate) fn is_jump(&self, before: Point, point: Point) -> bool {
        let dt = seconds(before.at_us, point.at_us).max(self.period);
        (point.v - before.v).abs() > self.fastest * dt
    }

    /// Whether the value rested and then at once rested elsewhere: two samples on one side of the
    /// step, three on the other, and at most one between.
    pub(crate) fn is_step(&self, points: &[Point]) -> bool {
        [(2, 3), (3, 2)].into_iter().any(|(before, after)| {
            (0..=1).any(|between| self.steps(points, before, between, after))
        })
    }

    /// The fast run that the last three samples, at rest, have ended.
    pub(crate) fn fast_run(&self, points: &[Point]) -> Option<FastRun> {
        let most = (EASY_S / self.period.max(1e-3)) as usize;
        let rest = points
            .len()
            .checked_sub(3)
            .and_then(|at| points.get(at..))?;
        // Whether the samples before are at rest as well is looked at only where these have just come
        // to rest.
        let just = points
            .len()
            .checked_sub(4)
            .and_then(|at| points.get(at..))?;
        if !self.rests(rest) || self.rests(just) {
            return None;
        }
        (2..=most.min(60)).find_map(|between| {
            let from = points.len().checked_sub(3 + between + 3)?;
            let old = points.get(from..from + 3)?;
            let took = seconds(old[2].at_us, rest[0].at_us);
            let went = mean(rest) - mean(old);
            let far = (EASY_MM * self.by_hand / FROM_REST_MM_PER_S).max(self.by_hand * took);
            let fast = took <= EASY_S && went.abs() > far && self.rests(old);
            fast.then_some(if went < 0.0 {
                FastRun::Out
            } else {
                FastRun::In
            })
        })
    }

    fn steps(&self, points: &[Point], before: usize, between: usize, after: usize) -> bool {
        let Some(from) = points.len().checked_sub(before + between + after) else {
            return false;
        };
        let (old, new) = (
            &points[from..from + before],
            &points[from + before + between..],
        );
        let took = seconds(old[before - 1].at_us, new[0].at_us);
        let longest = if between == 0 {
            1.5 * self.period
        } else {
            LONGEST_S
        };
        took <= longest
            && self.rests(old)
            && self.rests(new)
            && (mean(new) - mean(old)).abs() > self.least_step.max(self.by_hand * took)
    }

    fn rests(&self, points: &[Point]) -> bool {
        let low = points.iter().map(|p| p.v).fold(f64::INFINITY, f64::min);
        let high = points.iter().map(|p| p.v).fold(f64::NEG_INFINITY, f64::max);
        high - low <= self.at_rest
    }
}

fn mean(points: &[Point]) -> f64 {
    points.iter().map(|p| p.v).sum::<f64>() / points.len() as f64
}
