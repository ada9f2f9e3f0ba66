//! How high a turn goes, from the samples near its top.
//!
//! The samples rise and fall about one top (a low turning point comes with its sign changed). The
//! module does not ask whether a crank made them.

use super::pass::{NotAPass, Pass, Shape};
use super::still::{Point, seconds};

/// Fits the samples of one turn; `highest` is the highest of them.
///
/// A parabola is tried first: through the samples within some counts of the top, then through
/// fewer. If a hand turned so unevenly that no parabola fits, a curve that may lean is tried, on
/// the samples that are connected with the top.
pub(super) fn fit_about(near: &[Point], highest: f64, shape: &Shape) -> Result<Pass, NotAPass> {
    let mut depth = (4.0 * shape.resolution).max(6.0 * shape.sigma);
    let least = (2.0 * shape.resolution).max(3.0 * shape.sigma);
    loop {
        let window = fit_window(near, highest, depth);
        let lost = lost_within(window, shape.period);
        if lost > 2.5 * shape.period {
            return Err(NotAPass::Lost(lost));
        }
        let pass = fit(window, shape);
        if pass.fits(highest, shape, 2.5, 0.5) {
            return Ok(pass);
        }
        // A pause on the flank bends the parabola: fewer samples are tried.
        if depth <= least {
            let fair = Some(pass).filter(|p| p.fits(highest, shape, 5.0, 0.8));
            return leaning(near, highest, shape)
                .or(fair)
                .ok_or(NotAPass::Uneven);
        }
        depth = (0.7 * depth).max(least);
    }
}

/// For how many seconds samples are missing.
fn lost_within(window: &[Point], period: f64) -> f64 {
    let span = seconds(window[0].at_us, window[window.len() - 1].at_us);
    span - (window.len() - 1) as f64 * period
}

impl Pass {
    /// Whether the scatter about the fit is the gauge's own, and the top is neither below the
    /// samples nor higher than a top between two samples may be.
    fn fits(&self, highest: f64, shape: &Shape, spread: f64, off: f64) -> bool {
        let scatter = self.squares / self.degrees as f64 / (shape.sigma * shape.sigma);
        let count = shape.resolution.max(shape.sigma);
        let short = (highest_three(&self.points) - self.top) / count;
        let beyond = (self.top - highest) / count;
        scatter <= spread && short <= off && (-MOST_BELOW..=MOST_BETWEEN).contains(&beyond)
    }
}

/// A top lies at most so many counts above the highest sample. Example: at 8° a second, five
/// samples a second and a crank of 2 in the top lies half a count above both neighbours.
const MOST_BETWEEN: f64 = 0.6;
/// A top lies at most so many counts below the highest sample: noise of a quarter of a count,
/// rounded, seldom shows more.
const MOST_BELOW: f64 = 0.9;
/// Windows for a leaning curve, counts below the top.
const DEPTHS: [f64; 5] = [3.5, 2.5, 2.0, 1.5, 1.05];

/// A cubic or quartic through the samples that are connected with the top. A hand that hurries or
/// waits on one side leans the curve and leaves the height of the top as it is.
fn leaning(near: &[Point], highest: f64, shape: &Shape) -> Option<Pass> {
    let count = shape.resolution.max(2.0 * shape.sigma);
    for depth in DEPTHS {
        let window = about_the_top(near, highest, depth * count);
        if lost_within(window, shape.period) > 2.5 * shape.period {
            continue;
        }
        for degree in [3, 4] {
            let fitted = curve(window, degree, shape);
            if let Some(pass) = fitted.filter(|p| p.fits(highest, shape, 2.5, 0.5)) {
                return Some(pass);
            }
        }
    }
    None
}

/// The samples about the middle of the highest ones, up to two in a row that lie deeper.
fn about_the_top(near: &[Point], highest: f64, depth: f64) -> &[Point] {
    let at: Vec<usize> = (0..near.len()).filter(|&i| near[i].v == highest).collect();
    let middle = at[at.len() / 2];
    let inside = |i: usize| near[i].v >= highest - depth;
    let start = (1..=middle).rev().find(|&i| !inside(i) && !inside(i - 1));
    let end = (middle..near.len() - 1).find(|&i| !inside(i) && !inside(i + 1));
    &near[start.map_or(0, |i| i + 1)..end.unwrap_or(near.len())]
}

/// The top of a curve of this degree, where the curve has a top inside the samples.
fn curve(points: &[Point], degree: usize, shape: &Shape) -> Option<Pass> {
    let n = points.len();
    if n < degree + 4 {
        return None;
    }
    // From −1 to 1, so that the powers have similar sizes.
    let xs = abscissae(points, shape.period);
    let (from, to) = (xs[0], xs[n - 1]);
    let scaled = |x: f64| 2.0 * (x - from) / (to - from).max(1e-9) - 1.0;
    let basis: Vec<Vec<f64>> = xs.iter().map(|&x| powers(scaled(x), degree)).collect();
    let mean = points.iter().map(|p| p.v).sum::<f64>() / n as f64;
    let inverse = inverted(&basis)?;
    let mut right = vec![0.0; degree + 1];
    for (row, p) in basis.iter().zip(points) {
        for (sum, b) in right.iter_mut().zip(row) {
            *sum += b * (p.v - mean);
        }
    }
    let size: Vec<f64> = inverse.iter().map(|row| dot(row, &right)).collect();
    let value = |x: f64| dot(&powers(x, degree), &size);
    const STEPS: i32 = 200;
    let grid: Vec<f64> = (-STEPS..=STEPS)
        .map(|i| f64::from(i) / f64::from(STEPS))
        .collect();
    let at = grid
        .iter()
        .copied()
        .max_by(|a, b| value(*a).total_cmp(&value(*b)))?;
    if at.abs() > 0.999 || !has_one_top(&grid, at, &value, 0.5 * shape.resolution) {
        return None;
    }
    let squares = basis
        .iter()
        .zip(points)
        .map(|(row, p)| (p.v - mean - dot(row, &size)).powi(2))
        .sum();
    let there = powers(at, degree);
    let leverage: f64 = inverse
        .iter()
        .zip(&there)
        .map(|(row, b)| b * dot(row, &there))
        .sum();
    Some(Pass {
        top: value(at) + mean,
        se: shape.sigma * leverage.max(0.0).sqrt(),
        squares,
        degrees: n - degree - 1,
        points: points.to_vec(),
        stood: 0.0,
    })
}

/// Whether a curve rises to the top and falls from it, apart from waves smaller than `wave`.
fn has_one_top(grid: &[f64], at: f64, value: &impl Fn(f64) -> f64, wave: f64) -> bool {
    let (left, right): (Vec<f64>, Vec<f64>) = grid.iter().partition(|x| **x < at);
    falls(right.iter().map(|&x| value(x)), wave)
        && falls(left.iter().rev().map(|&x| value(x)), wave)
}

fn falls(values: impl Iterator<Item = f64>, wave: f64) -> bool {
    let mut least = f64::INFINITY;
    let mut values = values;
    values.all(|v| {
        least = least.min(v);
        v <= least + wave
    })
}

fn powers(x: f64, degree: usize) -> Vec<f64> {
    (0..=degree as i32).map(|k| x.powi(k)).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The inverse of the normal matrix, by elimination with the largest pivot.
fn inverted(basis: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let m = basis.first()?.len();
    let mut rows: Vec<Vec<f64>> = (0..m)
        .map(|i| {
            let normal = (0..m).map(|j| basis.iter().map(|row| row[i] * row[j]).sum());
            let unit = (0..m).map(|j| f64::from(u8::from(i == j)));
            normal.chain(unit).collect()
        })
        .collect();
    for i in 0..m {
        let pivot = (i..m).max_by(|&a, &b| rows[a][i].abs().total_cmp(&rows[b][i].abs()))?;
        rows.swap(i, pivot);
        let head = rows[i][i];
        if head.abs() < 1e-9 {
            return None;
        }
        rows[i].iter_mut().for_each(|v| *v /= head);
        let own = rows[i].clone();
        for (k, row) in rows.iter_mut().enumerate() {
            let factor = row[i];
            if k != i {
                row.iter_mut().zip(&own).for_each(|(v, o)| *v -= factor * o);
            }
        }
    }
    Some(rows.into_iter().map(|row| row[m..].to_vec()).collect())
}

/// The highest mean of three samples in a row.
fn highest_three(points: &[Point]) -> f64 {
    let means = points
        .windows(3)
        .map(|w| w.iter().map(|p| p.v).sum::<f64>() / 3.0);
    means.fold(f64::NEG_INFINITY, f64::max)
}

/// The samples within `depth` of the top, with at least two on each side.
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

/// A parabola through the samples. Where the parabola has no top inside them: the mean of the
/// samples within one count of the highest.
fn fit(points: &[Point], shape: &Shape) -> Pass {
    let xs = abscissae(points, shape.period);
    if let Some((top, squares, leverage)) = parabola_top(&xs, points) {
        return Pass {
            top,
            se: shape.sigma * leverage.sqrt(),
            squares,
            degrees: (points.len() - 3).max(1),
            points: points.to_vec(),
            stood: 0.0,
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
        stood: 0.0,
    }
}

/// The times in periods. Where samples came in a burst, their times belong to the serial line and
/// not to the gauge: then plain numbers.
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

/// The top of the parabola, the sum of squares, and the leverage (variance of the top for unit
/// noise).
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
