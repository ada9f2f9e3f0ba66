//! The flow section of the document.

use std::collections::BTreeMap;

use super::near_zero::{is_near_zero, magnitude};
use crate::engine::Engine;
use crate::engine_figures::{PortFigures, spread};
use crate::figure::{Estimate, Figure};
use crate::report::document::{CoefficientReport, FlowAtLift, FlowReport};
use crate::units::Unit;

const BY_ROOT: &str = "by the square root of the pressures alone (practice); compressibility is not taken into account";

/// A value that was asked for, not measured: it has no uncertainty.
fn asked(base: f64, unit: Unit) -> Figure {
    Figure::bare(unit.from_base(base), unit)
}

/// One entry for each flow spot.
pub(crate) fn section(known: &[PortFigures], engine: &Engine) -> Vec<FlowReport> {
    known.iter().map(|one| entry(one, engine)).collect()
}

fn entry(known: &PortFigures, engine: &Engine) -> FlowReport {
    let units = engine.units;
    let show =
        |estimate: &Option<Estimate>, unit: Unit| estimate.as_ref().map(|found| found.figure(unit));
    FlowReport {
        spot: known.spot.clone(),
        cylinder: known.cylinder,
        port: known.port.clone(),
        runner: known.runner.clone(),
        lift: asked(known.lift.mm(), units.length()),
        lift_measured: show(&known.lift_measured, units.length()),
        direction: known.direction,
        test_pressure: show(&known.test, engine.pressure_unit()),
        metering_pressure: show(&known.metering, engine.pressure_unit()),
        metering_at_reference: show(&known.metering_at_reference, engine.pressure_unit()),
        flow: show(&known.flow, engine.flow_unit()),
        flow_at_reference: show(&known.flow_at_reference, engine.flow_unit()),
        correction: BY_ROOT.to_owned(),
        area_ratio: show(&known.area_ratio, Unit::One),
        mass_flow: show(&known.mass, Unit::KilogramPerSecond),
        air_density: show(&known.density, Unit::KilogramPerCubicMetre),
        port_flow: show(&known.port_flow, engine.flow_unit()),
        flow_at_reference_compressible: show(
            &known.flow_at_reference_compressible,
            engine.flow_unit(),
        ),
        flow_in_reference_air: show(&known.flow_in_reference_air, engine.flow_unit()),
        reference_air: engine
            .flow
            .reference_air
            .map(|air| asked(air.value, Unit::KilogramPerCubicMetre)),
        effective_area: show(&known.effective_area, Unit::SquareMillimetre),
        coefficients: known
            .coefficients
            .iter()
            .map(|one| CoefficientReport {
                by_area: one.by_area,
                area: one.area.figure(Unit::SquareMillimetre),
                coefficient: one.coefficient.figure(Unit::One),
            })
            .collect(),
        readings: known.readings,
    }
}

/// Why figures of a spot are not given, or not as usual.
pub(crate) fn remarks(known: &[PortFigures]) -> Vec<String> {
    let spots = |wanted: &dyn Fn(&Estimate) -> bool| -> Option<String> {
        let of = |one: &&PortFigures| one.metering.as_ref().is_some_and(wanted);
        let names: Vec<String> = known
            .iter()
            .filter(of)
            .map(|one| one.spot.to_string())
            .collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let mut remarks = Vec::new();
    let near = |metering: &Estimate| is_near_zero(metering) && magnitude(metering).is_some();
    if let Some(spots) = spots(&near) {
        remarks.push(format!(
            "The metering pressure is not clear of 0 at {spots}: there a root has no slope. The uncertainty of the flow is that of the pressure's normal distribution through the root, and nothing is calculated through the air's density."
        ));
    }
    if let Some(spots) = spots(&|metering| magnitude(metering).is_none()) {
        remarks.push(format!(
            "The metering pressure is below 0 at {spots}, where a magnitude is expected: no flow is calculated there; correct the readings."
        ));
    }
    remarks.extend(super::impossible::remark(known));
    let mut needs: Vec<&str> = known
        .iter()
        .filter_map(|one| one.needs.as_deref())
        .collect();
    needs.sort_unstable();
    needs.dedup();
    remarks.extend(needs.into_iter().map(str::to_owned));
    remarks
}

/// Means and spreads over the cylinders, for each port, kind of runner and lift that at least two
/// cylinders have. Kinds of runner are never mixed.
pub(crate) fn by_lift(known: &[PortFigures], engine: &Engine) -> Vec<FlowAtLift> {
    let mut groups: BTreeMap<_, Vec<&PortFigures>> = BTreeMap::new();
    for one in known {
        groups
            .entry((&one.port, &one.runner, one.lift))
            .or_default()
            .push(one);
    }
    groups
        .into_iter()
        .filter_map(|((port, runner, lift), group)| {
            type Of = fn(&PortFigures) -> Option<&Estimate>;
            let all = |of: Of| -> (Vec<u32>, Vec<&Estimate>) {
                let found = group
                    .iter()
                    .filter_map(|one| Some((one.cylinder, of(one)?)));
                found.unzip()
            };
            let (flows, ratios) = (
                all(|one| one.flow_at_reference.as_ref()),
                all(|one| one.area_ratio.as_ref()),
            );
            let ((cylinders, values), unit) = match flows.0.len() >= 2 {
                true => (flows, engine.flow_unit()),
                false => (ratios, Unit::One),
            };
            let mean = Estimate::mean(values.iter().copied())?;
            let apart = spread(values.iter().copied())?;
            Some(FlowAtLift {
                port: port.clone(),
                runner: runner.clone(),
                lift: asked(lift.mm(), engine.units.length()),
                cylinders,
                mean: mean.figure(unit),
                spread: apart.figure(unit),
            })
        })
        .collect()
}
