//! Repeats of one port at one lift at different test pressures. Each is brought to the mean test
//! pressure by the square root (`docs/formulas.md`, section 10.5) before they are averaged.

use std::collections::BTreeMap;

use crate::engine::Engine;
use crate::figure::{ErrorSource, Estimate, SourceId, SourceKind, SourceOwner};
use crate::readings::{FlowParts, Reading, ReadingValue};
use crate::report::document::{Finding, FindingKind};
use crate::report::errors::measured_estimate;
use crate::report::finding::finding;
use crate::report::sets::Gauges;
use crate::spot::{FlowPart, Spot};

/// Test pressures that differ by more than this share of the smallest are not one (a bench is set by
/// eye to one or two per cent; common practice, no source).
const SAME: f64 = 0.03;

/// The smallest and the largest test pressure, Pa, where they are not one.
fn apart<'a>(all: impl Iterator<Item = &'a FlowParts>) -> Option<(f64, f64)> {
    let tests = all.filter_map(|parts| Some(parts.test.as_ref()?.base()));
    let (low, high) = tests.fold((f64::INFINITY, 0.0f64), |(low, high), one| {
        (low.min(one), high.max(one))
    });
    (low > 0.0 && high > low * (1.0 + SAME)).then_some((low, high))
}

/// The mean of test pressures that are not one, and for each reading by what a pressure read at its
/// test pressure is multiplied to be that at the mean; `None` where they are one.
pub(super) fn to_one_test(
    spot: &Spot,
    all: &[(&Reading, &FlowParts)],
    gauges: &Gauges,
) -> Option<(Estimate, Vec<Option<Estimate>>)> {
    apart(all.iter().map(|(_, parts)| *parts))?;
    let each: Vec<Option<Estimate>> = all
        .iter()
        .map(|(reading, parts)| {
            let test = parts.test.as_ref()?;
            let whose = SourceOwner::FlowPart((*spot).clone(), FlowPart::Test);
            let own = SourceId::new(whose, SourceKind::Value).from_fact(&reading.id);
            let gauge = test.gauge.as_ref().and_then(|name| gauges.get(name));
            let repeatability = gauge.and_then(|gauge| {
                let shared = SourceId::gauge(test.gauge.as_ref()?, SourceKind::Repeatability);
                let s = gauge.repeatability.filter(|_| test.u.is_none())?;
                Some(ErrorSource::pooled(
                    own.but(SourceKind::Repeatability),
                    s,
                    gauge.repeatability_dof,
                    shared,
                ))
            });
            let read = measured_estimate(&own, test, 1.0, &reading.zero, gauges);
            Some(match repeatability {
                Some(repeatability) => read.with(repeatability, 1.0),
                None => read,
            })
        })
        .collect();
    let mean = Estimate::mean(each.iter().flatten())?;
    let factors = each
        .into_iter()
        .map(|one| one.map(|one| &mean / one))
        .collect();
    Some((mean, factors))
}

/// The spots whose repeats were made at different test pressures.
pub(crate) fn findings(spots: &BTreeMap<&Spot, Vec<&Reading>>, engine: &Engine) -> Vec<Finding> {
    let unit = engine.pressure_unit();
    let of = |(spot, readings): (&&Spot, &Vec<&Reading>)| {
        let parts = readings.iter().filter_map(|reading| match &reading.value {
            ReadingValue::Flow(parts) => Some(&**parts),
            ReadingValue::One(_) => None,
        });
        let (low, high) = apart(parts)?;
        let text = format!(
            "its repeats were made at test pressures from {:.2} to {:.2} {unit}; each is brought to their mean by the square root before they are averaged: repeat at one test pressure",
            unit.from_base(low),
            unit.from_base(high),
        );
        Some(finding(spot, FindingKind::Disagrees, text))
    };
    spots.iter().filter_map(of).collect()
}
