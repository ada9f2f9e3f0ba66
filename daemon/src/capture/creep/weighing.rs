//! Explanations of the same samples, each with its weight, and the mean over all of them.
//!
//! The module knows no creep and no drop, only shapes that may be added to a rest.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::capture::still::Point;

/// One explanation: a rest, and what is added to the rest.
#[derive(Debug, Clone, Copy)]
pub(super) struct Model {
    /// The logarithm of the explanation's weight against the others.
    pub(super) weight: f64,
    pub(super) value: f64,
    pub(super) variance: f64,
    /// What creep adds at the first sample, and its time constant, s.
    pub(super) film: f64,
    pub(super) tau: f64,
    /// What the other shape adds.
    pub(super) extra: f64,
    pub(super) shape: Shape,
}

/// The other shape.
#[derive(Debug, Clone, Copy)]
pub(super) enum Shape {
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

/// What all explanations have in common.
#[derive(Debug, Clone, Copy)]
pub(super) struct Weighing {
    pub(super) n: f64,
    pub(super) mean: f64,
    /// Variance of one sample.
    pub(super) var: f64,
    /// The variance expected of creep, and that of the other shape.
    pub(super) prior: f64,
    pub(super) extra_prior: f64,
}

/// A shape's mean, and the sums of its products with itself and with the values, about their means.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sums {
    pub(super) mean: f64,
    pub(super) square: f64,
    pub(super) product: f64,
}

impl Weighing {
    /// Linear regression on up to two shapes with Gaussian priors, in closed form. `cross` is the
    /// sum of the two shapes' products about their means.
    pub(super) fn fit(
        &self,
        share: f64,
        film: Option<Sums>,
        extra: Option<Sums>,
        cross: f64,
    ) -> Model {
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

/// An explanation of less weight than this beside the best one changes no digit of a mean.
const NO_WEIGHT: f64 = 1e-24;

/// The mean over the models, each weighted. There are thousands of them for a long rest: a weight is
/// calculated once, a film's fading once for each of its time constants.
pub(super) fn weigh(points: &[Point], models: &[Model], gain: f64, off_by: f64) -> Rest {
    let best = models
        .iter()
        .fold(models[0], |b, m| if m.weight > b.weight { *m } else { b });
    let weight = |m: &Model| (m.weight - best.weight).exp();
    let weights: Vec<f64> = models.iter().map(weight).collect();
    let total: f64 = weights.iter().sum();
    let with_weight = || models.iter().zip(weights.iter().copied());
    let weighed = || with_weight().filter(|(_, weight)| *weight > NO_WEIGHT);
    let value = with_weight().map(|(m, w)| m.value * w).sum::<f64>() / total;
    let spread = |m: &Model| m.variance + (m.value - value).powi(2);
    let se = (with_weight().map(|(m, w)| spread(m) * w).sum::<f64>() / total).sqrt();
    let from = points[0].at_us;
    let added =
        |m: &Model, i: usize, t: f64| m.film * (-t / m.tau).exp() + m.extra * m.shape.at(i, t);
    let off = |(i, p): (usize, &Point)| p.v - best.value - added(&best, i, p.since(from));
    let squares: f64 = points.iter().enumerate().map(|p| off(p).powi(2)).sum();
    let sd = (points.len() > 2).then(|| (squares / (points.len() - 1) as f64).sqrt());
    let last = points.len() - 1;
    let since = points[last].since(from);
    let (mut tau, mut faded) = (best.tau, (-since / best.tau).exp());
    let mut now = |m: &Model| {
        if m.tau != tau {
            (tau, faded) = (m.tau, (-since / m.tau).exp());
        }
        m.value + (m.film * faded + m.extra * m.shape.at(last, since))
    };
    let now = with_weight().map(|(m, w)| now(m) * w).sum::<f64>() / total;
    let normal = Normal::standard();
    let risk = |m: &Model| {
        let (d, sd) = (m.value - value, m.variance.sqrt());
        normal.cdf((-off_by - d) / sd) + normal.cdf((-off_by + d) / sd)
    };
    let risk = match off_by.is_finite() {
        true => weighed().map(|(m, w)| risk(m) * w).sum::<f64>() / total,
        false => 0.0,
    };
    Rest {
        value,
        se,
        now,
        sd,
        gain,
        risk,
    }
}
