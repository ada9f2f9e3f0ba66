//! The metering orifice as the engine file states it.

use super::near_zero::root;
use crate::check::AIR_AT_ORIFICE as AIR;
use crate::engine::{OrificeKnown, StatedValue};
use crate::figure::{Estimate, Scalar, SourceId, SourceKind};
use crate::formula::flow::calibrated_area;
use crate::formula::volume::circle;
use crate::units::Unit;

/// The pressure of a calibration is where its flow is stated: what is not known of the plate is
/// stated with the flow.
fn calibration_pressure(id: &SourceId, at: &StatedValue) -> Estimate {
    match at.u {
        Some(_) => at.estimate(id.but(SourceKind::Pressure)),
        None => Estimate::exact(at.value),
    }
}

/// Flow through the metering orifice, L/min, as if all air were alike.
pub(super) fn simple_flow(id: &SourceId, known: &OrificeKnown, metering: &Estimate) -> Estimate {
    match known {
        OrificeKnown::Calibrated { flow, at, .. } => {
            let flow = flow.estimate(id.but(SourceKind::Flow));
            flow * root(&(metering / calibration_pressure(id, at)))
        }
        OrificeKnown::Diameter { .. } => {
            let area = orifice_area(id, known).unwrap_or_else(|| Estimate::exact(0.0));
            let velocity = root(&metering.scale(2.0 / AIR));
            (area.scale(1e-6) * velocity).scale(Unit::CubicMetrePerSecond.factor())
        }
    }
}

/// The effective area of the metering orifice, mm²; `None` of a calibration without its air.
pub(super) fn orifice_area(id: &SourceId, known: &OrificeKnown) -> Option<Estimate> {
    match known {
        OrificeKnown::Diameter { diameter, cd } => {
            let diameter = diameter.estimate(id.but(SourceKind::Diameter));
            let cd = cd.estimate(id.but(SourceKind::DischargeCoefficient));
            Some(cd * circle(&diameter))
        }
        OrificeKnown::Calibrated { flow, at, air } => {
            let flow = flow.estimate(id.but(SourceKind::Flow));
            let air = match air.as_ref()? {
                known if known.u.is_some() => known.estimate(id.but(SourceKind::Air)),
                known => Estimate::exact(known.value),
            };
            let flow = flow.scale(1.0 / Unit::CubicMetrePerSecond.factor());
            let at = calibration_pressure(id, at);
            Some(calibrated_area(&flow, &air, &at))
        }
    }
}
