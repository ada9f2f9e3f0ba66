//! Whether a run of samples is as still as its gauge gets.
//!
//! The module knows noise and slopes, and nothing of what the gauge measures.

use statrs::distribution::{Continuous, ContinuousCDF, Normal};
use std::sync::OnceLock;

use super::sigma::Sigma;

/// A sample of one channel, as the judges see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point {
    /// Microseconds since the stream began.
    pub(crate) at_us: u64,
    /// The value in the gauge's unit.
    pub(crate) v: f64,
    /// The gauge's own stable flag, where it has one.
    pub(crate) stable: Option<bool>,
}

impl Point {
    /// Seconds since `from_us`.
    pub(crate) fn since(&self, from_us: u64) -> f64 {
        seconds(from_us, self.at_us)
    }
}

/// Seconds from one time to another; 0 where they run backwards.
pub(crate) fn seconds(from_us: u64, to_us: u64) -> f64 {
    to_us.saturating_sub(from_us) as f64 * 1e-6
}

/// A straight line through points, by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FittedLine {
    pub(crate) n: usize,
    pub(crate) mean: f64,
    /// Per second; 0 where all samples have the same time.
    pub(crate) slope: f64,
    /// Length of the window in seconds.
    pub(crate) span: f64,
    /// Σ(t − t̄)².
    pub(crate) sxx: f64,
    /// Sum of squares about the line.
    pub(crate) rest: f64,
    /// Largest minus smallest value.
    pub(crate) range: f64,
    /// Sum of the squared differences of successive values.
    pub(crate) steps: f64,
}

impl FittedLine {
    /// Fits a line; `points` must not be empty.
    pub(crate) fn through(points: &[Point]) -> Self {
        let n = points.len();
        let from = points[0].at_us;
        let mean = points.iter().map(|p| p.v).sum::<f64>() / n as f64;
        let t_mean = points.iter().map(|p| p.since(from)).sum::<f64>() / n as f64;
        let (mut sxx, mut sxy, mut syy) = (0.0, 0.0, 0.0);
        let (mut low, mut high, mut steps) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
        let mut before: Option<f64> = None;
        for p in points {
            let (t, v) = (p.since(from) - t_mean, p.v - mean);
            sxx += t * t;
            sxy += t * v;
            syy += v * v;
            low = low.min(p.v);
            high = high.max(p.v);
            if let Some(b) = before {
                steps += (p.v - b) * (p.v - b);
            }
            before = Some(p.v);
        }
        let slope = if sxx > 1e-9 { sxy / sxx } else { 0.0 };
        let rest = (syy - slope * sxy).max(0.0);
        let span = points[n - 1].since(from);
        Self {
            n,
            mean,
            slope,
            span,
            sxx,
            rest,
            range: high - low,
            steps,
        }
    }

    /// Standard deviation about the line; 0 for fewer than three points.
    pub(crate) fn sd(&self) -> f64 {
        if self.n < 3 {
            0.0
        } else {
            (self.rest / (self.n - 2) as f64).sqrt()
        }
    }

    /// The change over the window, and the standard deviation of that change for noise `sigma`.
    pub(crate) fn run(&self, sigma: f64) -> (f64, f64) {
        if self.sxx <= 1e-9 {
            return (0.0, f64::INFINITY);
        }
        (self.slope * self.span, sigma * self.span / self.sxx.sqrt())
    }
}

/// The shortest suffix that holds at least `least_n` samples and spans `least_s` seconds.
pub(crate) fn suffix(points: &[Point], least_s: f64, least_n: usize) -> Option<&[Point]> {
    let last = points.last()?;
    let from = points
        .iter()
        .rposition(|p| last.since(p.at_us) >= least_s - 1e-3)?;
    let start = from.min(points.len().checked_sub(least_n)?);
    Some(&points[start..])
}

/// The noise to judge a window by: the learned noise, or, before enough was learned, the noise
/// shown by the window's successive differences, up to three counts or `noisiest`.
pub(crate) fn working_sigma(
    sigma: &Sigma,
    resolution: f64,
    noisiest: f64,
    window: &[Point],
) -> f64 {
    let known = sigma.at(resolution);
    if sigma.is_learned() {
        return known;
    }
    known.max(step_sigma(window).min(noisiest.max(3.0 * resolution)))
}

/// So many steps are sorted on the stack.
const FEW: usize = 16;

/// The noise from the median of successive differences: drift and a single step do not matter.
pub(crate) fn step_sigma(points: &[Point]) -> f64 {
    let steps = points.windows(2).map(|w| (w[1].v - w[0].v).abs());
    let (mut few, mut many) = ([0.0; FEW], Vec::new());
    // It is asked of the last few samples with every sample: those need no room of their own.
    let steps = match few.get_mut(..steps.len()) {
        Some(room) => {
            room.iter_mut().zip(steps).for_each(|(to, step)| *to = step);
            room
        }
        None => {
            many.extend(steps);
            &mut many[..]
        }
    };
    if steps.is_empty() {
        return 0.0;
    }
    let middle = steps.len() / 2;
    let (_, median, _) = steps.select_nth_unstable_by(middle, f64::total_cmp);
    // The median of |N(0, 2σ²)| is 0.954 σ.
    *median / 0.954
}

/// The rule of stillness: the range is below its quantile, the run is below two of its own standard
/// deviations or half a count, and the gauge's own flag agrees where there is one.
pub(crate) fn is_still(window: &[Point], sigma: f64, resolution: f64) -> bool {
    let line = FittedLine::through(window);
    // Rounding to counts can widen the range by up to one count.
    let widest = range_quantile(window.len()) * sigma + 0.5 * resolution;
    let (run, run_sd) = line.run(sigma.max(line.sd()));
    line.range <= widest
        && run.abs() <= (2.0 * run_sd).max(0.5 * resolution)
        && window.iter().all(|p| p.stable != Some(false))
}

/// How still the last moments were: 1 is as still as this gauge gets, 0 is far from it.
pub(crate) fn stillness(points: &[Point], sigma: f64, resolution: f64) -> f64 {
    let window = &points[points.len().saturating_sub(8)..];
    if window.len() < 2 {
        return 0.0;
    }
    let line = FittedLine::through(window);
    let usual = range_quantile(window.len()) * sigma + 0.5 * resolution;
    (usual / line.range.max(usual)).clamp(0.0, 1.0)
}

/// Whether the gauge's noise may be learned from a window: no trend by its own spread, white by von
/// Neumann's ratio, and not wildly above the known noise.
pub(crate) fn teaches(line: &FittedLine, known: f64) -> bool {
    if line.n < 10 {
        return false;
    }
    let sd = line.sd();
    let (run, run_sd) = line.run(sd.max(known * 0.3));
    let variance = line.rest / (line.n - 2) as f64;
    let ratio = if variance > 0.0 {
        line.steps / (line.n - 1) as f64 / variance
    } else {
        2.0
    };
    run.abs() <= 2.5 * run_sd && sd <= 3.0 * known && (1.3..3.2).contains(&ratio)
}

/// How many equal values in a row a live gauge cannot send.
///
/// The chance that a live gauge with this noise repeats itself so often is below `chance`. `None`
/// where the noise, less that of rounding, is well below a count. Example: a still value on the
/// edge between two counts flickers, and one in the middle of a count never does; so a coarse gauge
/// that repeats itself is as alive as one that flickers.
pub(crate) fn frozen_run(sigma: f64, resolution: f64, chance: f64) -> Option<usize> {
    // Sheppard's correction, q²/12. Flicker between two counts alone never reaches this.
    let own = (sigma * sigma - resolution * resolution / 12.0)
        .max(0.0)
        .sqrt();
    if own < 0.62 * resolution {
        return None;
    }
    let normal = Normal::standard();
    let same = 2.0 * normal.cdf(0.5 * resolution / own) - 1.0;
    (same < 0.7).then(|| (chance.ln() / same.ln()).ceil() as usize + 1)
}

/// Quantile (99.9 %) of the range of `n` standard normal values.
///
/// The distribution of the range is H. Hartley's integral (Biometrika 32, 1942, from memory):
/// `P(R ≤ r) = n ∫ φ(x) [Φ(x+r) − Φ(x)]^(n−1) dx`.
pub(crate) fn range_quantile(n: usize) -> f64 {
    const MOST: usize = 400;
    static TABLE: OnceLock<Vec<OnceLock<f64>>> = OnceLock::new();
    let table = TABLE.get_or_init(|| (0..=MOST).map(|_| OnceLock::new()).collect());
    let n = n.clamp(2, MOST);
    *table[n].get_or_init(|| quantile_of_range(n, 0.999))
}

fn quantile_of_range(n: usize, p: f64) -> f64 {
    let (mut low, mut high) = (0.0, 14.0);
    while high - low > 1e-4 {
        let middle = 0.5 * (low + high);
        if range_cdf(n, middle) < p {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}

fn range_cdf(n: usize, r: f64) -> f64 {
    let normal = Normal::standard();
    const STEPS: usize = 240;
    let width = (r + 12.0) / STEPS as f64;
    let mut sum = 0.0;
    for i in 0..STEPS {
        let x = -6.0 - r + (i as f64 + 0.5) * width;
        let inside = normal.cdf(x + r) - normal.cdf(x);
        sum += normal.pdf(x) * inside.powi(n as i32 - 1);
    }
    n as f64 * sum * width
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Studentised range, infinite degrees of freedom, 5 %: 2.772, 3.314, 3.858, 4.474, 5.012
    /// for 2, 3, 5, 10, 20 values (tables of H. L. Harter 1960, from memory).
    #[test]
    fn range_quantiles_agree_with_the_tables() {
        for (n, q) in [(2, 2.772), (3, 3.314), (5, 3.858), (10, 4.474), (20, 5.012)] {
            assert!((quantile_of_range(n, 0.95) - q).abs() < 2e-3, "{n}");
        }
    }

    #[test]
    fn samples_that_share_one_time_have_no_slope() {
        let points: Vec<Point> = (0..5)
            .map(|i| Point {
                at_us: 7,
                v: f64::from(i),
                stable: None,
            })
            .collect();
        let line = FittedLine::through(&points);
        assert_eq!(line.slope, 0.0);
        assert_eq!(line.range, 4.0);
    }

    #[test]
    fn a_quiet_gauge_may_repeat_itself_and_a_noisy_one_may_not() {
        assert_eq!(frozen_run(0.3, 1.0, 1e-9), None);
        assert_eq!(
            frozen_run(0.55, 1.0, 1e-9),
            None,
            "flickering between two counts is no noise"
        );
        let run = frozen_run(1.5, 1.0, 1e-9).unwrap();
        assert!((12..25).contains(&run), "{run}");
    }
}
