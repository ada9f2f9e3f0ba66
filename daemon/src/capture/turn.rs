//! One pass over a turning point: is it a pass, and how high does it go?
//!
//! The samples of a low turning point come with their sign changed, so that every turning point is
//! a top.

pub(crate) use super::pass::{NotAPass, Pass, Shape};
use super::still::Point;
use super::summit::fit_about;

/// Noise of a quarter of a count, rounded to counts, in counts: √(1/16 + 1/12) is 0.38.
const QUIET: f64 = 0.4;

/// Judges the samples from the fall before the top to the fall after it.
pub(crate) fn judge(points: &[Point], shape: &Shape) -> Result<Pass, NotAPass> {
    let highest = points.iter().map(|p| p.v).fold(f64::NEG_INFINITY, f64::max);
    let near = near_top(points, highest - shape.fall);
    let first = near.iter().position(|p| p.v == highest).unwrap_or(0);
    let last = near.iter().rposition(|p| p.v == highest).unwrap_or(0);
    let flanks = first.min(near.len() - 1 - last);
    // A hand that hurries over one side only leaves enough samples on the other.
    let enough = flanks + 1 >= shape.each_side && near.len() > 2 * shape.each_side + 1;
    if flanks < shape.each_side && !enough {
        // Many samples on a flat without flanks: the gauge stood still and did not turn.
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
    // A gauge that nobody knows yet starts with a noise of one count. Most gauges are quieter; then
    // a curve that misses the top by a count would pass for a fit.
    let quiet = Shape {
        sigma: shape.sigma.min(QUIET * shape.resolution),
        ..*shape
    };
    let pass = match fit_about(near, highest, &quiet) {
        Err(NotAPass::Uneven) if quiet.sigma < shape.sigma => fit_about(near, highest, shape),
        fitted => fitted,
    };
    // A gauge finer than what the piston moves by between two samples shows how unevenly the hand
    // went from one to the next, which says nothing of the height of the top.
    let pass = match pass {
        Err(NotAPass::Uneven) => match between_samples(points, highest, shape) {
            Some(coarser) => fit_about(near, highest, &coarser),
            None => pass,
        },
        _ => pass,
    };
    pass.map(|pass| Pass {
        stood: stood(near, highest, shape.resolution),
        ..pass
    })
}

/// The conditions where a count is what the piston moves by between the top and the next sample, if
/// that is more than a count of the gauge.
fn between_samples(points: &[Point], highest: f64, shape: &Shape) -> Option<Shape> {
    let low = highest - shape.fall;
    let top = (0..points.len()).fold(0, |b, i| if points[i].v > points[b].v { i } else { b });
    let from = points[..top].iter().rposition(|p| p.v <= low)?;
    let to = top + points[top..].iter().position(|p| p.v <= low)?;
    let half = 0.5 * points[to].since(points[from].at_us);
    let moved = shape.fall * (shape.period / half.max(shape.period)).powi(2);
    let step = moved.min(shape.finest);
    (step > shape.resolution).then_some(Shape {
        resolution: step,
        sigma: QUIET * step,
        ..*shape
    })
}

/// The share of the samples that lie within a count of the top, one after another. A single lower
/// sample does not end the row.
fn stood(near: &[Point], highest: f64, count: f64) -> f64 {
    let inside = |p: &Point| p.v >= highest - 1.2 * count;
    let top = near.iter().position(|p| p.v == highest).unwrap_or(0);
    let apart = |run: &[bool]| {
        let end = run.windows(2).position(|w| !w[0] && !w[1]);
        run[..end.unwrap_or(run.len())]
            .iter()
            .rposition(|i| *i)
            .map_or(0, |last| last + 1)
    };
    let after: Vec<bool> = near[top..].iter().map(inside).collect();
    let before: Vec<bool> = near[..top].iter().rev().map(inside).collect();
    (apart(&after) + apart(&before)) as f64 / near.len() as f64
}

/// How a pass rises to its top and falls from it.
enum Flanks {
    /// Like a turn.
    Fair,
    /// The pass is over too soon.
    Short,
    /// A step at one end, or a rest between two falls.
    Steep,
}

/// The least share of the time near the top that a turn takes for each flank. A parabola takes half
/// as long for a flank; twice that speed on the flanks and two stops of 1.2 s near the top leave a
/// tenth. A rest between two bumps leaves next to nothing.
const LEAST_FLANK: f64 = 0.07;
/// A step between two samples, as steep as a fall, takes three quarters of a period.
const LEAST_PERIODS: f64 = 0.8;

/// Judges the time of the flanks between the fall and a quarter of it. A line that stalls brings
/// samples late; so samples are counted as well, each as one period.
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
            finest: 0.005,
            least_s: 0.6,
        }
    }

    #[test]
    fn a_rest_between_two_bumps_is_no_turn() {
        // Each dies within half a second and leaves the gauge where it was for 0.8 to 5 s.
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
