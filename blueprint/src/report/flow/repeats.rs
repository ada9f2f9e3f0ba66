//! Repeats of one port at one lift whose flows disagree: by the pressure over the metering orifice,
//! or by the flow that the bench shows.
//!
//! How far two may lie apart is known from the repeats of the other lifts and from what the gauge's
//! entry states, as with every other reading (`docs/formulas.md`, section 14). The 5 % are shared
//! among all pairs of a report.

use std::collections::BTreeMap;

use super::parts::{PartsOf, Scatter};
use crate::engine::Engine;
use crate::figure::{Estimate, student_quantile};
use crate::readings::{FlowParts, Reading, ReadingValue};
use crate::report::document::{Finding, FindingKind};
use crate::report::finding::finding;
use crate::report::repeatability::{CONTRADICTED, LEVEL, tail_of_variances};
use crate::report::sets::Gauges;
use crate::report::words::told_apart;
use crate::spot::{FlowPart, Spot};
use crate::stats::{PooledDeviation, mean, sum_of_squares};
use crate::units::QuantityKind;

/// The repeats of one part at one spot, brought to one test pressure.
struct Repeats<'a> {
    spot: &'a Spot,
    part: FlowPart,
    gauge: Option<String>,
    values: Vec<f64>,
    /// The uncertainties that the readings state themselves; `None` unless all do.
    stated: Option<Vec<f64>>,
    step: f64,
}

/// The spots whose repeats disagree.
pub(crate) fn disagreeing(spots: &BTreeMap<&Spot, Vec<&Reading>>, engine: &Engine) -> Vec<Finding> {
    let gauges = &engine.gauges;
    let mut all: Vec<Repeats<'_>> = Vec::new();
    for (spot, readings) in spots {
        let parts: Vec<(&Reading, &FlowParts)> = readings
            .iter()
            .filter_map(|reading| match &reading.value {
                ReadingValue::Flow(parts) => Some((*reading, &**parts)),
                ReadingValue::One(_) => None,
            })
            .collect();
        all.extend(of_spot(spot, &parts, gauges));
    }
    let pairs = |repeats: &Repeats<'_>| repeats.values.len() * (repeats.values.len() - 1) / 2;
    let share = LEVEL / all.iter().map(pairs).sum::<usize>().max(1) as f64;
    let finding = |at: usize| {
        let one = &all[at];
        let (range, limit) = one.apart(&all, at, gauges, share)?;
        Some(one.finding(range, limit, engine))
    };
    (0..all.len()).filter_map(finding).collect()
}

fn of_spot<'a>(
    spot: &'a Spot,
    parts: &[(&Reading, &FlowParts)],
    gauges: &Gauges,
) -> Vec<Repeats<'a>> {
    let of = PartsOf::new(spot, parts, gauges);
    let repeats = |part: FlowPart| {
        let read = of.read(part)?;
        (read.each.len() >= 2).then(|| Repeats {
            spot,
            part,
            gauge: read.key().1,
            values: read.values(),
            stated: read
                .all_stated
                .then(|| read.each.iter().map(Estimate::u).collect())
                .flatten(),
            step: read.step,
        })
    };
    let parts = [FlowPart::Metering, FlowPart::Flow].into_iter();
    parts.filter_map(repeats).collect()
}

impl Repeats<'_> {
    /// How far the two that agree least lie apart and how far they may, where that is less.
    fn apart(
        &self,
        all: &[Repeats<'_>],
        own: usize,
        gauges: &Gauges,
        share: f64,
    ) -> Option<(f64, f64)> {
        let two = self.deviation(all, own, gauges);
        let limit_of = |one: usize, other: usize| match &self.stated {
            Some(u) => {
                let t = student_quantile(1.0 - share / 2.0, f64::INFINITY);
                Some(t * u[one].hypot(u[other]))
            }
            None => {
                let two = two?;
                Some(student_quantile(1.0 - share / 2.0, two.dof) * 2f64.sqrt() * two.s)
            }
        };
        let count = self.values.len();
        let pairs = (0..count).flat_map(|one| (one + 1..count).map(move |other| (one, other)));
        pairs
            .filter_map(|(one, other)| {
                let range = (self.values[one] - self.values[other]).abs();
                // Two roundings of one value can differ by a whole step.
                let limit = limit_of(one, other)?.max(self.step * 1.000_001);
                (range > limit).then_some((range, limit))
            })
            .max_by(|a, b| (a.0 / a.1).total_cmp(&(b.0 / b.1)))
    }

    /// The standard deviation of one reading, rounding included: by the other spots and by the
    /// gauge's entry, unless the other spots contradict the entry.
    fn deviation(
        &self,
        all: &[Repeats<'_>],
        own: usize,
        gauges: &Gauges,
    ) -> Option<PooledDeviation> {
        let middle = mean(self.values.iter().copied());
        let rounding = self.step * self.step / 12.0;
        let brothers = all.iter().enumerate().filter(|(at, other)| {
            *at != own && (other.part, &other.gauge) == (self.part, &self.gauge)
        });
        let sets = brothers.map(|(_, other)| {
            let centre = mean(other.values.iter().copied());
            let dof = (other.values.len() - 1) as f64;
            (centre, sum_of_squares(&other.values), dof)
        });
        let brothers = Scatter::over(sets)
            .at_most(middle)
            .map(|found| PooledDeviation {
                s: found.s.max(rounding.sqrt()),
                ..found
            });
        let gauge = self.gauge.as_ref().and_then(|name| gauges.get(name));
        let of_part = |kind: QuantityKind| match self.part {
            FlowPart::Metering => kind == QuantityKind::Pressure,
            _ => kind == QuantityKind::Flow,
        };
        let declared = gauge.filter(|gauge| of_part(gauge.kind.measures()));
        let declared = declared.and_then(|gauge| {
            Some(PooledDeviation {
                s: gauge.repeatability?.hypot(rounding.sqrt()),
                dof: gauge.repeatability_dof,
            })
        });
        let holds = |declared: &PooledDeviation| {
            brothers.is_none_or(|brothers| {
                let f = (brothers.s / declared.s).powi(2);
                f <= 1.0 || tail_of_variances(f, brothers.dof, declared.dof) > CONTRADICTED
            })
        };
        match (declared.filter(holds), brothers) {
            (Some(declared), Some(brothers)) => Some(declared.and(brothers)),
            (one, other) => one.or(other),
        }
    }

    fn finding(&self, range: f64, limit: f64, engine: &Engine) -> Finding {
        let (what, unit) = match self.part {
            FlowPart::Metering => ("metering pressures", engine.pressure_unit()),
            _ => ("flows", engine.flow_unit()),
        };
        let shown = [range, limit].map(|base| unit.difference_from_base(base));
        let [range, limit] = told_apart(shown, 2);
        let text = format!(
            "its {what} differ by {range} {unit}; the repeats of the other lifts and the gauge allow {limit} {unit}: measure it again"
        );
        finding(self.spot, FindingKind::Disagrees, text)
    }
}
