//! The flow section: test and metering pressure at their cylinder, port and lift, corrected to
//! the reference depression by the square root of the pressures alone, as the trade prints it.
//!
//! Sources: `docs/formulas.md`, section 10, items 1, 3 and 5.

use std::collections::BTreeMap;

use super::document::FlowReport;
use super::pool::{Gauges, measured_estimate};
use crate::engine::{Engine, OrificeKnown};
use crate::figure::{Estimate, Scalar, Source};
use crate::readings::{Direction, FlowParts, Measured, Reading, Value};
use crate::spot::Spot;
use crate::stats::Pooled;
use crate::units::Unit;

const BY_ROOT: &str = "by the square root of the pressures alone (practice); compressibility is not taken into account";

/// Density at which an orifice that is known by its diameter is taken to work, kg/m³: dry air at
/// 20 °C and 101 325 Pa (CIPM-2007).
const AIR: f64 = 1.204_557;

/// One entry for each flow spot.
pub(crate) fn section(
    spots: &BTreeMap<&Spot, Vec<&Reading>>,
    engine: &Engine,
    gauges: &Gauges,
) -> Vec<FlowReport> {
    spots
        .iter()
        .filter_map(|(spot, readings)| match spot {
            Spot::Flow { .. } => entry(spot, readings, engine, gauges),
            _ => None,
        })
        .collect()
}

fn entry(
    spot: &Spot,
    readings: &[&Reading],
    engine: &Engine,
    gauges: &Gauges,
) -> Option<FlowReport> {
    let Spot::Flow {
        cylinder,
        port,
        runner,
        lift,
    } = spot
    else {
        return None;
    };
    let parts: Vec<(&Reading, &FlowParts)> = readings
        .iter()
        .filter_map(|reading| match &reading.value {
            Value::Flow(parts) => Some((*reading, &**parts)),
            Value::One(_) => None,
        })
        .collect();
    let mean = |part: &str, of: &dyn Fn(&FlowParts) -> Option<&Measured>| {
        mean_of(&format!("{spot}/{part}"), &parts, of, gauges)
    };
    let test = mean("test", &|parts| parts.test.as_ref());
    let metering = mean("metering", &|parts| parts.metering.as_ref());
    let given = mean("flow", &|parts| parts.flow.as_ref());
    let leak = mean("leak", &|parts| parts.leak.as_ref());
    let measured_lift = mean("lift", &|parts| parts.lift.as_ref());
    let orifice = parts
        .iter()
        .find_map(|(_, parts)| parts.orifice.as_ref())
        .or(engine.flow.orifice.as_ref())
        .and_then(|name| Some((name, engine.flow.orifices.get(name)?)));
    let through = given.or_else(|| {
        let (name, orifice) = orifice?;
        Some(orifice_flow(name, &orifice.known, metering.as_ref()?))
    });
    let through = match (through, leak) {
        (Some(flow), Some(leak)) => Some(flow - leak),
        (flow, _) => flow,
    };
    let reference = engine
        .flow
        .reference
        .map(|stated| Estimate::exact(stated.value));
    // Both pressures are positive magnitudes; a reading of nothing has no root and no figure.
    let positive =
        |estimate: &Option<Estimate>| estimate.clone().filter(|estimate| estimate.value() > 0.0);
    let scale = match (&reference, positive(&test)) {
        (Some(reference), Some(test)) => Some(reference.clone() / test),
        _ => None,
    };
    let metering_at_reference = match (&scale, &metering) {
        (Some(scale), Some(metering)) => Some(scale.clone() * metering.clone()),
        _ => None,
    };
    let flow_at_reference = match (&scale, &through) {
        (Some(scale), Some(flow)) => Some(scale.sqrt() * flow.clone()),
        _ => None,
    };
    let area_ratio = match (positive(&metering), positive(&test)) {
        (Some(metering), Some(test)) => Some((metering / test).sqrt()),
        _ => None,
    };
    let direction = parts
        .iter()
        .find_map(|(_, parts)| parts.direction)
        .unwrap_or(if port.as_str().starts_with("exhaust") {
            Direction::Out
        } else {
            Direction::In
        });
    let units = engine.units;
    let show = |estimate: Option<Estimate>, unit: Unit| estimate.map(|found| found.figure(unit));
    Some(FlowReport {
        spot: spot.to_string(),
        cylinder: *cylinder,
        port: port.to_string(),
        runner: runner.as_ref().map(ToString::to_string),
        lift: Estimate::exact(lift.mm()).figure(units.length()),
        lift_measured: show(measured_lift, units.length()),
        direction: match direction {
            Direction::In => "in".to_owned(),
            Direction::Out => "out".to_owned(),
        },
        test_pressure: show(test, units.pressure()),
        metering_pressure: show(metering, units.pressure()),
        metering_at_reference: show(metering_at_reference, units.pressure()),
        flow: show(through, units.flow()),
        flow_at_reference: show(flow_at_reference, units.flow()),
        area_ratio: show(area_ratio, Unit::One),
        correction: BY_ROOT.to_owned(),
        readings: parts.len(),
    })
}

/// The mean of one part over the repeats, with the repeatability that its gauge declares or, where
/// it declares none, that of the repeats themselves.
fn mean_of(
    name: &str,
    parts: &[(&Reading, &FlowParts)],
    of: &dyn Fn(&FlowParts) -> Option<&Measured>,
    gauges: &Gauges,
) -> Option<Estimate> {
    let found: Vec<(&Reading, &Measured)> = parts
        .iter()
        .filter_map(|(reading, parts)| Some((*reading, of(parts)?)))
        .collect();
    let each: Vec<Estimate> = found
        .iter()
        .map(|(reading, measured)| {
            let own = format!("{name} {}", reading.id);
            measured_estimate(&own, measured, &reading.zero, gauges)
        })
        .collect();
    let mean = Estimate::mean(&each)?;
    if found.iter().all(|(_, measured)| measured.u.is_some()) {
        return Some(mean);
    }
    let gauge = found
        .first()?
        .1
        .gauge
        .as_ref()
        .and_then(|name| gauges.get(name));
    let declared = gauge.and_then(|gauge| {
        let applies = found.first()?.1.unit.kind() == gauge.kind.measures();
        gauge.repeatability.filter(|_| applies).map(|s| Pooled {
            s,
            dof: gauge.repeatability_dof,
        })
    });
    let values: Vec<f64> = each.iter().map(Scalar::value).collect();
    let own = Pooled::of_sets([values.as_slice()]);
    let pooled = match (declared, own) {
        (Some(declared), Some(own)) => Some(declared.and(own)),
        (one, other) => one.or(other),
    };
    Some(match pooled {
        Some(Pooled { s, dof }) => {
            let u = s / (found.len() as f64).sqrt();
            mean.with(
                Source::new(format!("{name} repeatability"), Some(u), dof),
                1.0,
            )
        }
        None => mean,
    })
}

/// Flow through the metering orifice, L/min, from the metering pressure in Pa.
fn orifice_flow(name: &str, known: &OrificeKnown, metering: &Estimate) -> Estimate {
    let metering = if metering.value() > 0.0 {
        metering.clone()
    } else {
        Estimate::exact(0.0)
    };
    let root = |ratio: Estimate| {
        if ratio.value() > 0.0 {
            ratio.sqrt()
        } else {
            Estimate::exact(0.0)
        }
    };
    match known {
        OrificeKnown::Calibrated { flow, at } => {
            let flow = flow.estimate(&format!("orifice {name} flow"));
            // The pressure is where the flow is stated: what is not known of the plate is stated
            // with the flow.
            let at = match at.u {
                Some(_) => at.estimate(&format!("orifice {name} metering pressure")),
                None => Estimate::exact(at.value),
            };
            flow * root(metering / at)
        }
        OrificeKnown::Diameter { diameter, cd } => {
            let diameter = diameter.estimate(&format!("orifice {name} diameter"));
            let cd = cd.estimate(&format!("orifice {name} discharge coefficient"));
            let area = crate::formula::volume::circle(&diameter).scale(1e-6);
            let velocity = root(metering.scale(2.0 / AIR));
            let per_second = Unit::CubicMetrePerSecond.factor();
            (cd * area * velocity).scale(per_second)
        }
    }
}
