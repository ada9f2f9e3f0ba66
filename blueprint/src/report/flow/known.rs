//! The figures of each port at each lift, from its flow readings.
//!
//! Two ways: by the square root of the pressures alone, as the trade prints it; and, where the
//! room's air and the orifice are known, with densities, expansibility and compressibility.
//! Sources: `docs/formulas.md`, section 10.

use std::collections::BTreeMap;

use super::near_zero::{magnitude, root};
use super::orifice::{orifice_area, simple_flow};
use super::parts::{Means, PartsOf, Scatters};
use super::through::{Through, air_through};
use crate::engine::{Engine, StatedValue, assumed};
use crate::engine_figures::{FlowCoefficient, PortArea, PortFigures};
use crate::figure::{
    DimensionOwner, EngineDimension, ErrorSource, Estimate, Scalar, SourceId, SourceKind,
};
use crate::formula::flow::{
    ValveSeat, curtain_area, discharge_coefficient_by, least_area, throat_area,
};
use crate::formula::volume::circle;
use crate::readings::{FlowDirection, FlowParts, Reading, ReadingValue};
use crate::report::surroundings;
use crate::spot::{FlowPart, PortQuantity, Spot};
use crate::units::{QuantityKind, Unit};

/// What is known at each flow spot.
pub(crate) fn section(
    spots: &BTreeMap<&Spot, Vec<&Reading>>,
    engine: &Engine,
    diameters: &BTreeMap<&Spot, Estimate>,
) -> Vec<PortFigures> {
    let scatter = Scatters::of(spots, &engine.gauges);
    let bench = Bench {
        engine,
        diameters,
        scatter: &scatter,
    };
    spots
        .iter()
        .filter_map(|(spot, readings)| bench.known(spot, readings))
        .collect()
}

struct Bench<'a> {
    engine: &'a Engine,
    /// Measured valves and throats.
    diameters: &'a BTreeMap<&'a Spot, Estimate>,
    /// How the parts of the readings repeat, over all lifts.
    scatter: &'a Scatters,
}

impl Bench<'_> {
    fn known(&self, spot: &Spot, readings: &[&Reading]) -> Option<PortFigures> {
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
                ReadingValue::Flow(parts) => Some((*reading, &**parts)),
                ReadingValue::One(_) => None,
            })
            .collect();
        let gauges = &self.engine.gauges;
        let parts_of = PartsOf::new(spot, &parts, gauges);
        let mean = |part: FlowPart| self.scatter.mean(&parts_of.read(part)?, gauges);
        let means = Means {
            test: mean(FlowPart::Test),
            metering: mean(FlowPart::Metering),
            flow: mean(FlowPart::Flow),
            leak: mean(FlowPart::Leak),
            lift: mean(FlowPart::Lift),
            temperature: mean(FlowPart::Temperature),
            plenum_temperature: mean(FlowPart::PlenumTemperature),
        };
        let direction = parts
            .iter()
            .find_map(|(_, parts)| parts.direction)
            .unwrap_or_else(|| FlowDirection::of_port(port));
        let orifice = parts
            .iter()
            .find_map(|(_, parts)| parts.orifice.as_ref())
            .or(self.engine.flow.orifice.as_ref())
            .and_then(|name| {
                let orifice = self.engine.flow.orifices.get(name)?;
                let id = SourceId::orifice(name, SourceKind::Value);
                let id = match &orifice.plate {
                    Some(plate) => id.from_fact(plate),
                    None => id,
                };
                Some((id, &orifice.known))
            });
        let through = means.flow.clone().or_else(|| {
            let (id, known) = orifice.as_ref()?;
            let metering = magnitude(means.metering.as_ref()?)?;
            Some(simple_flow(id, known, &metering))
        });
        let flow = match (through, &means.leak) {
            (Some(flow), Some(leak)) => Some(flow - leak),
            (flow, _) => flow,
        };
        // Test and metering pressure are magnitudes: without one there is no root.
        let test = means.test.clone().filter(|test| test.value() > 0.0);
        let metering = means.metering.as_ref().and_then(magnitude);
        let reference = self
            .engine
            .flow
            .reference
            .map(|stated| Estimate::exact(stated.value));
        let scale = match (&reference, &test) {
            (Some(reference), Some(test)) => Some(reference / test),
            _ => None,
        };
        let both = |a: &Option<Estimate>, b: &Option<Estimate>| Some((a.clone()?, b.clone()?));
        let area = orifice
            .as_ref()
            .and_then(|(id, known)| orifice_area(id, known));
        let room = surroundings::room(self.engine, readings);
        let Through { chain, needs } =
            air_through(&self.engine.flow, room, &means, area, direction);
        let real_lift = means.lift.clone().unwrap_or_else(|| {
            unsaid(
                Estimate::exact(lift.mm()),
                EngineDimension::Lift,
                DimensionOwner::Spot(spot.clone()),
            )
        });
        let compressible = match (&chain, &test, &reference) {
            (Some(chain), Some(test), Some(reference)) => Some(chain.at_reference(test, reference)),
            _ => None,
        };
        let air = self.engine.flow.reference_air;
        let in_air = match (&chain, &compressible, air) {
            (Some(chain), Some(flow), Some(air)) => {
                Some(chain.in_air(flow, &Estimate::exact(air.value)))
            }
            _ => None,
        };
        let per_minute = |flow: Estimate| flow.scale(Unit::CubicMetrePerSecond.factor());
        Some(PortFigures {
            spot: spot.clone(),
            cylinder: *cylinder,
            port: port.clone(),
            runner: runner.clone(),
            lift: *lift,
            lift_measured: means.lift.clone(),
            direction,
            readings: parts.len(),
            needs,
            area_ratio: both(&metering, &test).map(|(metering, test)| root(&(metering / test))),
            metering_at_reference: both(&scale, &metering)
                .map(|(scale, metering)| scale * metering),
            flow_at_reference: both(&scale, &flow).map(|(scale, flow)| scale.sqrt() * flow),
            coefficients: chain
                .as_ref()
                .map(|chain| self.coefficients(*cylinder, port.as_str(), &real_lift, &chain.area))
                .unwrap_or_default(),
            mass: chain.as_ref().map(|chain| chain.mass.clone()),
            density: chain.as_ref().map(|chain| chain.density.clone()),
            port_flow: chain.as_ref().map(|chain| per_minute(chain.volume.clone())),
            effective_area: chain.map(|chain| chain.area),
            air_temperature: surroundings::mean_of(
                readings,
                |said| said.air_temperature.as_ref(),
                self.engine.flow.air_temperature,
                "air temperature",
            ),
            flow_at_reference_compressible: compressible.map(per_minute),
            flow_in_reference_air: in_air.map(per_minute),
            test: means.test,
            metering: means.metering,
            flow,
        })
    }

    /// Coefficients by each area that is known, named.
    fn coefficients(
        &self,
        cylinder: u32,
        port: &str,
        lift: &Estimate,
        effective: &Estimate,
    ) -> Vec<FlowCoefficient> {
        let stated = self.engine.ports.get(port).cloned().unwrap_or_default();
        let measured = |quantity: PortQuantity| {
            self.diameters
                .iter()
                .find(|(spot, _)| {
                    matches!(spot, Spot::Port { quantity: found, cylinder: at, port: name }
                        if *found == quantity && *at == cylinder && name.as_str() == port)
                })
                .map(|(_, mean)| mean.clone())
        };
        let of_port =
            |dimension| SourceId::dimension_of(dimension, DimensionOwner::Port(port.into()));
        let or_stated = |quantity, stated: Option<StatedValue>, what| {
            measured(quantity).or(stated.map(|one| one.estimate(of_port(what))))
        };
        let valve = or_stated(PortQuantity::Valve, stated.valve, EngineDimension::Valve);
        let throat = or_stated(PortQuantity::Throat, stated.throat, EngineDimension::Throat);
        let stem = stated
            .stem
            .map(|stem| stem.estimate(of_port(EngineDimension::Stem)));
        let count = f64::from(stated.valves.max(1));
        let mut all = Vec::new();
        let mut add = |by_area: PortArea, area: Estimate| {
            if area.value() > 0.0 {
                let area = area.scale(count);
                let coefficient = discharge_coefficient_by(effective, &area);
                all.push(FlowCoefficient {
                    by_area,
                    area,
                    coefficient,
                });
            }
        };
        if let Some(valve) = &valve {
            add(PortArea::Curtain, curtain_area(valve, lift));
            add(PortArea::ValveHead, circle(valve));
        }
        if let (Some(throat), Some(stem)) = (&throat, &stem) {
            add(PortArea::ThroatLessStem, throat_area(throat, stem));
        }
        if let (Some(valve), Some(width), Some(angle), Some(throat), Some(stem)) =
            (&valve, stated.seat_width, stated.seat_angle, &throat, &stem)
        {
            let seat = ValveSeat {
                head: valve.value(),
                width: width.value,
                angle: angle.value,
                port: throat.value(),
                stem: stem.value(),
            };
            let (_, area) = least_area(&seat, lift.value());
            // Slope of the area against the lift. The seat is taken as exact.
            let step = 1e-6 * seat.head;
            let slope = (least_area(&seat, lift.value() + step).1 - area) / step;
            add(
                PortArea::LeastGeometric,
                unsaid(
                    lift.map(area, slope),
                    EngineDimension::Seat,
                    DimensionOwner::Port(port.into()),
                ),
            );
        }
        all
    }
}

/// Adds an error that is lacking, at the width that is assumed for the dimension.
fn unsaid(estimate: Estimate, dimension: EngineDimension, owner: DimensionOwner) -> Estimate {
    let id = SourceId::dimension_of(dimension, owner);
    let width = assumed::dimension(&id, QuantityKind::Length, estimate.value());
    estimate.with(ErrorSource::lacking(id, width), 1.0)
}
