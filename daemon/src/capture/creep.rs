//! Where a value that may still be creeping will come to rest.
//!
//! Two explanations of the samples are weighed against each other: they rest, or they
//! approach a rest exponentially (a film of liquid that runs down glass, a plunger pad that
//! gives). The answer is the mean over both, weighted by how well each explains the samples,
//! so that noise alone is not extrapolated and a clear creep is. Bayesian model averaging,
//! Hoeting et al., Statistical Science 14 (1999), from memory.

use super::still::Point;

/// What is known beforehand of creeping.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Creep<'a> {
    /// Standard deviation of the creep still to come at the first sample, in the gauge's unit.
    pub(crate) size: f64,
    /// Time constants that are thought possible, s.
    pub(crate) taus: &'a [f64],
    /// Chance that there is creep at all.
    pub(crate) chance: f64,
    /// Chance that one step of about the same size stands in the samples (a small drop).
    pub(crate) drop_chance: f64,
    /// Standard deviation of that step.
    pub(crate) drop: f64,
}

/// Where the samples are heading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rest {
    /// The value they come to rest at.
    pub(crate) value: f64,
    /// Its standard deviation, given the noise.
    pub(crate) se: f64,
    /// The fitted value at the last sample.
    pub(crate) now: f64,
    /// Standard deviation of the samples about the fit; `None` for fewer than three.
    pub(crate) sd: Option<f64>,
    /// Twice the log likelihood gained by the best creep over none, less what its size costs.
    pub(crate) gain: f64,
}

/// One explanation: a rest, and what is added to it.
#[derive(Debug, Clone, Copy)]
struct Model {
    /// Logarithm of its weight against the others.
    weight: f64,
    value: f64,
    variance: f64,
    /// What the film adds at the first sample, and how it fades, s.
    film: f64,
    tau: f64,
    /// What is added to so many samples at the beginning: a drop that had not yet fallen.
    drop: f64,
    samples: usize,
}

/// Least samples after a drop.
const AFTER_DROP: usize = 6;

/// What is common to all explanations.
struct Weighing {
    n: f64,
    mean: f64,
    /// Variance of one sample.
    var: f64,
    /// Variance expected of a film, and of a drop.
    prior: f64,
    drop_prior: f64,
}

/// A shape's mean, and its sums with itself and with the values, about their means.
#[derive(Debug, Clone, Copy)]
struct Sums {
    mean: f64,
    square: f64,
    product: f64,
}

impl Weighing {
    /// Linear regression on up to two shapes with Gaussian priors, in closed form; `cross` is
    /// the sum of the two shapes' products about their means.
    fn fit(&self, share: f64, film: Option<Sums>, drop: Option<Sums>, cross: f64) -> Model {
        let none = Sums { mean: 0.0, square: 0.0, product: 0.0 };
        let (one, two) = (film.unwrap_or(none), drop.unwrap_or(none));
        let (var, p1, p2) = (self.var, self.prior, self.drop_prior);
        let (a11, a22) = (one.square / var + 1.0 / p1, two.square / var + 1.0 / p2);
        let a12 = cross / var;
        let det = a11 * a22 - a12 * a12;
        let (b1, b2) = (one.product / var, two.product / var);
        let (x1, x2) = ((a22 * b1 - a12 * b2) / det, (a11 * b2 - a12 * b1) / det);
        let lever = a22 * one.mean * one.mean - 2.0 * a12 * one.mean * two.mean
            + a11 * two.mean * two.mean;
        Model {
            weight: share.max(1e-12).ln() + 0.5 * (b1 * x1 + b2 * x2)
                - 0.5 * (det * p1 * p2).ln(),
            value: self.mean - x1 * one.mean - x2 * two.mean,
            variance: var / self.n + lever / det,
            film: x1,
            tau: 1.0,
            drop: x2,
            samples: 0,
        }
    }
}

/// Weighs rest against creep and a drop; `points` must not be empty.
pub(crate) fn rest(points: &[Point], sigma: f64, creep: Creep<'_>) -> Rest {
    let count = points.len();
    let n = count as f64;
    let from = points[0].at_us;
    let mean = points.iter().map(|p| p.v).sum::<f64>() / n;
    let with = Weighing {
        n,
        mean,
        var: sigma * sigma,
        prior: creep.size * creep.size,
        drop_prior: (creep.drop * creep.drop).max(f64::MIN_POSITIVE),
    };
    let calm = 1.0 - creep.chance;
    let (drop_chance, places) = match count.checked_sub(AFTER_DROP) {
        Some(places @ 1..) => (creep.drop_chance, places),
        _ => (0.0, 0),
    };
    let drops = drop_sums(points, mean, if drop_chance > 0.0 { places } else { 0 });
    let each = drop_chance / places.max(1) as f64;
    let mut models = vec![with.fit(calm * (1.0 - drop_chance), None, None, 0.0)];
    for (k, drop) in &drops {
        models.push(Model { samples: *k, ..with.fit(calm * each, None, Some(*drop), 0.0) });
    }
    let mut gain: f64 = 0.0;
    for &tau in creep.taus {
        let share = creep.chance / creep.taus.len() as f64;
        let shape: Vec<f64> = points.iter().map(|p| (-p.since(from) / tau).exp()).collect();
        let film = film_sums(points, mean, &shape);
        gain = gain.max(bounded_gain(&with, film, 2.0 * creep.size));
        models.push(Model {
            tau,
            ..with.fit(share * (1.0 - drop_chance), Some(film), None, 0.0)
        });
        let mut sum = 0.0;
        for ((k, drop), x) in drops.iter().zip(&shape) {
            sum += x;
            let cross = sum - *k as f64 * film.mean;
            let fitted = with.fit(share * each, Some(film), Some(*drop), cross);
            models.push(Model { tau, samples: *k, ..fitted });
        }
    }
    weigh(points, &models, gain)
}

fn film_sums(points: &[Point], v_mean: f64, shape: &[f64]) -> Sums {
    let mean = shape.iter().sum::<f64>() / shape.len() as f64;
    let (mut square, mut product) = (0.0, 0.0);
    for (x, p) in shape.iter().zip(points) {
        square += (x - mean) * (x - mean);
        product += (x - mean) * (p.v - v_mean);
    }
    Sums { mean, square, product }
}

/// For a drop after each of the first samples.
fn drop_sums(points: &[Point], v_mean: f64, places: usize) -> Vec<(usize, Sums)> {
    let n = points.len() as f64;
    let mut product = 0.0;
    (1..=places)
        .zip(points)
        .map(|(k, p)| {
            product += p.v - v_mean;
            let mean = k as f64 / n;
            (k, Sums { mean, square: k as f64 * (1.0 - mean), product })
        })
        .collect()
}

/// Twice the log likelihood gained by a film no larger than `most`: a longer run is no creep.
fn bounded_gain(with: &Weighing, film: Sums, most: f64) -> f64 {
    let free = film.product / (film.square + with.var / with.prior);
    let size = free.clamp(-most, most);
    (2.0 * size * film.product - size * size * film.square) / with.var - size * size / with.prior
}

/// The mean over the models, each by its weight.
fn weigh(points: &[Point], models: &[Model], gain: f64) -> Rest {
    let top = models.iter().map(|m| m.weight).fold(f64::NEG_INFINITY, f64::max);
    let weight = |m: &Model| (m.weight - top).exp();
    let total: f64 = models.iter().map(weight).sum();
    let average = |f: &dyn Fn(&Model) -> f64| {
        models.iter().map(|m| f(m) * weight(m)).sum::<f64>() / total
    };
    let value = average(&|m| m.value);
    let se = average(&|m| m.variance + (m.value - value).powi(2)).sqrt();
    let best = models.iter().fold(models[0], |b, m| if m.weight > b.weight { *m } else { b });
    let from = points[0].at_us;
    let film = |m: &Model, t: f64| m.film * (-t / m.tau).exp();
    let off = |(i, p): (usize, &Point)| {
        let drop = if i < best.samples { best.drop } else { 0.0 };
        p.v - best.value - drop - film(&best, p.since(from))
    };
    let squares: f64 = points.iter().enumerate().map(|p| off(p).powi(2)).sum();
    let sd = (points.len() > 2).then(|| (squares / (points.len() - 1) as f64).sqrt());
    let span = points[points.len() - 1].since(from);
    Rest { value, se, now: average(&|m| m.value + film(m, span)), sd, gain }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAIN: Creep<'_> = Creep { size: 0.03, taus: &[5.0, 8.0, 12.0], chance: 0.5, drop_chance: 0.0, drop: 1.0 };

    fn signal(n: usize, f: impl Fn(f64) -> f64) -> Vec<Point> {
        (0..n)
            .map(|i| {
                let t = i as f64 * 0.1;
                // A fixed, trendless wobble in place of noise.
                let wobble = [0.6, -1.1, 0.9, 0.2, -0.8, 0.4, -0.2][i % 7] * 0.005;
                Point { at_us: (t * 1e6) as u64, v: f(t) + wobble, stable: None }
            })
            .collect()
    }

    #[test]
    fn samples_at_rest_are_not_extrapolated() {
        let r = rest(&signal(70, |_| 40.0), 0.005, DRAIN);
        assert!((r.value - 40.0).abs() < 0.002, "{r:?}");
    }

    #[test]
    fn a_draining_film_is_followed_to_its_end() {
        let r = rest(&signal(70, |t| 40.0 + 0.05 * (-t / 7.0).exp()), 0.005, DRAIN);
        assert!((r.value - 40.0).abs() < 0.01, "{r:?}");
        assert!((r.now - 40.0184).abs() < 0.004, "{r:?}");
    }
}
