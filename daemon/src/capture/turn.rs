//! One pass over a turning point: is it one, and how high does it go?
//!
//! It sees the samples of one pass, already turned so that the turning point is a top.

use super::still::{Point, seconds};

/// What makes a turning point of a run of samples.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    /// The fall asked for on both sides, in the gauge's unit.
    pub(crate) fall: f64,
    /// Samples needed on each side within that fall.
    pub(crate) each_side: usize,
    /// The gauge's noise.
    pub(crate) sigma: f64,
    /// One count.
    pub(crate) resolution: f64,
    /// The gauge's period, s.
    pub(crate) period: f64,
    /// The least time between the two falls, s.
    pub(crate) least_s: f64,
}

/// A pass that turned.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pass {
    /// The height of the top (of the turned samples).
    pub(crate) top: f64,
    /// Its standard deviation, given the noise.
    pub(crate) se: f64,
    /// Sum of squares about the fit, and how many parameters it took.
    pub(crate) squares: f64,
    pub(crate) degrees: usize,
    /// The samples it was fitted to (turned).
    pub(crate) points: Vec<Point>,
}

/// Why a pass is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum NotAPass {
    /// Too few samples near the top: how many on the poorer side.
    TooFast(usize),
    /// A flat with cliffs: something was moved.
    Moved,
    /// Samples are missing near the top, s.
    Lost(f64),
    /// No smooth turn fits the samples near the top: a stop, or an uneven hand.
    Uneven,
}

/// Judges the samples from a fall before the top to a fall after it.
pub(crate) fn judge(points: &[Point], shape: &Shape) -> Result<Pass, NotAPass> {
    let highest = points.iter().map(|p| p.v).fold(f64::NEG_INFINITY, f64::max);
    let near = near_top(points, highest - shape.fall);
    let first = near.iter().position(|p| p.v == highest).unwrap_or(0);
    let last = near.iter().rposition(|p| p.v == highest).unwrap_or(0);
    let flanks = first.min(near.len() - 1 - last);
    if flanks < shape.each_side {
        // Many samples on a flat without flanks: it stood there, it did not turn.
        let flat = near.len() >= 3 * shape.each_side && flanks <= 1;
        return Err(if flat {
            NotAPass::Moved
        } else {
            NotAPass::TooFast(flanks)
        });
    }
    match flanks_of(points, highest, shape) {
        Flanks::Short => return Err(NotAPass::TooFast(flanks)),
        Flanks::Steep => return Err(NotAPass::Uneven),
        Flanks::Fair => {}
    }
    let mut depth = (4.0 * shape.resolution).max(6.0 * shape.sigma);
    let least = (2.0 * shape.resolution).max(3.0 * shape.sigma);
    loop {
        let window = fit_window(near, highest, depth);
        let span = seconds(window[0].at_us, window[window.len() - 1].at_us);
        let lost = span - (window.len() - 1) as f64 * shape.period;
        if lost > 2.5 * shape.period {
            return Err(NotAPass::Lost(lost));
        }
        let pass = fit(window, shape);
        let spread = pass.squares / pass.degrees as f64 / (shape.sigma * shape.sigma);
        let short = (highest_three(window) - pass.top) / shape.resolution.max(shape.sigma);
        if spread <= 2.5 && short <= 0.5 {
            return Ok(pass);
        }
        // A pause on the flank bends the parabola: look at less of it.
        if depth <= least {
            let fair = spread <= 5.0 && short <= 0.8;
            return if fair {
                Ok(pass)
            } else {
                Err(NotAPass::Uneven)
            };
        }
        depth = (0.7 * depth).max(least);
    }
}

/// How a pass goes up to its top and down from it.
enum Flanks {
    /// Like a turn.
    Fair,
    /// The whole is over too soon.
    Short,
    /// A step at one end, or a rest between two falls.
    Steep,
}

/// A turn takes no less than this share of the time near its top for each flank. A parabola
/// takes half as long; twice that speed on the flanks and two stops of 1.2 s near the top leave
/// a tenth. A rest between two bumps leaves next to nothing.
const LEAST_FLANK: f64 = 0.07;
/// A step between two samples, as steep as a fall, takes three quarters of a period.
const LEAST_PERIODS: f64 = 0.8;

/// Times the flanks between the fall and a quarter of it. A line that stalls brings samples
/// late, so they are counted as well, at one period each.
fn flanks_of(points: &[Point], highest: f64, shape: &Shape) -> Flanks {
    let top = (0..points.len()).fold(0, |b, i| if points[i].v > points[b].v { i } else { b });
    let (low, high) = (highest - shape.fall, highest - 0.25 * shape.fall);
    let up = |level: f64| {
        let before = points[..top].iter().rposition(|p| p.v <= level);
        before.map_or((points[0].since(0), 0.0), |i| crossing(points, i, level))
    };
    let down = |level: f64| {
        let after = points[top..].iter().position(|p| p.v <= level);
        let end = points.len() - 1;
        after.map_or((points[end].since(0), end as f64), |i| {
            crossing(points, (top + i).saturating_sub(1), level)
        })
    };
    let longest =
        |from: (f64, f64), to: (f64, f64)| (to.0 - from.0).max((to.1 - from.1) * shape.period);
    let (left, right) = (longest(up(low), up(high)), longest(down(high), down(low)));
    let near = (down(high).1 - up(high).1) * shape.period;
    if longest(up(low), down(low)) < shape.least_s {
        Flanks::Short
    } else if left.min(right) < (LEAST_PERIODS * shape.period).max(LEAST_FLANK * near) {
        Flanks::Steep
    } else {
        Flanks::Fair
    }
}

/// Where the straight line from sample `i` to its successor crosses a level: in seconds since the
/// stream began, and in samples.
fn crossing(points: &[Point], i: usize, level: f64) -> (f64, f64) {
    let (a, b) = (&points[i], &points[(i + 1).min(points.len() - 1)]);
    let rise = b.v - a.v;
    let share = if rise == 0.0 {
        0.0
    } else {
        ((level - a.v) / rise).clamp(0.0, 1.0)
    };
    (a.since(0) + share * b.since(a.at_us), i as f64 + share)
}

/// The highest mean of three samples in a row.
fn highest_three(points: &[Point]) -> f64 {
    let means = points
        .windows(3)
        .map(|w| w.iter().map(|p| p.v).sum::<f64>() / 3.0);
    means.fold(f64::NEG_INFINITY, f64::max)
}

/// The run of samples about the highest that are not below `floor`.
fn near_top(points: &[Point], floor: f64) -> &[Point] {
    let top = (0..points.len()).fold(0, |b, i| if points[i].v > points[b].v { i } else { b });
    let start = points[..top]
        .iter()
        .rposition(|p| p.v < floor)
        .map_or(0, |i| i + 1);
    let end = points[top..]
        .iter()
        .position(|p| p.v < floor)
        .map_or(points.len(), |i| top + i);
    &points[start..end]
}

/// The samples within `depth` of the top, and at least two on each side of it.
fn fit_window(near: &[Point], highest: f64, depth: f64) -> &[Point] {
    let first = near.iter().position(|p| p.v == highest).unwrap_or(0);
    let last = near.iter().rposition(|p| p.v == highest).unwrap_or(0);
    let inside = |p: &Point| p.v >= highest - depth;
    let start = near
        .iter()
        .position(inside)
        .unwrap_or(first)
        .min(first.saturating_sub(2));
    let end = near
        .iter()
        .rposition(inside)
        .unwrap_or(last)
        .max((last + 2).min(near.len() - 1));
    &near[start..=end]
}

/// A parabola through the samples; where that has no top inside them, the mean of those
/// within one count of the highest.
fn fit(points: &[Point], shape: &Shape) -> Pass {
    let xs = abscissae(points, shape.period);
    if let Some((top, squares, leverage)) = parabola_top(&xs, points) {
        return Pass {
            top,
            se: shape.sigma * leverage.sqrt(),
            squares,
            degrees: (points.len() - 3).max(1),
            points: points.to_vec(),
        };
    }
    let highest = points.iter().map(|p| p.v).fold(f64::NEG_INFINITY, f64::max);
    let within = shape.resolution.max(2.0 * shape.sigma);
    let top: Vec<f64> = points
        .iter()
        .map(|p| p.v)
        .filter(|v| *v >= highest - within)
        .collect();
    let mean = top.iter().sum::<f64>() / top.len() as f64;
    let squares = top.iter().map(|v| (v - mean).powi(2)).sum();
    let se = shape.sigma / (top.len() as f64).sqrt();
    Pass {
        top: mean,
        se,
        squares,
        degrees: (top.len() - 1).max(1),
        points: points.to_vec(),
    }
}

/// Times in periods; or plain numbers where samples came in a burst and their times tell of
/// the line, not of the gauge.
fn abscissae(points: &[Point], period: f64) -> Vec<f64> {
    let burst = points
        .windows(2)
        .any(|w| seconds(w[0].at_us, w[1].at_us) < 0.3 * period);
    let middle = (points.len() - 1) as f64 / 2.0;
    let from = points[0].at_us;
    points
        .iter()
        .enumerate()
        .map(|(i, p)| {
            if burst {
                i as f64
            } else {
                p.since(from) / period.max(1e-6)
            }
        })
        .map(|x| x - middle)
        .collect()
}

/// Top, sum of squares and leverage (variance of the top for unit noise) of the parabola.
fn parabola_top(xs: &[f64], points: &[Point]) -> Option<(f64, f64, f64)> {
    let n = xs.len() as f64;
    let x_mean = xs.iter().sum::<f64>() / n;
    let v_mean = points.iter().map(|p| p.v).sum::<f64>() / n;
    let (mut s2, mut s3, mut s4, mut sy, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (x, p) in xs.iter().zip(points) {
        let (x, y) = (x - x_mean, p.v - v_mean);
        s2 += x * x;
        s3 += x * x * x;
        s4 += x * x * x * x;
        sxy += x * y;
        sy += x * x * y;
    }
    // Normal equations for y = c + b x + a x², with Σx = Σy = 0.
    let det = s4 * s2 - s3 * s3 - s2 * s2 * s2 / n;
    if det.abs() < 1e-9 {
        return None;
    }
    let a = (sy * s2 - s3 * sxy) / det;
    let b = (sxy - a * s3) / s2;
    let c = -a * s2 / n;
    if a >= 0.0 {
        return None;
    }
    let at = -b / (2.0 * a);
    let (low, high) = (xs[0] - x_mean, xs[xs.len() - 1] - x_mean);
    if !(low..=high).contains(&at) {
        return None;
    }
    let value = |x: f64| c + b * x + a * x * x;
    let squares = xs
        .iter()
        .zip(points)
        .map(|(x, p)| (p.v - v_mean - value(x - x_mean)).powi(2))
        .sum();
    // Variance of c + b x + a x² at the top, from the inverse of the normal matrix.
    let (vaa, vbb, vab) = (s2 / det, (s4 - s2 * s2 / n) / det, -s3 / det);
    let u = at * at - s2 / n;
    let leverage = 1.0 / n + u * u * vaa + at * at * vbb + 2.0 * u * at * vab;
    Some((value(at) + v_mean, squares, leverage))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape() -> Shape {
        Shape {
            fall: 0.25,
            each_side: 3,
            sigma: 0.004,
            resolution: 0.01,
            period: 0.1,
            least_s: 0.6,
        }
    }

    #[test]
    fn a_rest_between_two_bumps_is_no_turn() {
        // Each dies within half a second and leaves the gauge where it was, for 0.8 to 5 s.
        let dying = |i: i32| -2.0 * (-f64::from(i) * 0.1 / 0.15).exp();
        for rest in [8, 20, 50] {
            let values = (0..5).map(dying).chain((0..rest).map(|_| 0.0));
            let values = values.chain((0..5).map(dying));
            let judged = judge(&points(values), &shape());
            assert!(judged.is_err(), "{rest}: {judged:?}");
        }
    }

    fn points(values: impl IntoIterator<Item = f64>) -> Vec<Point> {
        let at = |i: usize| i as u64 * 100_000;
        values
            .into_iter()
            .enumerate()
            .map(|(i, v)| Point {
                at_us: at(i),
                v: (v * 100.0).round() / 100.0,
                stable: None,
            })
            .collect()
    }

    #[test]
    fn a_parabola_between_counts_is_found_within_a_fifth_of_one() {
        let pass = judge(
            &points((-20..=20).map(|i| 1.2345 - 0.001 * f64::from(i * i))),
            &shape(),
        )
        .unwrap();
        assert!((pass.top - 1.2345).abs() < 0.002, "{}", pass.top);
    }

    #[test]
    fn a_flat_between_cliffs_was_moved() {
        let values = [0.0, 0.0].into_iter().chain([2.0; 12]).chain([0.0, 0.0]);
        assert_eq!(judge(&points(values), &shape()), Err(NotAPass::Moved));
    }

    #[test]
    fn a_top_with_two_samples_near_is_too_fast() {
        let values = [-2.0, -1.0, -0.2, 0.0, -0.2, -1.2];
        assert_eq!(judge(&points(values), &shape()), Err(NotAPass::TooFast(1)));
    }

    #[test]
    fn a_burst_of_samples_with_one_time_is_fitted_by_count() {
        let mut burst = points((-20..=20).map(|i| 1.0 - 0.001 * f64::from(i * i)));
        let late = burst[23].at_us;
        for p in &mut burst[18..23] {
            p.at_us = late;
        }
        let pass = judge(&burst, &shape()).unwrap();
        assert!((pass.top - 1.0).abs() < 0.003, "{}", pass.top);
    }
}
