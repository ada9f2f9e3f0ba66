//! Propagation by simulation, where first order is not enough or is to be checked.
//!
//! Source: JCGM 101:2008, clause 7. The draws come from a seed, so that the same question has the
//! same answer. The sources are those of first-order propagation.

use std::collections::BTreeMap;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{ChiSquared, Distribution as _, StandardNormal, StudentT};

use super::{ErrorShape, ErrorSource, Estimate, SourceId};

/// Above this many degrees of freedom a scaled t is drawn as a normal distribution: its standard
/// deviation would be larger by one part in a thousand.
const LIKE_NORMAL: f64 = 1000.0;

/// How the degrees of freedom of a normal source are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NormalDraws {
    /// A source with finite degrees of freedom is drawn from a scaled t, whose standard deviation
    /// is LARGER than u (and infinite for two or fewer): JCGM 101 6.4.9.
    ScaledT,
    /// Every normal source is drawn from a normal distribution with its u.
    Normal,
}

/// Estimates made ready to be drawn together, with everything that they share.
#[derive(Debug, Clone)]
pub struct Simulation {
    samplers: Vec<Sampler>,
    /// The standard deviations that several sources rest on, with their degrees of freedom.
    pools: Vec<Pool>,
    inputs: Vec<Input>,
}

/// A standard deviation that was estimated once and is used by several sources: if it is too small,
/// it is too small for all of them.
#[derive(Debug, Clone)]
struct Pool {
    id: SourceId,
    dof: f64,
    squares: ChiSquared<f64>,
}

impl Pool {
    /// Draws the true standard deviation over the estimated one.
    fn draw(&self, rng: &mut ChaCha8Rng) -> f64 {
        (self.dof / self.squares.sample(rng)).sqrt()
    }
}

#[derive(Debug, Clone)]
struct Input {
    value: f64,
    /// Places among the samplers, with the slopes.
    parts: Vec<(usize, f64)>,
}

#[derive(Debug, Clone)]
enum Sampler {
    Normal(f64),
    ScaledT(f64, StudentT<f64>),
    /// A scaled t whose standard deviation is that of a pool.
    Pooled(f64, usize),
    Rectangular(f64),
    Triangular(f64),
    Arcsine(f64),
    Trapezoid(f64, f64),
}

impl Sampler {
    fn new(source: &ErrorSource, draws: NormalDraws, pools: &mut Vec<Pool>) -> Option<Sampler> {
        let u = source.width()?;
        let estimated = source.dof <= LIKE_NORMAL && draws == NormalDraws::ScaledT;
        Some(match (source.shape, &source.pool) {
            (ErrorShape::Normal, Some(id)) if estimated => {
                let same = |pool: &Pool| pool.id == *id && pool.dof == source.dof;
                let at = match pools.iter().position(same) {
                    Some(at) => at,
                    None => {
                        pools.push(Pool {
                            id: id.clone(),
                            dof: source.dof,
                            squares: ChiSquared::new(source.dof).ok()?,
                        });
                        pools.len() - 1
                    }
                };
                Sampler::Pooled(u, at)
            }
            (ErrorShape::Normal, _) if estimated => {
                Sampler::ScaledT(u, StudentT::new(source.dof).ok()?)
            }
            (ErrorShape::Normal, _) => Sampler::Normal(u),
            (ErrorShape::Rectangular, _) => Sampler::Rectangular(u * 3f64.sqrt()),
            (ErrorShape::Triangular, _) => Sampler::Triangular(u * 6f64.sqrt()),
            (ErrorShape::Arcsine, _) => Sampler::Arcsine(u * 2f64.sqrt()),
            (ErrorShape::Trapezoid { doubt }, _) => {
                let half = u * (3.0 / (1.0 + doubt * doubt / 3.0)).sqrt();
                Sampler::Trapezoid(half, half * doubt)
            }
        })
    }

    /// One error; `scales` are those of the pools in this draw.
    fn draw(&self, scales: &[f64], rng: &mut ChaCha8Rng) -> f64 {
        let either_side = |rng: &mut ChaCha8Rng| 2.0 * rng.random::<f64>() - 1.0;
        match self {
            Sampler::Normal(u) => {
                let normal: f64 = StandardNormal.sample(rng);
                u * normal
            }
            Sampler::ScaledT(u, t) => u * t.sample(rng),
            Sampler::Pooled(u, pool) => {
                let normal: f64 = StandardNormal.sample(rng);
                u * normal * scales[*pool]
            }
            Sampler::Rectangular(half) => half * either_side(rng),
            Sampler::Triangular(half) => 0.5 * half * (either_side(rng) + either_side(rng)),
            Sampler::Arcsine(half) => half * (std::f64::consts::PI * either_side(rng)).sin(),
            Sampler::Trapezoid(half, doubt) => {
                let width = half + doubt * either_side(rng);
                width * either_side(rng)
            }
        }
    }
}

impl Simulation {
    /// Prepares the inputs of a formula. An unknown source is drawn at its assumed width. `None` if
    /// a source has neither.
    pub fn new<'a>(
        inputs: impl IntoIterator<Item = &'a Estimate>,
        draws: NormalDraws,
    ) -> Option<Simulation> {
        let mut places: BTreeMap<SourceId, usize> = BTreeMap::new();
        let mut simulation = Simulation {
            samplers: Vec::new(),
            pools: Vec::new(),
            inputs: Vec::new(),
        };
        for estimate in inputs {
            let mut parts = Vec::new();
            for contribution in estimate.contributions() {
                let source = &contribution.source;
                let place = match places.get(&source.id) {
                    Some(&place) => place,
                    None => {
                        let sampler = Sampler::new(source, draws, &mut simulation.pools)?;
                        simulation.samplers.push(sampler);
                        let place = simulation.samplers.len() - 1;
                        places.insert(source.id.clone(), place);
                        place
                    }
                };
                parts.push((place, contribution.slope));
            }
            let value = super::Scalar::value(estimate);
            simulation.inputs.push(Input { value, parts });
        }
        Some(simulation)
    }

    /// Draws all inputs `trials` times and hands each draw to `visit`, in the order in which they
    /// were given.
    pub fn run(&self, trials: usize, seed: u64, mut visit: impl FnMut(&[f64])) {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut errors = vec![0.0; self.samplers.len()];
        let mut values = vec![0.0; self.inputs.len()];
        let mut scales = vec![1.0; self.pools.len()];
        for _ in 0..trials {
            for (scale, pool) in scales.iter_mut().zip(&self.pools) {
                *scale = pool.draw(&mut rng);
            }
            for (error, sampler) in errors.iter_mut().zip(&self.samplers) {
                *error = sampler.draw(&scales, &mut rng);
            }
            for (value, input) in values.iter_mut().zip(&self.inputs) {
                let error: f64 = input
                    .parts
                    .iter()
                    .map(|(at, slope)| slope * errors[*at])
                    .sum();
                *value = input.value + error;
            }
            visit(&values);
        }
    }

    /// The distribution of a formula over the draws.
    pub fn distribution(
        &self,
        trials: usize,
        seed: u64,
        formula: impl Fn(&[f64]) -> f64,
    ) -> Distribution {
        let mut values = Vec::with_capacity(trials);
        self.run(trials, seed, |inputs| values.push(formula(inputs)));
        Distribution::new(values)
    }
}

/// Values of a quantity, sorted.
#[derive(Debug, Clone, PartialEq)]
pub struct Distribution {
    sorted: Vec<f64>,
}

impl Distribution {
    /// From values in any order; those that are not numbers are left out.
    pub fn new(mut values: Vec<f64>) -> Distribution {
        values.retain(|value| !value.is_nan());
        values.sort_unstable_by(f64::total_cmp);
        Distribution { sorted: values }
    }

    /// The mean. NaN for an empty list.
    pub fn mean(&self) -> f64 {
        crate::stats::mean(self.sorted.iter().copied())
    }

    /// The standard deviation. NaN for fewer than two values.
    pub fn sd(&self) -> f64 {
        crate::stats::sd(&self.sorted).unwrap_or(f64::NAN)
    }

    /// The value below which a share `p` of all values lies, interpolated. NaN for an empty list.
    pub fn quantile(&self, p: f64) -> f64 {
        let Some(last) = self.sorted.len().checked_sub(1) else {
            return f64::NAN;
        };
        let place = p.clamp(0.0, 1.0) * last as f64;
        let below = place.floor() as usize;
        let above = (below + 1).min(last);
        self.sorted[below] + (place - below as f64) * (self.sorted[above] - self.sorted[below])
    }

    /// The interval with equal shares left out at both ends, for a level such as 0.95.
    pub fn symmetric(&self, level: f64) -> (f64, f64) {
        (
            self.quantile(0.5 * (1.0 - level)),
            self.quantile(0.5 * (1.0 + level)),
        )
    }

    /// The shortest interval that holds a share `level` (JCGM 101 5.3.4). Its ends are noisy, its
    /// length is not.
    pub fn shortest(&self, level: f64) -> (f64, f64) {
        let n = self.sorted.len();
        let held = ((level * n as f64).round() as usize).clamp(1, n.max(1));
        let starts = 0..n.saturating_sub(held).max(1);
        let width = |at: &usize| self.sorted[(at + held).min(n - 1)] - self.sorted[*at];
        match starts.min_by(|a, b| width(a).total_cmp(&width(b))) {
            Some(at) if n > 0 => (self.sorted[at], self.sorted[(at + held).min(n - 1)]),
            _ => (f64::NAN, f64::NAN),
        }
    }

    /// The share of all values for which `holds`.
    pub fn share(&self, holds: impl Fn(f64) -> bool) -> f64 {
        let count = self.sorted.iter().filter(|value| holds(**value)).count();
        count as f64 / self.sorted.len() as f64
    }
}
