//! Each port in the running engine: mean flow coefficient, port velocity and inlet Mach index at
//! the speed that the engine file states.
//!
//! One entry for each port and kind of runner; kinds are never mixed. Valve timing does not enter.
//! The coefficient is the plain mean over the measured lifts. The velocity is that of air that
//! keeps up with the piston. Sources: `docs/formulas.md`, section 10.13 to 10.15.

use std::collections::BTreeMap;

use crate::engine::{Engine, LengthUnits};
use crate::engine_figures::{CylinderFigures, FlowCoefficient, PortArea, PortFigures};
use crate::figure::{Estimate, Figure, Scalar};
use crate::formula::air::{GAMMA, GAS_CONSTANT, ZERO_CELSIUS};
use crate::formula::crank::{Crank, mean_piston_speed};
use crate::formula::flow::{FlowDirection, mach_index, port_velocity};
use crate::report::document::{RunningPort, RunningVelocity};
use crate::units::Unit;

/// One entry for each port of each cylinder and kind of runner.
pub(crate) fn running(
    flow: &[PortFigures],
    built: &[CylinderFigures],
    engine: &Engine,
) -> Vec<RunningPort> {
    let mut groups: BTreeMap<_, Vec<&PortFigures>> = BTreeMap::new();
    for one in flow {
        let kind = (one.cylinder, one.port.as_str(), one.runner.as_deref());
        groups.entry(kind).or_default().push(one);
    }
    groups
        .into_values()
        .filter_map(|lifts| {
            let number = lifts.first()?.cylinder;
            let cylinder = built.iter().find(|one| one.number == number)?;
            Of {
                engine,
                cylinder,
                lifts,
            }
            .entry()
        })
        .collect()
}

/// One port with the lifts at which its flow was measured.
struct Of<'a> {
    engine: &'a Engine,
    cylinder: &'a CylinderFigures,
    lifts: Vec<&'a PortFigures>,
}

impl Of<'_> {
    /// `None` where there is nothing to say.
    fn entry(&self) -> Option<RunningPort> {
        let first = self.lifts.first()?;
        let coefficient = self.mean_coefficient();
        let velocity = self.velocity();
        let mach = match (&coefficient, first.direction) {
            (Some(mean), FlowDirection::In) => self.mach_index(mean),
            _ => None,
        };
        if coefficient.is_none() && velocity.is_none() {
            return None;
        }
        Some(RunningPort {
            cylinder: first.cylinder,
            port: first.port.clone(),
            runner: first.runner.clone(),
            lifts: self.with(PortArea::ValveHead).count(),
            mean_coefficient: coefficient.map(|mean| mean.figure(Unit::One)),
            speed: self
                .engine
                .speed
                .map(|speed| Figure::bare(speed.value, Unit::Rpm)),
            velocity,
            mach_index: mach.map(|index| index.figure(Unit::One)),
            air_temperature: self.air().map(|t| t.figure(Unit::Celsius)),
        })
    }

    /// The coefficients by one area, one for each lift that has it. An impossible flow is left out.
    fn with(&self, area: PortArea) -> impl Iterator<Item = &FlowCoefficient> {
        let of = move |one: &&FlowCoefficient| one.by_area == area;
        self.lifts
            .iter()
            .filter(|one| one.impossible_coefficient().is_none())
            .filter_map(move |one| one.coefficients.iter().find(of))
    }

    /// The plain mean over the lifts, by the area of the valve's head. `None` for a single lift.
    fn mean_coefficient(&self) -> Option<Estimate> {
        let each: Vec<Estimate> = self
            .with(PortArea::ValveHead)
            .map(|one| one.coefficient.clone())
            .collect();
        (each.len() >= 2).then(|| Estimate::mean(&each))?
    }

    fn mean_speed(&self) -> Option<Estimate> {
        Some(mean_piston_speed(
            self.cylinder.stroke.as_ref()?,
            &self.speed()?,
        ))
    }

    /// The speed that was asked about: it is chosen, not measured, unless its uncertainty is given.
    fn speed(&self) -> Option<Estimate> {
        let speed = self.engine.speed?;
        Some(match speed.u {
            Some(_) => speed.estimate("engine speed"),
            None => Estimate::exact(speed.value),
        })
    }

    /// Mean and largest velocity in the throat.
    fn velocity(&self) -> Option<RunningVelocity> {
        let area = &self.with(PortArea::ThroatLessStem).next()?.area;
        let mean = port_velocity(self.cylinder.bore.as_ref()?, area, &self.mean_speed()?);
        let unit = match self.engine.units {
            LengthUnits::Inch => Unit::FootPerSecond,
            LengthUnits::Metric => Unit::MetrePerSecond,
        };
        // The largest piston speed over the mean follows from rod and stroke alone, and so weakly
        // that their errors do not show beside those of the areas.
        let stroke = self.cylinder.stroke.as_ref()?.value();
        let largest = self.cylinder.rod.as_ref().map(|rod| {
            let crank = Crank {
                radius: 0.5 * stroke,
                rod: rod.value(),
                offset: 0.0,
            };
            let rpm = 1000.0;
            let over_mean = crank.largest_speed(rpm) / mean_piston_speed(&stroke, &rpm);
            mean.scale(over_mean)
        });
        Some(RunningVelocity {
            by_area: PortArea::ThroatLessStem,
            mean: mean.figure(unit),
            largest: largest.map(|largest| largest.figure(unit)),
        })
    }

    /// Temperature of the air, of the first lift that knows it, °C.
    fn air(&self) -> Option<Estimate> {
        self.lifts
            .iter()
            .find_map(|one| one.air_temperature.clone())
    }

    fn mach_index(&self, mean: &Estimate) -> Option<Estimate> {
        let kelvin = self.air()?.offset(ZERO_CELSIUS);
        let sound = kelvin.scale(GAMMA * GAS_CONSTANT).sqrt();
        // One valve with the area of all.
        let area = &self.with(PortArea::ValveHead).next()?.area;
        let valve = area.scale(4.0 / std::f64::consts::PI).sqrt();
        let speed = self.mean_speed()?;
        Some(mach_index(
            self.cylinder.bore.as_ref()?,
            &valve,
            1,
            &speed,
            mean,
            &sound,
        ))
    }
}
