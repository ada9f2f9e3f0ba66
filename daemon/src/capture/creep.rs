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

/// One explanation: a shape that is added to a rest, fitted.
#[derive(Debug, Clone, Copy)]
struct Model {
    /// Logarithm of its weight against the others.
    weight: f64,
    value: f64,
    variance: f64,
    now: f64,
    amplitude: f64,
    shape: Shape,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Shape {
    None,
    /// Fades with this time constant, s.
    Fades(f64),
    /// Is there for so many samples and then not.
    Drop(usize),
}

impl Shape {
    fn at(self, i: usize, t: f64) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Fades(tau) => (-t / tau).exp(),
            Self::Drop(k) => f64::from(u8::from(i < k)),
        }
    }
}

/// Least samples after a drop.
const AFTER_DROP: usize = 6;

/// Weighs rest against creep and a drop; `points` must not be empty.
pub(crate) fn rest(points: &[Point], sigma: f64, creep: Creep<'_>) -> Rest {
    let count = points.len();
    let n = count as f64;
    let from = points[0].at_us;
    let span = points[count - 1].since(from);
    let mean = points.iter().map(|p| p.v).sum::<f64>() / n;
    let var = sigma * sigma;
    let prior = creep.size * creep.size;
    let mut gain: f64 = 0.0;
    let plain = (1.0 - creep.chance - creep.drop_chance).max(1e-12).ln();
    let mut models = vec![Model {
        weight: plain,
        value: mean,
        variance: var / n,
        now: mean,
        amplitude: 0.0,
        shape: Shape::None,
    }];
    // A shape with mean x̄, Σ(x−x̄)² and Σ(x−x̄)(v−v̄), and its own share of the chances.
    let fitted = |shape: Shape, x_mean: f64, sxx: f64, sxy: f64, share: f64| {
        let post = 1.0 / (1.0 / prior + sxx / var);
        let amplitude = post * sxy / var;
        let value = mean - amplitude * x_mean;
        Model {
            weight: share.ln() + 0.5 * (post / prior).ln() + 0.5 * amplitude * amplitude / post,
            value,
            variance: var / n + x_mean * x_mean * post,
            now: value + amplitude * shape.at(count, span),
            amplitude,
            shape,
        }
    };
    for &tau in creep.taus {
        let shape = Shape::Fades(tau);
        let x = |p: &Point| shape.at(0, p.since(from));
        let x_mean = points.iter().map(x).sum::<f64>() / n;
        let (mut sxx, mut sxy) = (0.0, 0.0);
        for p in points {
            let x = x(p) - x_mean;
            sxx += x * x;
            sxy += x * (p.v - mean);
        }
        let model = fitted(shape, x_mean, sxx, sxy, creep.chance / creep.taus.len() as f64);
        // No film is much larger than its usual size: a longer run is no creep.
        let most = model.amplitude.clamp(-2.0 * creep.size, 2.0 * creep.size);
        gain = gain.max((2.0 * most * sxy - most * most * sxx) / var - most * most / prior);
        models.push(model);
    }
    if creep.drop_chance > 0.0 && count > AFTER_DROP {
        let share = creep.drop_chance / (count - AFTER_DROP) as f64;
        let mut sum = 0.0;
        for (k, p) in (1..=count - AFTER_DROP).zip(points) {
            sum += p.v - mean;
            let part = k as f64 / n;
            models.push(fitted(Shape::Drop(k), part, k as f64 * (1.0 - part), sum, share));
        }
    }
    weigh(points, &models, gain)
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
    let off = |(i, p): (usize, &Point)| {
        p.v - best.value - best.amplitude * best.shape.at(i, p.since(from))
    };
    let squares: f64 = points.iter().enumerate().map(|p| off(p).powi(2)).sum();
    let sd = (points.len() > 2).then(|| (squares / (points.len() - 1) as f64).sqrt());
    Rest { value, se, now: average(&|m| m.now), sd, gain }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAIN: Creep<'_> = Creep { size: 0.03, taus: &[5.0, 8.0, 12.0], chance: 0.5, drop_chance: 0.0 };

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
