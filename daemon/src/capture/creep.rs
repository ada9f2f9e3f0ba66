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
    /// How sure it is that there is creep, 0 to 1.
    pub(crate) creeping: f64,
}

/// Weighs rest against creep; `points` must not be empty.
pub(crate) fn rest(points: &[Point], sigma: f64, creep: Creep<'_>) -> Rest {
    let n = points.len() as f64;
    let from = points[0].at_us;
    let span = points[points.len() - 1].since(from);
    let mean = points.iter().map(|p| p.v).sum::<f64>() / n;
    let var = sigma * sigma;
    let share = creep.chance / creep.taus.len().max(1) as f64;
    // (log weight, rest, variance, now, amplitude, tau)
    let mut models = vec![((1.0 - creep.chance).max(1e-12).ln(), mean, var / n, mean, 0.0, 1.0)];
    let mut gain: f64 = 0.0;
    for &tau in creep.taus {
        let shape = |p: &Point| (-p.since(from) / tau).exp();
        let x_mean = points.iter().map(shape).sum::<f64>() / n;
        let (mut sxx, mut sxy) = (0.0, 0.0);
        for p in points {
            let x = shape(p) - x_mean;
            sxx += x * x;
            sxy += x * (p.v - mean);
        }
        let prior = creep.size * creep.size;
        let post = 1.0 / (1.0 / prior + sxx / var);
        let amplitude = post * sxy / var;
        gain = gain.max(amplitude * amplitude / post);
        let weight = share.ln() + 0.5 * (post / prior).ln() + 0.5 * amplitude * amplitude / post;
        let value = mean - amplitude * x_mean;
        let now = value + amplitude * (-span / tau).exp();
        models.push((weight, value, var / n + x_mean * x_mean * post, now, amplitude, tau));
    }
    let top = models.iter().map(|m| m.0).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = models.iter().map(|m| (m.0 - top).exp()).collect();
    let total: f64 = weights.iter().sum();
    let average = |f: &dyn Fn(&(f64, f64, f64, f64, f64, f64)) -> f64| {
        models.iter().zip(&weights).map(|(m, w)| f(m) * w).sum::<f64>() / total
    };
    let value = average(&|m| m.1);
    let se = average(&|m| m.2 + (m.1 - value) * (m.1 - value)).sqrt();
    let best = (0..models.len()).fold(0, |b, i| if weights[i] > weights[b] { i } else { b });
    let (_, c, _, _, a, tau) = models[best];
    let squares: f64 =
        points.iter().map(|p| (p.v - c - a * (-p.since(from) / tau).exp()).powi(2)).sum();
    let sd = (points.len() > 2).then(|| (squares / (n - 1.0)).sqrt());
    Rest { value, se, now: average(&|m| m.3), sd, gain, creeping: 1.0 - weights[0] / total }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAIN: Creep<'_> = Creep { size: 0.03, taus: &[5.0, 8.0, 12.0], chance: 0.5 };

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
        assert!(r.creeping < 0.3, "{r:?}");
    }

    #[test]
    fn a_draining_film_is_followed_to_its_end() {
        let r = rest(&signal(70, |t| 40.0 + 0.05 * (-t / 7.0).exp()), 0.005, DRAIN);
        assert!((r.value - 40.0).abs() < 0.01, "{r:?}");
        assert!(r.creeping > 0.9, "{r:?}");
        assert!((r.now - 40.0184).abs() < 0.004, "{r:?}");
    }
}
