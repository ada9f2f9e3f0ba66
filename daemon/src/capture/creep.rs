//! Where a value that may still be creeping will come to rest.
//!
//! Two explanations of the samples are weighed against each other: the value rests, or it
//! approaches a rest exponentially (a film of liquid that runs down glass, a plunger pad that
//! gives). The answer is the mean over both, weighted by how well each explains the samples. So
//! noise alone is not extrapolated, and a clear creep is. Bayesian model averaging, Hoeting et al.,
//! Statistical Science 14 (1999), from memory.

use super::still::Point;
use statrs::distribution::{ContinuousCDF, Normal};

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

/// Where the samples are heading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rest {
    /// The value they come to rest at.
    pub(crate) value: f64,
    /// The standard deviation of `value`, given the noise.
    pub(crate) se: f64,
    /// The fitted value at the last sample.
    pub(crate) now: f64,
    /// Standard deviation of the samples about the fit; `None` for fewer than three.
    pub(crate) sd: Option<f64>,
    /// Twice the log likelihood gained by the best creep over none, less the cost of its size.
    pub(crate) gain: f64,
    /// The chance that `value` is off by more than the caller allows.
    pub(crate) risk: f64,
}

/// One explanation: a rest, and what is added to the rest.
#[derive(Debug, Clone, Copy)]
struct Model {
    /// The logarithm of the explanation's weight against the others.
    weight: f64,
    value: f64,
    variance: f64,
    /// What creep adds at the first sample, and its time constant, s.
    film: f64,
    tau: f64,
    /// What the other shape adds.
    extra: f64,
    shape: Shape,
}

/// The other shape.
#[derive(Debug, Clone, Copy)]
enum Shape {
    /// The first so many samples are 1, the others 0: a drop that had not fallen yet.
    Drop(usize),
    /// The shape fades with this time constant, s.
    Tail(f64),
}

impl Shape {
    fn at(self, i: usize, t: f64) -> f64 {
        match self {
            Self::Drop(k) => f64::from(u8::from(i < k)),
            Self::Tail(tau) => (-t / tau).exp(),
        }
    }
}

/// The least number of samples after a drop.
const AFTER_DROP: usize = 6;

/// What all explanations have in common.
#[derive(Debug, Clone, Copy)]
struct Weighing {
    n: f64,
    mean: f64,
    /// Variance of one sample.
    var: f64,
    /// The variance expected of creep, and that of the other shape.
    prior: f64,
    extra_prior: f64,
}

/// A shape's mean, and the sums of its products with itself and with the values, about their means.
#[derive(Debug, Clone, Copy)]
struct Sums {
    mean: f64,
    square: f64,
    product: f64,
}

impl Weighing {
    /// Linear regression on up to two shapes with Gaussian priors, in closed form. `cross` is the
    /// sum of the two shapes' products about their means.
    fn fit(&self, share: f64, film: Option<Sums>, extra: Option<Sums>, cross: f64) -> Model {
        let none = Sums {
            mean: 0.0,
            square: 0.0,
            product: 0.0,
        };
        let (one, two) = (film.unwrap_or(none), extra.unwrap_or(none));
        let (var, p1, p2) = (self.var, self.prior, self.extra_prior);
        let (a11, a22) = (one.square / var + 1.0 / p1, two.square / var + 1.0 / p2);
        let a12 = cross / var;
        let det = a11 * a22 - a12 * a12;
        let (b1, b2) = (one.product / var, two.product / var);
        let (x1, x2) = ((a22 * b1 - a12 * b2) / det, (a11 * b2 - a12 * b1) / det);
        let lever =
            a22 * one.mean * one.mean - 2.0 * a12 * one.mean * two.mean + a11 * two.mean * two.mean;
        Model {
            weight: share.max(1e-12).ln() + 0.5 * (b1 * x1 + b2 * x2) - 0.5 * (det * p1 * p2).ln(),
            value: self.mean - x1 * one.mean - x2 * two.mean,
            variance: var / self.n + lever / det,
            film: x1,
            tau: 1.0,
            extra: x2,
            shape: Shape::Drop(0),
        }
    }
}

/// Weighs rest against creep and the other shapes. `points` must not be empty. The risk is the
/// chance of being off by more than `off_by`.
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
    let mut models = vec![with.fit(calm * (1.0 - extra_chance), None, None, 0.0)];
    for (shape, extra) in &extras {
        models.push(Model {
            shape: *shape,
            ..with.fit(calm * each, None, Some(*extra), 0.0)
        });
    }
    let mut gain: f64 = 0.0;
    let largest = creep.sizes.iter().fold(0.0, |a: f64, b| a.max(*b));
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

/// The mean over the models, each weighted.
fn weigh(points: &[Point], models: &[Model], gain: f64, off_by: f64) -> Rest {
    let top = models
        .iter()
        .map(|m| m.weight)
        .fold(f64::NEG_INFINITY, f64::max);
    let weight = |m: &Model| (m.weight - top).exp();
    let total: f64 = models.iter().map(weight).sum();
    let average =
        |f: &dyn Fn(&Model) -> f64| models.iter().map(|m| f(m) * weight(m)).sum::<f64>() / total;
    let value = average(&|m| m.value);
    let se = average(&|m| m.variance + (m.value - value).powi(2)).sqrt();
    let best = models
        .iter()
        .fold(models[0], |b, m| if m.weight > b.weight { *m } else { b });
    let from = points[0].at_us;
    let added =
        |m: &Model, i: usize, t: f64| m.film * (-t / m.tau).exp() + m.extra * m.shape.at(i, t);
    let off = |(i, p): (usize, &Point)| p.v - best.value - added(&best, i, p.since(from));
    let squares: f64 = points.iter().enumerate().map(|p| off(p).powi(2)).sum();
    let sd = (points.len() > 2).then(|| (squares / (points.len() - 1) as f64).sqrt());
    let last = points.len() - 1;
    let now = average(&|m| m.value + added(m, last, points[last].since(from)));
    let normal = Normal::standard();
    let risk = average(&|m| {
        let (d, sd) = (m.value - value, m.variance.sqrt());
        normal.cdf((-off_by - d) / sd) + normal.cdf((-off_by + d) / sd)
    });
    Rest {
        value,
        se,
        now,
        sd,
        gain,
        risk,
    }
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
}
