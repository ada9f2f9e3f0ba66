//! First-order propagation of uncertainty with shared and own errors.
//!
//! An estimate is a value with its slope against each independent source of error. Two estimates
//! that carry the same source are correlated through it. A shared error therefore adds up in a mean
//! and cancels in a difference, and no covariance is written down. Example: two chambers measured
//! with one burette share its calibration. An unknown uncertainty is a source without `u`.
//! Estimates that depend on it lack it; all others are known.
//!
//! Source: JCGM 100:2008 (GUM) eq. 10 with independent sources, which is eq. 13 for the inputs.

mod arithmetic;
mod rework;

use std::cmp::Ordering;
use std::sync::Arc;

use super::{ErrorSource, Figure, Scalar, SourceId, coverage, coverage_factor, effective_dof};
use crate::units::Unit;

/// A slope that is smaller than this share of the largest slope that was summed into it is
/// rounding: the error has cancelled.
const CANCELLED: f64 = 1e-12;

/// With more degrees of freedom than this a coverage factor is 2 to within a quarter of a percent.
const MANY: f64 = 500.0;

/// An unknown source that is below this share of the remaining uncertainty does not matter.
const SMALL: f64 = 0.1;

/// A value and how it answers to each source of error.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    value: f64,
    /// Sorted by the source's identity; none twice.
    parts: Vec<Term>,
}

#[derive(Debug, Clone, PartialEq)]
struct Term {
    source: Arc<ErrorSource>,
    /// ∂value/∂source.
    slope: f64,
    /// The largest |slope| that was summed into `slope`.
    largest: f64,
}

impl Term {
    fn cancelled(&self) -> bool {
        self.slope == 0.0 || self.slope.abs() <= self.largest * CANCELLED
    }
}

/// An estimate's variance, split into known and lacking.
struct Split<'a> {
    known: f64,
    /// With the variances at their assumed widths, the smallest first.
    lacking: Vec<(f64, &'a Term)>,
}

impl Split<'_> {
    fn of_lacking(&self) -> Option<f64> {
        let sum: f64 = self.lacking.iter().map(|(variance, _)| variance).sum();
        sum.is_finite().then_some(sum)
    }
}

/// What one source contributes to an estimate.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// The source.
    pub source: Arc<ErrorSource>,
    /// How the value moves with the source, signed.
    pub slope: f64,
    /// |slope|·u, in the estimate's unit; `None` if the source's uncertainty is unknown.
    pub u: Option<f64>,
}

impl Estimate {
    /// A value that answers to one source with slope one.
    pub fn new(value: f64, source: Arc<ErrorSource>) -> Estimate {
        Estimate::exact(value).with(source, 1.0)
    }

    /// A value with an error of its own, under an identity of its own.
    pub fn input(id: impl Into<SourceId>, value: f64, u: Option<f64>, dof: f64) -> Estimate {
        Estimate::new(value, ErrorSource::new(id, u, dof))
    }

    /// The same estimate that answers also to `source`, with this slope.
    #[must_use]
    pub fn with(self, source: Arc<ErrorSource>, slope: f64) -> Estimate {
        let largest = slope.abs();
        let other = Estimate {
            value: 0.0,
            parts: vec![Term {
                source,
                slope,
                largest,
            }],
        };
        let value = self.value;
        self.combine(1.0, &other, 1.0, value)
    }

    /// The arithmetic mean. `None` for an empty list.
    pub fn mean<'a>(estimates: impl IntoIterator<Item = &'a Estimate>) -> Option<Estimate> {
        let estimates: Vec<&Estimate> = estimates.into_iter().collect();
        let n = estimates.len() as f64;
        if estimates.is_empty() {
            return None;
        }
        let value = crate::stats::mean(estimates.iter().map(|estimate| estimate.value));
        let mut all: Vec<&Term> = estimates
            .iter()
            .flat_map(|estimate| &estimate.parts)
            .collect();
        // A stable sort: slopes of one source are summed in the order of the estimates.
        all.sort_by(|one, other| one.source.order(&other.source));
        let mut parts: Vec<Term> = Vec::new();
        for part in all {
            let (slope, largest) = (part.slope / n, part.largest / n);
            match parts.last_mut() {
                Some(known) if known.source.order(&part.source).is_eq() => {
                    known.slope += slope;
                    known.largest = known.largest.max(largest);
                }
                _ => parts.push(Term {
                    source: part.source.clone(),
                    slope,
                    largest,
                }),
            }
        }
        Some(Estimate { value, parts })
    }

    /// The value.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Standard uncertainty; `None` if something is [lacking](Self::lacking).
    pub fn u(&self) -> Option<f64> {
        let split = self.split();
        split.lacking.is_empty().then(|| split.known.sqrt())
    }

    /// Standard uncertainty of what is known, without what is [lacking](Self::lacking).
    pub fn u_known(&self) -> f64 {
        self.split().known.sqrt()
    }

    /// The sources of unknown size that matter here; the one with the largest assumed contribution
    /// comes first.
    pub fn lacking(&self) -> Vec<Arc<ErrorSource>> {
        let split = self.split();
        let mut lacking = split.lacking;
        lacking.reverse();
        lacking
            .into_iter()
            .map(|(_, part)| part.source.clone())
            .collect()
    }

    /// Expanded uncertainty for verdicts: k·u of what is known, by its degrees of freedom, and
    /// twice the assumed width of what is lacking. The two are not put through Welch-Satterthwaite
    /// together: an assumed width would then make the whole surer. `None` if nothing is assumed of
    /// something that is lacking.
    pub fn expanded_assumed(&self) -> Option<f64> {
        let split = self.split();
        let dof = Some(self.dof()).filter(|dof| *dof < MANY);
        let known = coverage(dof.unwrap_or(f64::INFINITY)) * split.known.sqrt();
        Some(known.hypot(coverage(f64::INFINITY) * split.of_lacking()?.sqrt()))
    }

    /// Splits the variance. Unknown sources are small if, all together, they stay below a tenth of
    /// the known uncertainty at their assumed widths. Small ones count as known, with that width.
    fn split(&self) -> Split<'_> {
        let mut known = 0.0;
        let mut unknown: Vec<(f64, &Term)> = Vec::new();
        for part in self.parts.iter().filter(|part| !part.cancelled()) {
            match part.source.u {
                Some(u) => known += (part.slope * u).powi(2),
                None => {
                    let assumed = part.source.assumed.unwrap_or(f64::INFINITY);
                    unknown.push(((part.slope * assumed).powi(2), part));
                }
            }
        }
        unknown.sort_by(|(a, one), (b, other)| {
            a.total_cmp(b)
                .then_with(|| one.source.id.cmp(&other.source.id))
        });
        let (rest, mut small) = (known, 0.0);
        let mut dropped = 0;
        for (variance, _) in &unknown {
            if small + variance > rest * SMALL * SMALL {
                break;
            }
            small += variance;
            dropped += 1;
        }
        Split {
            known: known + small,
            lacking: unknown.split_off(dropped),
        }
    }

    /// Effective degrees of freedom of [`Self::u`] (Welch-Satterthwaite). Sources whose `u` rests
    /// on one standard deviation count as one contribution, since their variances are wrong
    /// together.
    pub fn dof(&self) -> f64 {
        let mut each: Vec<(f64, f64)> = Vec::new();
        let mut pooled: Vec<(&SourceId, f64, f64)> = Vec::new();
        for part in self.parts.iter().filter(|part| !part.cancelled()) {
            let Some(u) = part.source.u else { continue };
            let variance = (part.slope * u).powi(2);
            match &part.source.pool {
                Some(pool) if variance > 0.0 => pooled.push((pool, variance, part.source.dof)),
                _ => each.push((variance.sqrt(), part.source.dof)),
            }
        }
        pooled.sort_by_key(|(pool, ..)| *pool);
        each.extend(pooled.chunk_by(|one, other| one.0 == other.0).map(|alike| {
            // The sum of the variances over the roots of their degrees of freedom is the standard
            // deviation of the whole variance but for a factor √2.
            let (mut variance, mut spread) = (0.0, 0.0);
            for (_, part, dof) in alike {
                variance += part;
                spread += part / dof.sqrt();
            }
            (variance.sqrt(), (variance / spread).powi(2))
        }));
        effective_dof(each)
    }

    /// Expanded uncertainty for a level of confidence such as 0.95.
    pub fn expanded(&self, level: f64) -> Option<f64> {
        self.u().map(|u| u * coverage_factor(level, self.dof()))
    }

    /// What each source contributes, the unknown ones first, then the largest first.
    pub fn contributions(&self) -> Vec<Contribution> {
        let mut list: Vec<Contribution> = self
            .parts
            .iter()
            .filter(|part| !part.cancelled())
            .map(|part| Contribution {
                source: part.source.clone(),
                slope: part.slope,
                u: part.source.u.map(|u| (part.slope * u).abs()),
            })
            .collect();
        let size = |contribution: &Contribution| contribution.u.unwrap_or(f64::INFINITY);
        list.sort_by(|a, b| {
            size(b)
                .total_cmp(&size(a))
                .then_with(|| a.source.id.cmp(&b.source.id))
        });
        list
    }

    /// The sources of unknown uncertainty that the value depends on.
    pub fn unknown(&self) -> impl Iterator<Item = &Arc<ErrorSource>> {
        self.parts
            .iter()
            .filter(|part| part.source.u.is_none() && !part.cancelled())
            .map(|part| &part.source)
    }

    /// How the value moves with the source of this identity; 0 if it does not.
    pub fn slope(&self, id: impl Into<SourceId>) -> f64 {
        self.slope_of(&id.into())
    }

    fn slope_of(&self, id: &SourceId) -> f64 {
        self.parts
            .binary_search_by(|part| part.source.id.cmp(id))
            .map_or(0.0, |at| self.parts[at].slope)
    }

    /// The covariance with another estimate, through the sources that they share. `None` if a
    /// shared source is of unknown size.
    pub fn covariance(&self, other: &Estimate) -> Option<f64> {
        let mut sum = 0.0;
        for part in self.parts.iter().filter(|part| !part.cancelled()) {
            let theirs = other.slope_of(&part.source.id);
            if theirs != 0.0 {
                sum += part.slope * theirs * part.source.u?.powi(2);
            }
        }
        Some(sum)
    }

    /// As a figure in `unit`, the value being in the base unit of its kind.
    pub fn figure(&self, unit: Unit) -> Figure {
        Figure {
            value: unit.from_base(self.value),
            ..self.difference(unit)
        }
    }

    /// As a figure of a difference in `unit`: a temperature is not shifted to another zero.
    pub fn difference(&self, unit: Unit) -> Figure {
        let lacking = self.lacking();
        let u = unit.difference_from_base(self.u_known());
        let dof = Some(self.dof()).filter(|dof| *dof < MANY);
        let all = self.expanded_assumed().filter(|_| !lacking.is_empty());
        Figure {
            value: unit.difference_from_base(self.value),
            u: lacking.is_empty().then_some(u),
            u_known: (!lacking.is_empty()).then_some(u),
            assumed: all.map(|all| unit.difference_from_base(all)),
            lacking: lacking.iter().map(|one| one.id.to_string()).collect(),
            dof,
            unit,
        }
    }

    fn combine(&self, mine: f64, other: &Estimate, theirs: f64, value: f64) -> Estimate {
        let mut parts = Vec::with_capacity(self.parts.len() + other.parts.len());
        let (mut a, mut b) = (self.parts.iter().peekable(), other.parts.iter().peekable());
        let scaled = |part: &Term, factor: f64| Term {
            source: part.source.clone(),
            slope: part.slope * factor,
            largest: part.largest * factor.abs(),
        };
        loop {
            let order = match (a.peek(), b.peek()) {
                (None, None) => break,
                (Some(_), None) => Ordering::Less,
                (None, Some(_)) => Ordering::Greater,
                (Some(x), Some(y)) => x.source.order(&y.source),
            };
            match order {
                Ordering::Less => parts.extend(a.next().map(|x| scaled(x, mine))),
                Ordering::Greater => parts.extend(b.next().map(|y| scaled(y, theirs))),
                Ordering::Equal => {
                    if let (Some(x), Some(y)) = (a.next(), b.next()) {
                        let (x, y) = (scaled(x, mine), scaled(y, theirs));
                        parts.push(Term {
                            slope: x.slope + y.slope,
                            largest: x.largest.max(y.largest),
                            source: x.source,
                        });
                    }
                }
            }
        }
        Estimate { value, parts }
    }
}

impl Scalar for Estimate {
    fn exact(value: f64) -> Estimate {
        Estimate {
            value,
            parts: Vec::new(),
        }
    }

    fn value(&self) -> f64 {
        self.value
    }

    fn map(&self, value: f64, slope: f64) -> Estimate {
        let parts = self
            .parts
            .iter()
            .map(|part| Term {
                source: part.source.clone(),
                slope: part.slope * slope,
                largest: part.largest * slope.abs(),
            })
            .collect();
        Estimate { value, parts }
    }
}
