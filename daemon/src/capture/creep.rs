//! Where a value that may still be creeping will come to rest.
//!
//! Two explanations of the samples are weighed against each other: the value rests, or it
//! approaches a rest exponentially (a film of liquid that runs down glass, a plunger pad that
//! gives). The answer is the mean over both, weighted by how well each explains the samples. So
//! noise alone is not extrapolated, and a clear creep is. Bayesian model averaging, Hoeting et al.,
//! Statistical Science 14 (1999), from memory.

mod weighing;

use super::still::Point;
pub(crate) use weighing::Rest;
use weighing::{Model, Shape, Sums, Weighing, weigh};

/// What is assumed of creep before the samples are seen.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Creep<'a> {
    /// Standard deviations considered for the creep still to come at the first sample, in the
    /// gauge's unit.
    pub(crate) sizes: &'a [f64],
    /// How long before the first sample those `sizes` applied, s. The creep has faded since.
    pub(crate) since_s: f64,
    /// Time constants considered, s.
    pub(crate) taus: &'a [f64],
    /// The chance that there is creep at all.
    pub(crate) chance: f64,
    /// What else may be in the samples.
    pub(crate) also: Also<'a>,
}

/// What may be in the samples beside creep.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Also<'a> {
    /// One step anywhere among the samples: a drop that fell.
    Drop {
        /// The step's standard deviation.
        size: f64,
        /// The chance of a step.
        chance: f64,
    },
    /// The end of the movement that led to the rest. A tail fades faster than creep.
    Tail {
        /// The tail's standard deviation at the first sample.
        size: f64,
        /// The chance of a tail.
        chance: f64,
        /// Time constants considered, s.
        taus: &'a [f64],
    },
}

/// The least number of samples after a drop.
const AFTER_DROP: usize = 6;

/// Weighs rest against creep and the other shapes. `points` must not be empty. The risk is the
/// chance of being off by more than `off_by`; there is none of being off without bound.
pub(crate) fn rest(points: &[Point], sigma: f64, creep: Creep<'_>, off_by: f64) -> Rest {
    let n = points.len() as f64;
    let mean = points.iter().map(|p| p.v).sum::<f64>() / n;
    let (extras, extra_chance, extra_size) = extras(points, mean, creep.also);
    let with = Weighing {
        n,
        mean,
        var: sigma * sigma,
        prior: 1.0,
        extra_prior: (extra_size * extra_size).max(f64::MIN_POSITIVE),
    };
    let calm = 1.0 - creep.chance;
    let each = extra_chance / extras.len().max(1) as f64;
    let creeps = 1 + creep.taus.len() * creep.sizes.len();
    let mut models = Vec::with_capacity(creeps * (1 + extras.len()));
    models.push(with.fit(calm * (1.0 - extra_chance), None, None, 0.0));
    for (shape, extra) in &extras {
        models.push(Model {
            shape: *shape,
            ..with.fit(calm * each, None, Some(*extra), 0.0)
        });
    }
    let mut gain: f64 = 0.0;
    let largest = largest(creep);
    let share = creep.chance / (creep.taus.len() * creep.sizes.len()).max(1) as f64;
    for &tau in creep.taus {
        let shape = fading(points, tau);
        let film = sums(points, mean, &shape);
        gain = gain.max(bounded_gain(with.var, film, largest));
        let crosses = crosses(points, &shape, film.mean, &extras);
        for size in creep.sizes {
            let size = (size * (-creep.since_s / tau).exp()).max(1e-3 * sigma);
            let with = Weighing {
                prior: size * size,
                ..with
            };
            let alone = with.fit(share * (1.0 - extra_chance), Some(film), None, 0.0);
            models.push(Model { tau, ..alone });
            for ((shape, extra), cross) in extras.iter().zip(&crosses) {
                let fitted = with.fit(share * each, Some(film), Some(*extra), *cross);
                models.push(Model {
                    tau,
                    shape: *shape,
                    ..fitted
                });
            }
        }
    }
    weigh(points, &models, gain, off_by)
}

/// The gain of [`rest`] alone, for whoever asks for nothing else: no explanation has to be weighed.
pub(crate) fn gain_of_creep(points: &[Point], sigma: f64, creep: Creep<'_>) -> f64 {
    let mean = points.iter().map(|p| p.v).sum::<f64>() / points.len() as f64;
    let largest = largest(creep);
    let gain = |&tau: &f64| {
        let film = sums(points, mean, &fading(points, tau));
        bounded_gain(sigma * sigma, film, largest)
    };
    creep.taus.iter().map(gain).fold(0.0, f64::max)
}

fn largest(creep: Creep<'_>) -> f64 {
    creep.sizes.iter().fold(0.0, |a: f64, b| a.max(*b))
}

fn fading(points: &[Point], tau: f64) -> Vec<f64> {
    let from = points[0].at_us;
    points
        .iter()
        .map(|p| (-p.since(from) / tau).exp())
        .collect()
}

fn sums(points: &[Point], v_mean: f64, shape: &[f64]) -> Sums {
    let mean = shape.iter().sum::<f64>() / shape.len() as f64;
    let (mut square, mut product) = (0.0, 0.0);
    for (x, p) in shape.iter().zip(points) {
        square += (x - mean) * (x - mean);
        product += (x - mean) * (p.v - v_mean);
    }
    Sums {
        mean,
        square,
        product,
    }
}

/// The other shapes with their sums, the chance that one of them is present, and its size.
fn extras(points: &[Point], v_mean: f64, also: Also<'_>) -> (Vec<(Shape, Sums)>, f64, f64) {
    match also {
        Also::Drop { size, chance } => {
            let places = points.len().saturating_sub(AFTER_DROP);
            let drops = drop_sums(points, v_mean, places);
            (drops, if places > 0 { chance } else { 0.0 }, size)
        }
        Also::Tail { size, chance, taus } => {
            let tail = |&tau: &f64| (Shape::Tail(tau), sums(points, v_mean, &fading(points, tau)));
            (taus.iter().map(tail).collect(), chance, size)
        }
    }
}

/// The sums for a drop after each of the first samples.
fn drop_sums(points: &[Point], v_mean: f64, places: usize) -> Vec<(Shape, Sums)> {
    let n = points.len() as f64;
    let mut product = 0.0;
    (1..=places)
        .zip(points)
        .map(|(k, p)| {
            product += p.v - v_mean;
            let mean = k as f64 / n;
            (
                Shape::Drop(k),
                Sums {
                    mean,
                    square: k as f64 * (1.0 - mean),
                    product,
                },
            )
        })
        .collect()
}

/// The sum of a creep's products with each other shape, about their means.
fn crosses(points: &[Point], creep: &[f64], mean: f64, extras: &[(Shape, Sums)]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut seen = 0;
    extras
        .iter()
        .map(|(shape, _)| match *shape {
            Shape::Drop(k) => {
                sum += creep[seen..k].iter().sum::<f64>();
                seen = k;
                sum - k as f64 * mean
            }
            Shape::Tail(tau) => {
                let tail = fading(points, tau);
                tail.iter().zip(creep).map(|(a, b)| a * (b - mean)).sum()
            }
        })
        .collect()
}

/// Twice the log likelihood gained by a film of about `size`, limited to twice that size: a longer
/// run is no creep.
fn bounded_gain(var: f64, film: Sums, size: f64) -> f64 {
    let prior = size * size;
    let fitted = (film.product / (film.square + var / prior)).clamp(-2.0 * size, 2.0 * size);
    (2.0 * fitted * film.product - fitted * fitted * film.square) / var - fitted * fitted / prior
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAIN: Creep<'_> = Creep {
        sizes: &[0.03],
        since_s: 0.0,
        taus: &[5.0, 8.0, 12.0],
        chance: 0.5,
        also: Also::Drop {
            size: 0.03,
            chance: 0.0,
        },
    };

    fn signal(n: usize, f: impl Fn(f64) -> f64) -> Vec<Point> {
        (0..n)
            .map(|i| {
                let t = i as f64 * 0.1;
                // A fixed, trendless wobble in place of noise.
                let wobble = [0.6, -1.1, 0.9, 0.2, -0.8, 0.4, -0.2][i % 7] * 0.005;
                Point {
                    at_us: (t * 1e6) as u64,
                    v: f(t) + wobble,
                    stable: None,
                }
            })
            .collect()
    }

    #[test]
    fn samples_at_rest_are_not_extrapolated() {
        let r = rest(&signal(70, |_| 40.0), 0.005, DRAIN, 1.0);
        assert!((r.value - 40.0).abs() < 0.002, "{r:?}");
    }

    #[test]
    fn a_draining_film_is_followed_to_its_end() {
        let r = rest(
            &signal(70, |t| 40.0 + 0.05 * (-t / 7.0).exp()),
            0.005,
            DRAIN,
            1.0,
        );
        assert!((r.value - 40.0).abs() < 0.01, "{r:?}");
        assert!((r.now - 40.0184).abs() < 0.004, "{r:?}");
    }

    #[test]
    fn the_gain_of_creep_alone_is_that_of_the_whole_weighing() {
        for size in [0.0, 0.01, 0.05] {
            let points = signal(70, |t| 40.0 + size * (-t / 7.0).exp());
            let alone = gain_of_creep(&points, 0.005, DRAIN);
            assert_eq!(alone, rest(&points, 0.005, DRAIN, 1.0).gain);
        }
    }
}
