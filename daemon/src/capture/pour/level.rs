//! A level that rests, moves, and rests again: where, and since when.
//!
//! The module knows noise, drops and creep, and nothing of pours, refills or vessels.

use super::super::creep::{Also, Creep, Rest, gain_of_creep, rest};
use super::super::sigma::Sigma;
use super::super::still::{FittedLine, Point, is_still, seconds, suffix, teaches, working_sigma};
use super::lean::{Lean, MOST_G_PER_MIN, USUAL_G_PER_MIN};

/// How the level is judged, in the gauge's unit.
#[derive(Debug, Clone)]
pub(crate) struct Judging {
    pub(crate) window_s: f64,
    pub(crate) window_n: usize,
    /// The most noise considered.
    pub(crate) noisiest: f64,
    /// Standard deviation of the creep that may still come after the level rests.
    pub(crate) drains: Vec<f64>,
    /// The size of a drop.
    pub(crate) drop: f64,
    pub(crate) taus: Vec<f64>,
    /// On a balance mass is lost evenly and does not creep: one gram in the gauge's unit.
    pub(crate) even: Option<f64>,
    pub(crate) resolution: f64,
}

/// A level at rest.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Level {
    /// Where the level comes to rest; where mass is lost evenly, where it stood at `mid_us`.
    pub(crate) settled: f64,
    /// Where the level stood at `to_us`; where mass is lost evenly, at `mid_us`.
    pub(crate) now: f64,
    /// The slope of the rest: on a balance only, and only where no drop fell.
    pub(crate) lean: Option<Lean>,
    /// The slope without the rest's first seconds, into which a last small drop may have fallen.
    pub(crate) late: Option<Lean>,
    pub(crate) from_us: u64,
    /// The middle time of the samples.
    pub(crate) mid_us: u64,
    pub(crate) to_us: u64,
    pub(crate) sd: Option<f64>,
    /// Whether the level came to rest slowly, as by single drops.
    pub(crate) dripped: bool,
    /// The samples of the rest, as sent.
    pub(crate) window: Vec<(u64, f64)>,
}

impl Level {
    /// A rest before the first sample, known by its level alone.
    pub(crate) fn at(level: f64) -> Level {
        Level {
            settled: level,
            now: level,
            lean: None,
            late: None,
            from_us: 0,
            mid_us: 0,
            to_us: 0,
            sd: None,
            dripped: false,
            window: Vec::new(),
        }
    }
}

/// What changed with the last point.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum LevelChange {
    /// The level has come to rest.
    Rested,
    /// The level left the given rest.
    Left(Level),
}

/// Follows one level.
#[derive(Debug, Clone)]
pub(crate) struct Tracker {
    judging: Judging,
    points: Vec<Point>,
    resting: bool,
    fresh: usize,
    /// Whether the level came to the present rest slowly.
    dripped: bool,
    /// Where the rest before stood.
    before: Option<f64>,
}

/// So much time before a rest shows how the level came to it, s.
const APPROACH_S: f64 = 2.0;
/// A stream is faster than this many drops a second. Common practice, no source: a burette's tap
/// that is barely open still gives a stream.
const DROPS_PER_S: f64 = 8.0;
/// A run of less than this share of a drop is creep.
const LEAST_DROP: f64 = 0.8;
/// How much of a rest is kept, s.
const LONGEST_S: f64 = 46.0;
/// How many samples back a step is looked for.
const LOOK_BACK: usize = 150;

impl Tracker {
    pub(crate) fn new(judging: Judging) -> Self {
        Self {
            judging,
            points: Vec::new(),
            resting: false,
            fresh: 0,
            dripped: false,
            before: None,
        }
    }

    pub(crate) fn cut(&mut self) {
        self.points.clear();
        self.resting = false;
        self.fresh = 0;
        self.before = None;
    }

    pub(crate) fn is_resting(&self) -> bool {
        self.resting
    }

    /// The samples of the rest; while the level moves, the latest samples.
    pub(crate) fn points(&self) -> &[Point] {
        &self.points
    }

    /// How long the level has rested, s.
    pub(crate) fn rested_s(&self) -> f64 {
        match (self.resting, self.points.first(), self.points.last()) {
            (true, Some(first), Some(last)) => last.since(first.at_us),
            _ => 0.0,
        }
    }

    /// The level of the present rest.
    pub(crate) fn level(&self, sigma: &Sigma) -> Option<Level> {
        (self.resting && !self.points.is_empty()).then(|| self.level_of(&self.points, sigma))
    }

    pub(crate) fn push(&mut self, point: Point, sigma: &mut Sigma) -> Option<LevelChange> {
        self.points.push(point);
        self.fresh += 1;
        if self.resting {
            self.bound(LONGEST_S);
            return self.leaves(sigma);
        }
        self.bound(4.0 * self.judging.window_s);
        let window = suffix(&self.points, self.judging.window_s, self.judging.window_n)?;
        let noise = self.working(sigma, window);
        if !is_still(window, noise, self.judging.resolution) {
            return None;
        }
        let start = self.points.len() - window.len();
        self.dripped = self.comes_slowly(start);
        self.points.drain(..start);
        self.resting = true;
        self.fresh = self.points.len();
        self.learn(sigma);
        Some(LevelChange::Rested)
    }

    /// Whether the level came slowly to the rest that begins with the sample `start`.
    fn comes_slowly(&self, start: usize) -> bool {
        let at = self.points[start];
        let near = |p: &&Point| at.since(p.at_us) <= APPROACH_S;
        let from = self.points[..start].iter().find(near);
        let most = DROPS_PER_S * self.judging.drop;
        match from {
            Some(from) if at.since(from.at_us) >= 0.25 * APPROACH_S => {
                (at.v - from.v).abs() <= most * at.since(from.at_us)
            }
            // The level rested just before: since then a few drops have fallen, or a stream ran.
            _ => self.before.is_some_and(|before| {
                let moved = (at.v - before).abs();
                // Creep is no drop: the level counts as coming to rest as it did before.
                let drop = moved >= LEAST_DROP * self.judging.drop;
                if drop { moved <= most } else { self.dripped }
            }),
        }
    }

    fn bound(&mut self, seconds: f64) {
        let Some(&last) = self.points.last() else {
            return;
        };
        if last.since(self.points[0].at_us) > 1.2 * seconds {
            let keep = self
                .points
                .partition_point(|p| last.since(p.at_us) > seconds);
            self.points.drain(..keep);
        }
    }

    fn working(&self, sigma: &Sigma, window: &[Point]) -> f64 {
        working_sigma(
            sigma,
            self.judging.resolution,
            self.judging.noisiest,
            window,
        )
    }

    fn learn(&mut self, sigma: &mut Sigma) {
        if self.fresh < 10 {
            return;
        }
        let window = &self.points[self.points.len() - self.fresh.min(self.points.len())..];
        let line = FittedLine::through(window);
        let noise = self.working(sigma, window);
        if teaches(&line, noise) {
            sigma.learn(0.5 * line.steps, line.n);
        }
        self.fresh = 0;
    }

    /// Whether the last points have left the rest.
    fn leaves(&mut self, sigma: &mut Sigma) -> Option<LevelChange> {
        let q = self.judging.resolution;
        let noise = sigma.at(q);
        if let Some(at) = self.run_away(noise).or_else(|| self.step(noise)) {
            // The sample before the first one that stands apart may already have been moving.
            let before = self.points[..at.saturating_sub(1).max(1)].to_vec();
            let level = self.level_of(&before, sigma);
            self.points.drain(..at);
            self.resting = false;
            self.fresh = 0;
            self.before = Some(level.now);
            return Some(LevelChange::Left(level));
        }
        if self.fresh >= 20 {
            self.learn(sigma);
        }
        None
    }

    /// Whether the last two samples both stand far off on the same side; the index of the first of
    /// them.
    fn run_away(&self, noise: f64) -> Option<usize> {
        let q = self.judging.resolution;
        let n = self.points.len();
        let before = &self.points[n.saturating_sub(12)..n.checked_sub(2)?];
        if before.len() < 4 {
            return None;
        }
        let line = FittedLine::through(before);
        let far = (6.0 * noise).max(3.0 * q);
        let (a, b) = (
            self.points[n - 2].v - line.mean,
            self.points[n - 1].v - line.mean,
        );
        (a.abs() > far && b.abs() > far && a * b > 0.0).then_some(n - 2)
    }

    /// A drop: the mean of the last few samples differs from that of the samples before, and no
    /// creep explains it as well. Generalised likelihood ratio for one step in the mean.
    fn step(&self, noise: f64) -> Option<usize> {
        const LEAST: usize = 4;
        let n = self.points.len();
        let look = &self.points[n.saturating_sub(LOOK_BACK)..];
        if look.len() < 2 * LEAST {
            return None;
        }
        let var = noise * noise;
        let most = (look.len() - LEAST).min(30);
        let (gain, m) = step_gain(look, 3..=most, var, 0.7 * self.judging.resolution);
        // 4.5 standard deviations: some hundred thousand tests without a false step.
        if gain < 4.5 * 4.5 {
            return None;
        }
        let gradual = match self.judging.even {
            Some(gram) => line_gain(look, var, gram),
            None => gain_of_creep(look, noise, self.creep()),
        };
        (gain > gradual + 12.0).then_some(n - m)
    }

    fn creep(&self) -> Creep<'_> {
        let (chance, taus) = match self.judging.even {
            Some(_) => (0.0, &[][..]),
            None => (0.3, &self.judging.taus[..]),
        };
        Creep {
            sizes: &self.judging.drains,
            since_s: 0.0,
            taus,
            chance,
            also: Also::Drop {
                size: self.judging.drop / 3f64.sqrt(),
                chance: 0.5,
            },
        }
    }

    fn level_of(&self, points: &[Point], sigma: &Sigma) -> Level {
        let noise = sigma.at(self.judging.resolution);
        let (from_us, to_us) = (points[0].at_us, points[points.len() - 1].at_us);
        let since = points.iter().map(|p| p.at_us - from_us).sum::<u64>();
        let mid_us = from_us + since / points.len() as u64;
        let window: Vec<(u64, f64)> = points.iter().map(|p| (p.at_us, p.v)).collect();
        let (mut lean, mut late, mut levelled) = (None, None, None);
        if let Some(gram) = self.judging.even {
            let var = noise * noise;
            let line = FittedLine::through(points);
            let run = line_gain(points, var, gram);
            let last = points.len().saturating_sub(1);
            let (drop, _) = step_gain(points, 1..=last, var, 0.0);
            if drop < run + 5.0 {
                lean = Lean::of(points, noise);
                late = Lean::late(points, noise);
            }
            // A long even run is no drop: the mean is the value at the middle.
            if run > drop.max(15.0) {
                let turned = |p: &Point| Point {
                    v: p.v - line.slope * (p.since(from_us) - seconds(from_us, mid_us)),
                    ..*p
                };
                levelled = Some(points.iter().map(turned).collect::<Vec<Point>>());
            }
        }
        let points = levelled.as_deref().unwrap_or(points);
        let Rest { value, now, sd, .. } = rest(points, noise, self.creep(), f64::INFINITY);
        Level {
            settled: value,
            now,
            lean,
            late,
            from_us,
            mid_us,
            to_us,
            sd,
            dripped: self.dripped,
            window,
        }
    }
}

/// Twice the log likelihood gained by one step in the mean over none, and how many samples come
/// after the step: the best of `after`, for steps larger than `least`.
fn step_gain(
    points: &[Point],
    after: std::ops::RangeInclusive<usize>,
    var: f64,
    least: f64,
) -> (f64, usize) {
    let n = points.len();
    let total: f64 = points.iter().map(|p| p.v - points[0].v).sum();
    let (mut tail, mut best) = (0.0, (0.0, 0));
    for m in 1..=*after.end() {
        tail += points[n - m].v - points[0].v;
        if m < *after.start() {
            continue;
        }
        let rest_n = (n - m) as f64;
        let difference = tail / m as f64 - (total - tail) / rest_n;
        let gain = difference * difference / (var * (1.0 / m as f64 + 1.0 / rest_n));
        if gain > best.0 && difference.abs() > least {
            best = (gain, m);
        }
    }
    best
}

/// Twice the log likelihood gained by a straight line over a constant, less the cost of a slope
/// that is steep for evaporation; one gram is `gram`. 0 where nothing evaporates so fast: a line
/// explains drops that fall one after another better than any single step does.
fn line_gain(points: &[Point], var: f64, gram: f64) -> f64 {
    let line = FittedLine::through(points);
    if line.slope.abs() * 60.0 > MOST_G_PER_MIN * gram {
        return 0.0;
    }
    let usual = USUAL_G_PER_MIN * gram / 60.0;
    let (seen, held) = (line.sxx / var, 1.0 / (usual * usual));
    (line.slope * seen).powi(2) / (seen + held)
}
