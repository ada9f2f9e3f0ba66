//! The parts of flow readings (pressures, flow, leak, lift, temperature): their means at one spot,
//! with a scatter that is pooled over all lifts.
//!
//! Two repeats at one lift have one degree of freedom. The repeats of all lifts together say how a
//! part repeats. A larger pressure may scatter more, so two models are compared: constant scatter,
//! and scatter in proportion to the value. The likelier one is taken. Source: `docs/formulas.md`,
//! section 14.

use std::collections::BTreeMap;

use super::uneven::to_one_test;
use crate::figure::{ErrorSource, Estimate, Scalar, SourceId, SourceKind, SourceOwner, coverage};
use crate::readings::{FlowParts, MeasuredValue, Reading, ReadingValue};
use crate::report::errors::{measured_estimate, step};
use crate::report::pool::unrepeated;
use crate::report::sets::{Gauges, unrepeated_width};
use crate::spot::{FlowPart, Spot};
use crate::stats::{PooledDeviation, mean, sum_of_squares};

/// The means of the parts of a spot's readings, base units.
pub(super) struct Means {
    pub(super) test: Option<Estimate>,
    pub(super) metering: Option<Estimate>,
    pub(super) flow: Option<Estimate>,
    pub(super) leak: Option<Estimate>,
    pub(super) lift: Option<Estimate>,
    pub(super) temperature: Option<Estimate>,
    pub(super) plenum_temperature: Option<Estimate>,
}

/// One part over the repeats of a spot.
pub(super) struct PartReadings<'a> {
    part: FlowPart,
    /// Spot and part.
    whose: SourceOwner,
    first: &'a Reading,
    measured: &'a MeasuredValue,
    pub(super) each: Vec<Estimate>,
    /// The step of each, in the unit of `each`.
    pub(super) step: f64,
    /// What the windows of the means show of their scatter, as the standard deviation of one reading,
    /// in the unit of `each`; 0 where they show nothing.
    window: f64,
    pub(super) all_stated: bool,
    /// The mean test pressure of repeats that were brought to it.
    brought: Option<Estimate>,
}

impl PartReadings<'_> {
    pub(super) fn values(&self) -> Vec<f64> {
        self.each.iter().map(Scalar::value).collect()
    }

    fn of_first(&self, what: SourceKind) -> SourceId {
        SourceId::new(self.whose.clone(), what).from_fact(&self.first.id)
    }

    pub(super) fn key(&self) -> (FlowPart, Option<String>) {
        (self.part, self.measured.gauge.clone())
    }
}

/// The parts of one spot, repeats at several test pressures brought to one.
pub(super) struct PartsOf<'a> {
    spot: &'a Spot,
    parts: &'a [(&'a Reading, &'a FlowParts)],
    gauges: &'a Gauges,
    one_test: Option<(Estimate, Vec<Option<Estimate>>)>,
}

impl<'a> PartsOf<'a> {
    pub(super) fn new(
        spot: &'a Spot,
        parts: &'a [(&'a Reading, &'a FlowParts)],
        gauges: &'a Gauges,
    ) -> PartsOf<'a> {
        PartsOf {
            spot,
            parts,
            gauges,
            one_test: to_one_test(spot, parts, gauges),
        }
    }

    /// `None` where no reading has the part.
    pub(super) fn read(&self, part: FlowPart) -> Option<PartReadings<'a>> {
        let whose = SourceOwner::FlowPart(self.spot.clone(), part);
        let power = match part {
            FlowPart::Metering => Some(1.0),
            FlowPart::Flow => Some(0.5),
            _ => None,
        };
        let factor = |at: usize| {
            let (_, factors) = self.one_test.as_ref()?;
            Some(factors.get(at)?.as_ref()?.powf(power?))
        };
        let mut found = Vec::new();
        let mut each = Vec::new();
        let mut steps = 0.0f64;
        let mut windows = Vec::new();
        for (at, (reading, parts)) in self.parts.iter().enumerate() {
            let Some(measured) = parts.part(part) else {
                continue;
            };
            let own = SourceId::new(whose.clone(), SourceKind::Value).from_fact(&reading.id);
            let read = measured_estimate(&own, measured, 1.0, &reading.zero, self.gauges);
            let factor = factor(at);
            let by = factor.as_ref().map_or(1.0, Scalar::value);
            steps = steps.max(by * step(measured, self.gauges).unwrap_or(0.0));
            let window = measured
                .window_u
                .map(|u| by * measured.unit.difference_to_base(u));
            windows.extend(window);
            each.push(match factor {
                Some(factor) => read * factor,
                None => read,
            });
            found.push((*reading, measured));
        }
        let (first, measured) = *found.first()?;
        let brought = self.one_test.as_ref().map(|(test, _)| test.clone());
        Some(PartReadings {
            part,
            whose,
            first,
            measured,
            window: of_windows(&windows),
            each,
            step: steps,
            all_stated: found.iter().all(|(_, measured)| measured.u.is_some()),
            brought: brought.filter(|_| part == FlowPart::Test),
        })
    }
}

/// The standard deviation of one reading that windows show; a reading without one tells nothing of it.
fn of_windows(windows: &[f64]) -> f64 {
    if windows.is_empty() {
        return 0.0;
    }
    mean(windows.iter().map(|one| one * one)).sqrt()
}

/// How one part repeats under one gauge.
#[derive(Debug, Clone, Default)]
pub(super) struct Scatter {
    /// Mean, sum of squares and degrees of freedom at each lift that has repeats.
    sets: Vec<(f64, f64, f64)>,
    /// The first reading that has the part: what rests on the scatter goes by it.
    first: Option<SourceId>,
}

impl Scatter {
    /// The scatter of repeats at these lifts: mean, sum of squares and degrees of freedom of each.
    pub(super) fn over(sets: impl Iterator<Item = (f64, f64, f64)>) -> Scatter {
        Scatter {
            sets: sets.collect(),
            first: None,
        }
    }

    /// The standard deviation at a value, by the likelier of two models.
    pub(super) fn at(&self, value: f64) -> Option<PooledDeviation> {
        let (constant, share, dof) = self.variances()?;
        // −2·ln of the likelihood of each, but for what is common to both.
        let by_constant = dof * constant.ln();
        let logs = self
            .sets
            .iter()
            .map(|(mean, _, dof)| dof * (mean * mean).ln());
        let by_share = dof * share.ln() + logs.sum::<f64>();
        let variance = match by_share.is_finite() && by_share < by_constant {
            true => share * value * value,
            false => constant,
        };
        Some(PooledDeviation {
            s: variance.sqrt(),
            dof,
        })
    }

    /// The standard deviation at a value, by the model that gives more: a few repeats tell the two
    /// apart too badly to accuse one of them.
    pub(super) fn at_most(&self, value: f64) -> Option<PooledDeviation> {
        let (constant, share, dof) = self.variances()?;
        let variance = constant.max(share * value * value);
        variance.is_finite().then(|| PooledDeviation {
            s: variance.sqrt(),
            dof,
        })
    }

    /// The variance if it is constant, that of the shares if it goes by the value, and their degrees
    /// of freedom.
    fn variances(&self) -> Option<(f64, f64, f64)> {
        let dof: f64 = self.sets.iter().map(|(_, _, dof)| dof).sum();
        if dof <= 0.0 {
            return None;
        }
        let constant: f64 = self.sets.iter().map(|(_, squares, _)| squares).sum::<f64>() / dof;
        let shares = self
            .sets
            .iter()
            .map(|(mean, squares, _)| squares / (mean * mean));
        Some((constant, shares.sum::<f64>() / dof, dof))
    }
}

/// How all parts repeat, over all spots.
pub(super) struct Scatters {
    all: BTreeMap<(FlowPart, Option<String>), Scatter>,
}

impl Scatters {
    pub(super) fn of(spots: &BTreeMap<&Spot, Vec<&Reading>>, gauges: &Gauges) -> Scatters {
        let mut all: BTreeMap<(FlowPart, Option<String>), Scatter> = BTreeMap::new();
        for (spot, readings) in spots {
            let parts: Vec<(&Reading, &FlowParts)> = readings
                .iter()
                .filter_map(|reading| match &reading.value {
                    ReadingValue::Flow(parts) => Some((*reading, &**parts)),
                    ReadingValue::One(_) => None,
                })
                .collect();
            let of = PartsOf::new(spot, &parts, gauges);
            for read in FlowPart::ALL.into_iter().filter_map(|part| of.read(part)) {
                let scatter = all.entry(read.key()).or_default();
                let first = || read.of_first(SourceKind::Repeats);
                scatter.first.get_or_insert_with(first);
                let values = read.values();
                if values.len() >= 2 && read.brought.is_none() {
                    let dof = (values.len() - 1) as f64;
                    let centre = mean(values.iter().copied());
                    scatter.sets.push((centre, sum_of_squares(&values), dof));
                }
            }
        }
        Scatters { all }
    }

    /// The mean of one part over its repeats, with the repeatability that its gauge declares and
    /// that of the repeats at all lifts. Repeats within a step were rounded alike, as far as can be
    /// seen: their mean carries one whole rounding.
    pub(super) fn mean(&self, read: &PartReadings<'_>, gauges: &Gauges) -> Option<Estimate> {
        if let Some(test) = &read.brought {
            return Some(test.clone());
        }
        let values = read.values();
        let (low, high) = values
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(*value), high.max(*value))
            });
        let alike = values.len() >= 2 && high - low <= read.step * 1.000_001;
        let each: Vec<Estimate> = read
            .each
            .iter()
            .map(|one| match alike {
                true => one.identified(|id| match id.what {
                    SourceKind::Resolution => read.of_first(SourceKind::RoundedAlike),
                    _ => id.clone(),
                }),
                false => one.clone(),
            })
            .collect();
        let mean = Estimate::mean(&each)?.merged(
            |id| id.whose == read.whose && id.what != SourceKind::RoundedAlike,
            read.of_first(SourceKind::Rounding),
        );
        if read.all_stated {
            return Some(mean);
        }
        let gauge_name = read.measured.gauge.as_ref();
        let gauge = gauge_name.and_then(|name| gauges.get(name));
        let declared = gauge.and_then(|gauge| {
            let applies = read.measured.unit.kind() == gauge.kind.measures();
            gauge
                .repeatability
                .filter(|_| applies)
                .map(|s| PooledDeviation {
                    s,
                    dof: gauge.repeatability_dof,
                })
        });
        let scatter = self.all.get(&read.key());
        let repeats = scatter.and_then(|scatter| scatter.at(mean.value()));
        // Repeats that all lie within one step: rounding hides their scatter.
        let rounding = read.step / 12f64.sqrt();
        let repeats = repeats.map(|repeats| match declared {
            None if repeats.s < rounding => PooledDeviation {
                s: rounding,
                dof: f64::INFINITY,
            },
            _ => repeats,
        });
        // A declared repeatability is the gauge's: the same at every spot.
        let shared = match (declared, gauge_name, scatter) {
            (Some(_), Some(gauge), _) => SourceId::gauge(gauge, SourceKind::Repeatability),
            (
                _,
                _,
                Some(Scatter {
                    first: Some(first), ..
                }),
            ) => first.clone(),
            _ => read.of_first(SourceKind::Repeats),
        };
        let pooled = match (declared, repeats) {
            (Some(declared), Some(repeats)) => Some(declared.and(repeats)),
            (one, other) => one.or(other),
        };
        // Repeats scatter by what their windows show as well: it counts once. A few repeats may agree
        // by chance; no mean is surer than its own window. What is compared is the ±, so that neither
        // more scatter nor a wilder window ever makes it smaller.
        let expanded = |s: f64, dof: f64| coverage(dof) * s;
        let root = (values.len() as f64).sqrt();
        let of_window = |what: SourceKind| {
            ErrorSource::new(read.of_first(what), Some(read.window / root), f64::INFINITY)
        };
        Some(match pooled {
            Some(PooledDeviation { s, dof })
                if expanded(read.window, f64::INFINITY) > expanded(s, dof) =>
            {
                mean.with(of_window(SourceKind::Repeatability), 1.0)
            }
            Some(PooledDeviation { s, dof }) => {
                let own = read.of_first(SourceKind::Repeatability);
                mean.with(ErrorSource::pooled(own, s / root, dof, shared), 1.0)
            }
            None => {
                let width = unrepeated_width(read.measured, gauges);
                let lacks = unrepeated(read.of_first(SourceKind::NotRepeated), width);
                let mean = mean.with(lacks, 1.0);
                match read.window > 0.0 {
                    true => mean.with(of_window(SourceKind::Scatter), 1.0),
                    false => mean,
                }
            }
        })
    }
}
