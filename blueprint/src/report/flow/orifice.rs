//! The metering orifice as the engine file states it.

use super::near_zero::root;
use crate::check::AIR_AT_ORIFICE as AIR;
use crate::engine::{OrificeKnown, Stated};
use crate::figure::{Estimate, Scalar};
use crate::formula::flow::calibrated_area;
use crate::formula::volume::circle;
use crate::units::Unit;

/// The pressure of a calibration is where its flow is stated: what is not known of the plate is
/// stated with the flow.
fn calibration_pressure(name: &str, at: &Stated) -> Estimate {
    match at.u {
        Some(_) => at.estimate(&format!("orifice {name} metering pressure")),
        None => Estimate::exact(at.value),
    }
}

/// Flow through the metering orifice, L/min, as if all air were alike.
pub(super) fn simple_flow(name: &str, known: &OrificeKnown, metering: &Estimate) -> Estimate {
    match known {
        OrificeKnown::Calibrated { flow, at, .. } => {
            let flow = flow.estimate(&format!("orifice {name} flow"));
            flow * root(&(metering.clone() / calibration_pressure(name, at)))
        }
        OrificeKnown::Diameter { .. } => {
            let area = orifice_area(name, known).unwrap_or_else(|| Estimate::exact(0.0));
            let velocity = root(&metering.scale(2.0 / AIR));
            (area.scale(1e-6) * velocity).scale(Unit::CubicMetrePerSecond.factor())
        }
    }
}

/// The effective area of the metering orifice, mm²; `None` of a calibration without its air.
pub(super) fn orifice_area(name: &str, known: &OrificeKnown) -> Option<Estimate> {
    match known {
        OrificeKnown::Diameter { diameter, cd } => {
            let diameter = diameter.estimate(&format!("orifice {name} diameter"));
            let cd = cd.estimate(&format!("orifice {name} discharge coefficient"));
            Some(cd * circle(&diameter))
        }
        OrificeKnown::Calibrated { flow, at, air } => {
            let flow = flow.estimate(&format!("orifice {name} flow"));
            let air = match air.as_ref()? {
                known if known.u.is_some() => known.estimate(&format!("orifice {name} air")),
                known => Estimate::exact(known.value),
            };
            let flow = flow.scale(1.0 / Unit::CubicMetrePerSecond.factor());
            Some(calibrated_area(
                &flow,
                &air,
                &calibration_pressure(name, at),
            ))
        }
    }
}
