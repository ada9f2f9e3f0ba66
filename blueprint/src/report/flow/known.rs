//! What the flow readings say of each port at each lift.
//!
//! By the square root of the pressures alone, as the trade prints it, and through the whole chain
//! of densities, expansibility and compressibility where the room's air and the orifice are known.
//! Sources: `docs/formulas.md`, section 10.

use std::collections::BTreeMap;

use super::near_zero::{is_near_zero, magnitude, root};
use super::orifice::{orifice_area, simple_flow};
use super::uneven::to_one_test;
use crate::engine::{Engine, OrificeKnown, Stated, assumed};
use crate::figure::{Dimension, Estimate, FlowPart, Identity, Owner, Scalar, Source, What, Whose};
use crate::formula::flow::{
    Before, Chain, Read, ValveSeat, Way, chain, curtain_area, discharge_coefficient_by, least_area,
    throat_area,
};
use crate::formula::volume::circle;
use crate::known::{Coefficient, FlowKnown};
use crate::readings::{Direction, FlowParts, Measured, Reading, Value};
use crate::report::errors::measured_estimate;
use crate::report::pool::{Gauges, unrepeated, unrepeated_width};
use crate::report::surroundings;
use crate::spot::{PortQuantity, Spot};
use crate::stats::Pooled;
use crate::units::{Kind, Unit};

/// What is known at each flow spot.
pub(crate) fn section(
    spots: &BTreeMap<&Spot, Vec<&Reading>>,
    engine: &Engine,
    diameters: &BTreeMap<&Spot, Estimate>,
) -> Vec<FlowKnown> {
    spots
        .iter()
        .filter_map(|(spot, readings)| Bench { engine, diameters }.known(spot, readings))
        .collect()
}

/// The areas by which what a port meets in the running engine is reckoned.
pub(super) const VALVE_HEAD: &str = "valve head";
pub(super) const THROAT: &str = "throat less stem";

struct Bench<'a> {
    engine: &'a Engine,
    /// Measured valves and throats.
    diameters: &'a BTreeMap<&'a Spot, Estimate>,
}

/// The means of the parts of a spot's readings, base units.
struct Means {
    test: Option<Estimate>,
    metering: Option<Estimate>,
    flow: Option<Estimate>,
    leak: Option<Estimate>,
    lift: Option<Estimate>,
    temperature: Option<Estimate>,
}

impl Bench<'_> {
    fn known(&self, spot: &Spot, readings: &[&Reading]) -> Option<FlowKnown> {
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
        let gauges = &self.engine.gauges;
        let one_test = to_one_test(spot, &parts, gauges);
        let scaled = |part: FlowPart, of: PartOf<'_>, power: f64| {
            let factors = one_test.as_ref().map(|(_, factors)| factors.as_slice());
            let factor = |at: usize| Some(factors?.get(at)?.as_ref()?.powf(power));
            mean_of((spot, part), &parts, of, &factor, gauges)
        };
        let mean =
            |part: FlowPart, of: PartOf<'_>| mean_of((spot, part), &parts, of, &|_| None, gauges);
        let means = Means {
            test: match &one_test {
                Some((test, _)) => Some(test.clone()),
                None => mean(FlowPart::Test, &|parts| parts.test.as_ref()),
            },
            metering: scaled(FlowPart::Metering, &|parts| parts.metering.as_ref(), 1.0),
            flow: scaled(FlowPart::Flow, &|parts| parts.flow.as_ref(), 0.5),
            leak: mean(FlowPart::Leak, &|parts| parts.leak.as_ref()),
            lift: mean(FlowPart::Lift, &|parts| parts.lift.as_ref()),
            temperature: mean(FlowPart::Temperature, &|parts| parts.temperature.as_ref()),
        };
        let outward = port.as_str().starts_with("exhaust");
        let by_name = if outward {
            Direction::Out
        } else {
            Direction::In
        };
        let direction = parts
            .iter()
            .find_map(|(_, parts)| parts.direction)
            .unwrap_or(by_name);
        let orifice = parts
            .iter()
            .find_map(|(_, parts)| parts.orifice.as_ref())
            .or(self.engine.flow.orifice.as_ref())
            .and_then(|name| {
                let orifice = self.engine.flow.orifices.get(name)?;
                let id = Identity::orifice(name, What::Value);
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
            (Some(flow), Some(leak)) => Some(flow - leak.clone()),
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
            (Some(reference), Some(test)) => Some(reference.clone() / test.clone()),
            _ => None,
        };
        let both = |a: &Option<Estimate>, b: &Option<Estimate>| Some((a.clone()?, b.clone()?));
        let chain = self.chain(readings, &means, orifice.as_ref(), direction);
        let real_lift = means.lift.clone().unwrap_or_else(|| {
            unsaid(
                Estimate::exact(lift.mm()),
                Dimension::Lift,
                Owner::Spot(spot.clone()),
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
        Some(FlowKnown {
            spot: spot.clone(),
            cylinder: *cylinder,
            port: port.to_string(),
            runner: runner.as_ref().map(ToString::to_string),
            lift: *lift,
            lift_measured: means.lift.clone(),
            outward: direction == Direction::Out,
            readings: parts.len(),
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

    /// The whole chain, where the room's air, the orifice's area and its place are known.
    fn chain(
        &self,
        readings: &[&Reading],
        means: &Means,
        orifice: Option<&(Identity, &OrificeKnown)>,
        direction: Direction,
    ) -> Option<Chain<Estimate>> {
        let room = surroundings::room(self.engine, readings)?;
        let (id, known) = orifice?;
        let area = orifice_area(id, known)?;
        let metering = means
            .metering
            .clone()
            .filter(|metering| !is_near_zero(metering))?;
        let test = means.test.clone().filter(|test| test.value() > 0.0)?;
        let to_seconds = 1.0 / Unit::CubicMetrePerSecond.factor();
        let leak = means.leak.clone().unwrap_or_else(|| Estimate::exact(0.0));
        let read = Read {
            test,
            metering,
            orifice_temperature: means
                .temperature
                .clone()
                .unwrap_or_else(|| room.temperature.clone()),
            leak: leak.scale(to_seconds),
        };
        let way = match direction {
            Direction::In => Way::IntoBench,
            Direction::Out => Way::OutOfBench,
        };
        let before: Before = self.engine.flow.orifice_before?;
        let chain = chain(&room, &read, &area, way, before);
        (chain.mass.value() > 0.0).then_some(chain)
    }

    /// Coefficients by each area that is known, named.
    fn coefficients(
        &self,
        cylinder: u32,
        port: &str,
        lift: &Estimate,
        effective: &Estimate,
    ) -> Vec<Coefficient> {
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
        let of_port = |dimension| Identity::dimension_of(dimension, Owner::Port(port.into()));
        let or_stated = |quantity, stated: Option<Stated>, what| {
            measured(quantity).or(stated.map(|one| one.estimate(of_port(what))))
        };
        let valve = or_stated(PortQuantity::Valve, stated.valve, Dimension::Valve);
        let throat = or_stated(PortQuantity::Throat, stated.throat, Dimension::Throat);
        let stem = stated
            .stem
            .map(|stem| stem.estimate(of_port(Dimension::Stem)));
        let count = f64::from(stated.valves.max(1));
        let mut all = Vec::new();
        let mut add = |name: &str, area: Estimate| {
            if area.value() > 0.0 {
                let area = area.scale(count);
                let coefficient = discharge_coefficient_by(effective, &area);
                all.push(Coefficient {
                    area_name: name.to_owned(),
                    area,
                    coefficient,
                });
            }
        };
        if let Some(valve) = &valve {
            add("curtain", curtain_area(valve, lift));
            add(VALVE_HEAD, circle(valve));
        }
        if let (Some(throat), Some(stem)) = (&throat, &stem) {
            add(THROAT, throat_area(throat, stem));
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
            // How it moves with the lift: the seat itself is taken as exact.
            let step = 1e-6 * seat.head;
            let slope = (least_area(&seat, lift.value() + step).1 - area) / step;
            add(
                "least geometric area",
                unsaid(
                    lift.map(area, slope),
                    Dimension::Seat,
                    Owner::Port(port.into()),
                ),
            );
        }
        all
    }
}

/// A value that also answers to something of which nothing is known.
fn unsaid(estimate: Estimate, dimension: Dimension, owner: Owner) -> Estimate {
    let id = Identity::dimension_of(dimension, owner);
    let width = assumed::dimension(&id, Kind::Length, estimate.value());
    estimate.with(Source::lacking(id, width), 1.0)
}

/// Takes one part of a flow reading.
type PartOf<'a> = &'a dyn Fn(&FlowParts) -> Option<&Measured>;

/// The mean of one part over the repeats, each times its `factor` where it has one, with the repeatability that its gauge declares and that
/// of the repeats themselves.
fn mean_of(
    (spot, part): (&Spot, FlowPart),
    parts: &[(&Reading, &FlowParts)],
    of: PartOf<'_>,
    factor: &dyn Fn(usize) -> Option<Estimate>,
    gauges: &Gauges,
) -> Option<Estimate> {
    let of_part = |what| Identity::new(Whose::FlowPart(spot.clone(), part), what);
    let found: Vec<(usize, &Reading, &Measured)> = parts
        .iter()
        .enumerate()
        .filter_map(|(at, (reading, parts))| Some((at, *reading, of(parts)?)))
        .collect();
    let each: Vec<Estimate> = found
        .iter()
        .map(|(at, reading, measured)| {
            let own = of_part(What::Value).from_fact(&reading.id);
            let read = measured_estimate(&own, measured, 1.0, &reading.zero, gauges);
            match factor(*at) {
                Some(factor) => read * factor,
                None => read,
            }
        })
        .collect();
    let (_, first, measured) = found.first()?;
    let of_first = |what| of_part(what).from_fact(&first.id);
    let whose = of_part(What::Value).whose;
    let mean = Estimate::mean(&each)?.merged(|id| id.whose == whose, of_first(What::Rounding));
    if found.iter().all(|(_, _, measured)| measured.u.is_some()) {
        return Some(mean);
    }
    let gauge = measured.gauge.as_ref().and_then(|name| gauges.get(name));
    let declared = gauge.and_then(|gauge| {
        let applies = measured.unit.kind() == gauge.kind.measures();
        gauge.repeatability.filter(|_| applies).map(|s| Pooled {
            s,
            dof: gauge.repeatability_dof,
        })
    });
    let values: Vec<f64> = each.iter().map(Scalar::value).collect();
    // What a gauge's entry declares is the same wherever the gauge was used.
    let shared = match (declared, &measured.gauge) {
        (Some(_), Some(gauge)) => Identity::gauge(gauge, What::Repeatability),
        _ => of_first(What::Repeats),
    };
    let pooled = match (declared, Pooled::of_sets([values.as_slice()])) {
        (Some(declared), Some(own)) => Some(declared.and(own)),
        (one, other) => one.or(other),
    };
    Some(match pooled {
        Some(Pooled { s, dof }) => {
            let u = s / (found.len() as f64).sqrt();
            mean.with(
                Source::pooled(of_first(What::Repeatability), u, dof, shared),
                1.0,
            )
        }
        None => mean.with(unrepeated(whose, unrepeated_width(measured, gauges)), 1.0),
    })
}
