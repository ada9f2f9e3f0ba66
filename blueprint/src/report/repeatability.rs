//! How well one kind of quantity repeats under one gauge, and which repeats lie too far apart.
//!
//! Sources: ISO 5725-6 (repeatability limit, from memory); the 5 % are shared among all comparisons
//! of one kind of quantity (Bonferroni). However many spots a sound job has, it gets a wrong
//! finding of one kind in at most 5 % of cases.

use super::sets::Set;
use crate::engine::GaugeEntry;
use crate::figure::{normal_cdf, student_quantile, student_tail};
use crate::stats::{PooledDeviation, f_tail};

/// How often a sound job may be accused of readings that disagree, for each kind of quantity.
pub(crate) const LEVEL: f64 = 0.05;

/// If the scatter of the job's own repeats is less likely than this under the declared
/// repeatability, the declared one does not hold here and the job's own is used.
pub(super) const CONTRADICTED: f64 = 0.01;

/// The same where the set that scatters most is left out: the others scatter less than all do, and
/// so seldom as far as this.
const CONTRADICTED_BY_MOST: f64 = 0.1;

/// Steps finer than this share of a standard deviation do not show.
const FINE: f64 = 0.1;

/// Repeats that lie further apart than repeatability allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Apart {
    /// How far the two that agree least lie apart, base units.
    pub(crate) range: f64,
    /// How far they may.
    pub(crate) limit: f64,
}

/// What is known of the repeatability of one kind of spot under one gauge.
pub(super) struct Repeatability {
    pub(super) declared: Option<PooledDeviation>,
    /// Sum of squares within the sets that have repeats, and its degrees of freedom.
    squares: f64,
    dof: f64,
    /// The two sets that scatter most: sum of squares and degrees of freedom of each.
    widest: [(f64, f64); 2],
    step: f64,
    /// Variance that rounding gives to one reading, and whether it is that of a difference of two
    /// displayed values.
    rounding: f64,
    difference: bool,
    /// Variance of one zeroing, and whether each reading has a zero of its own.
    zero: f64,
    zeroed_each: bool,
}

impl Repeatability {
    pub(super) fn of(group: &[&Set<'_>], gauge: Option<&GaugeEntry>) -> Repeatability {
        // All sets of a group are weights, or none is.
        let factor = group.first().map_or(1.0, |set| set.factor());
        let declared = gauge.and_then(|gauge| {
            gauge.repeatability.map(|s| PooledDeviation {
                s: factor * s,
                dof: gauge.repeatability_dof,
            })
        });
        let (mut squares, mut dof) = (0.0, 0.0);
        let mut widest = [(0.0, 0.0); 2];
        for set in group.iter().filter(|set| set.readings.len() >= 2) {
            let own = crate::stats::sum_of_squares(&set.values());
            let free = (set.readings.len() - 1) as f64;
            squares += own;
            dof += free;
            if own > widest[0].0 {
                widest = [(own, free), widest[0]];
            } else if own > widest[1].0 {
                widest[1] = (own, free);
            }
        }
        let written = |set: &&Set<'_>| {
            set.readings
                .iter()
                .filter_map(|(_, measured)| Some(measured.unit.difference_to_base(measured.step?)))
                .fold(0.0, f64::max)
        };
        let step = factor
            * gauge
                .and_then(|gauge| gauge.resolution)
                .unwrap_or_else(|| group.iter().map(written).fold(0.0, f64::max));
        Repeatability {
            declared,
            squares,
            dof,
            widest,
            step,
            rounding: gauge.map_or(step * step / 12.0, |gauge| {
                gauge.kind.rounding_variance(step)
            }),
            difference: gauge.is_some_and(|gauge| gauge.kind.is_difference()),
            zero: gauge.map_or(0.0, |gauge| {
                let off = gauge.zero_off / 3f64.sqrt();
                (factor * gauge.zero_u.unwrap_or(0.0).hypot(off)).powi(2)
            }),
            zeroed_each: gauge.is_some_and(|gauge| gauge.zeroed_each),
        }
    }

    /// The declared repeatability together with that of the job's own repeats. Repeats that all lie
    /// within one step show only that set-ups agree to a step. They count as twice the scatter that
    /// rounding hides; else a repeatability that nobody stated would be surer than a stated one.
    pub(super) fn with(&self, own: Option<PooledDeviation>) -> Option<PooledDeviation> {
        match (self.declared, own) {
            (Some(_), Some(own)) if self.contradicted_by(own) => Some(own),
            (Some(declared), Some(own)) => Some(declared.and(own)),
            (None, Some(own)) if own.s.powi(2) < self.rounding => Some(PooledDeviation {
                s: 2.0 * self.rounding.sqrt(),
                dof: f64::INFINITY,
            }),
            (one, other) => one.or(other),
        }
    }

    /// Whether the job's own repeats scatter by more than the declared repeatability lets expect:
    /// then it does not hold here.
    pub(super) fn contradicted_by(&self, own: PooledDeviation) -> bool {
        self.declared.is_some_and(|declared| {
            let expected = declared.s.powi(2) + self.rounding + self.zero;
            let f = own.s.powi(2) / expected;
            f > 1.0 && tail_of_variances(f, own.dof, declared.dof) <= CONTRADICTED
        })
    }

    /// The scatter of the sets beside one of `own` squares, without the one among them that scatters
    /// most: a second mistake does not contradict what is declared.
    fn most_brothers(&self, own: f64, dof: f64) -> Option<PooledDeviation> {
        let widest = match own >= self.widest[0].0 {
            true => self.widest[1],
            false => self.widest[0],
        };
        let dof = dof - widest.1;
        let squares = (self.squares - own - widest.0).max(0.0);
        (dof > 0.5).then(|| PooledDeviation {
            s: (squares / dof).max(self.rounding).sqrt(),
            dof,
        })
    }

    /// The two readings of a set that agree least, if they lie too far apart. `share` is the level
    /// of one comparison. The set does not judge itself: the repeatability is the declared one,
    /// pooled with that of the other sets.
    pub(super) fn apart(&self, set: &Set<'_>, share: f64) -> Option<Apart> {
        let values = set.values();
        let own = crate::stats::sum_of_squares(&values);
        let dof = self.dof - (values.len().max(1) - 1) as f64;
        let brothers = (dof > 0.5).then(|| {
            let squares = (self.squares - own).max(0.0);
            PooledDeviation {
                s: (squares / dof).max(self.rounding).sqrt(),
                dof,
            }
        });
        let stated = stated_us(set);
        let known = student_quantile(1.0 - share / 2.0, f64::INFINITY);
        let most = self.most_brothers(own, dof).or(brothers);
        let scatter = |one_zero: bool| self.scatter_of_two(one_zero, brothers, most);
        let mut on_one_zero = Allowance::new(scatter(true), share);
        let mut on_two_zeros = Allowance::new(scatter(false), share);
        let mut worst: Option<Apart> = None;
        for one in 0..values.len() {
            for other in one + 1..values.len() {
                let range = (values[one] - values[other]).abs();
                // Two roundings of one value can differ by a whole step.
                if range <= self.step * 1.000_001 {
                    continue;
                }
                let limit = match &stated {
                    Some(u) => Some(u[one].hypot(u[other]) * known).filter(|limit| range > *limit),
                    None => {
                        let zeros = [one, other].map(|at| &set.readings[at].0.zero);
                        let one_zero = !self.zeroed_each && zeros[0] == zeros[1];
                        match one_zero {
                            true => on_one_zero.exceeded(self, range),
                            false => on_two_zeros.exceeded(self, range),
                        }
                    }
                };
                let Some(limit) = limit else { continue };
                let limit = limit.max(self.step);
                if worst.is_none_or(|worst| range / limit > worst.range / worst.limit) {
                    worst = Some(Apart { range, limit });
                }
            }
        }
        worst
    }

    /// The scatter of two readings. `one_zero`: both rest on one zeroing. `most`: what tells whether
    /// the declared repeatability holds here. `None` where the scatter is unknown.
    fn scatter_of_two(
        &self,
        one_zero: bool,
        brothers: Option<PooledDeviation>,
        most: Option<PooledDeviation>,
    ) -> Option<ScatterOfTwo> {
        let zero = if one_zero { 0.0 } else { self.zero };
        let declared = self.declared.map(|declared| PooledDeviation {
            s: (declared.s.powi(2) + self.rounding + zero).sqrt(),
            dof: declared.dof,
        });
        let holds = |declared: &PooledDeviation| {
            most.is_none_or(|brothers| {
                let f = (brothers.s / declared.s).powi(2);
                f <= 1.0 || tail_of_variances(f, brothers.dof, declared.dof) > CONTRADICTED_BY_MOST
            })
        };
        let declared = declared.filter(holds);
        let PooledDeviation { s, dof } = match (declared, brothers) {
            (Some(declared), Some(brothers)) => declared.and(brothers),
            (declared, brothers) => declared.or(brothers)?,
        };
        let noise = (2.0 * (s * s - self.rounding).max(0.0)).sqrt();
        Some(ScatterOfTwo {
            s,
            dof,
            noise,
            // The scatter of the job's own readings already contains their rounding.
            in_steps: declared.is_some() && self.step > FINE * noise,
        })
    }

    /// The probability that one of two readings of one part is shown at least so many steps above
    /// the other, over all places of the part between the steps. `noise` is the standard deviation
    /// of the difference before it is rounded.
    fn shown(&self, steps: u32, noise: f64, dof: f64) -> f64 {
        const CELLS: usize = 8;
        let cell = |at: usize| (at as f64 + 0.5) / CELLS as f64 - 0.5;
        let tail = |distance: f64| match noise > 0.0 {
            true if dof.is_infinite() => normal_cdf(-distance / noise),
            true => student_tail(distance / noise, dof),
            false => f64::from(u8::from(distance < 0.0)),
        };
        let distance =
            |begun: f64, place: f64| (f64::from(steps) - 0.5 - begun - place) * self.step;
        let mut sum = 0.0;
        let mut weight = 0.0;
        for place in (0..CELLS).map(cell) {
            if !self.difference {
                sum += tail(distance(0.0, place));
                weight += 1.0;
                continue;
            }
            for at in 0..2 * CELLS {
                // Both readings began anywhere between two steps, so their difference is
                // triangular.
                let begun = (at as f64 + 0.5) / CELLS as f64 - 1.0;
                let density = 1.0 - begun.abs();
                sum += density * tail(distance(begun, place));
                weight += density;
            }
        }
        sum / weight
    }
}

/// The scatter of two readings of one part.
#[derive(Clone, Copy)]
struct ScatterOfTwo {
    /// Standard deviation of one reading, with its degrees of freedom.
    s: f64,
    dof: f64,
    /// Standard deviation of the difference of two readings before they are rounded.
    noise: f64,
    /// Whether the gauge's scale is so coarse that a difference shows whole steps.
    in_steps: bool,
}

/// How far two readings may lie apart. Every pair of a set asks, so what was found is kept.
struct Allowance {
    scatter: Option<ScatterOfTwo>,
    share: f64,
    /// The limit of a fine scale.
    limit: f64,
    /// The limit of a coarse scale, in steps; the outer `None`: not asked for yet.
    rare_steps: Option<Option<u32>>,
}

impl Allowance {
    fn new(scatter: Option<ScatterOfTwo>, share: f64) -> Allowance {
        let limit = scatter.map_or(f64::NAN, |two| {
            student_quantile(1.0 - share / 2.0, two.dof) * 2f64.sqrt() * two.s
        });
        Allowance {
            scatter,
            share,
            limit,
            rare_steps: None,
        }
    }

    /// How far two readings may lie apart, where they lie further apart than that. `None` also
    /// where nothing is known of their scatter.
    fn exceeded(&mut self, of: &Repeatability, range: f64) -> Option<f64> {
        let scatter = self.scatter?;
        if !scatter.in_steps {
            return (range > self.limit).then_some(self.limit);
        }
        // A coarse scale shows whole steps: the most that are shown often enough.
        let rare = self.rare_steps(of, scatter)?;
        let seen = (range / of.step).round();
        (seen >= f64::from(rare)).then(|| f64::from(rare - 1) * of.step)
    }

    /// The least number of steps that two readings are shown apart too seldom to be explained.
    fn rare_steps(&mut self, of: &Repeatability, scatter: ScatterOfTwo) -> Option<u32> {
        let share = self.share;
        let is_rare = |steps: u32| 2.0 * of.shown(steps, scatter.noise, scatter.dof) <= share;
        *self.rare_steps.get_or_insert_with(|| {
            // More steps are always rarer: double until they are rare, then halve what is between.
            let mut above = (0..u32::BITS)
                .map(|power| 1 << power)
                .find(|&steps| is_rare(steps))?;
            let mut below = above / 2;
            while above - below > 1 {
                let middle = below + (above - below) / 2;
                match is_rare(middle) {
                    true => above = middle,
                    false => below = middle,
                }
            }
            Some(above)
        })
    }
}

/// The probability of a ratio of variances as large as this; one with infinite degrees of freedom
/// counts as known.
pub(super) fn tail_of_variances(f: f64, above: f64, below: f64) -> f64 {
    // Beyond a million the F distribution is that of the known variance to six digits.
    f_tail(f, above, below.min(1e6))
}

/// How many comparisons the repeats of these sets make.
pub(super) fn comparisons(sets: &[Set<'_>]) -> usize {
    let of = |set: &Set<'_>| set.readings.len() * set.readings.len().saturating_sub(1) / 2;
    sets.iter().map(of).sum()
}

/// The uncertainties that the readings of a set state themselves, base units; `None` unless all do.
pub(super) fn stated_us(set: &Set<'_>) -> Option<Vec<f64>> {
    set.readings
        .iter()
        .map(|(_, measured)| {
            Some(set.factor_of(measured) * measured.unit.difference_to_base(measured.u?))
        })
        .collect()
}
