//! Checks of a flow bench: its metering orifice by a plate of known flow, and its leakage.
//!
//! Source: `docs/formulas.md`, section 10: mass balance (items 3 and 7), Q ∝ √Δp (item 1), and the
//! leakage law Q = C·Δpⁿ with n between 0.5 and 1 (ISO 9972 / ASTM E779 form, from memory).

use crate::engine::OrificeKnown;
use crate::figure::{Estimate, Scalar};
use crate::formula::volume::circle;
use crate::units::Unit;

/// Density at which an orifice that is known by its diameter is taken to work where the room's air
/// is not known, kg/m³: dry air at 20 °C and 101 325 Pa (CIPM-2007).
pub const AIR_AT_ORIFICE: f64 = 1.204_557;

/// The middle of the exponents that a leak can have, and their standard deviation as a rectangular
/// distribution from 0.5 to 1.
const EXPONENT: (f64, f64) = (0.75, 0.25 / 1.732_050_807_568_877_2);

/// Flow of a calibration plate at this test pressure, from its flow at the pressure at which it
/// was calibrated, with the same air before it: Q·√(Δp/Δp₀). Any units, the same for both
/// pressures.
pub fn plate_flow(stated: &Estimate, stated_at: &Estimate, test: &Estimate) -> Estimate {
    stated * (test / stated_at).sqrt()
}

/// Flow through the metering orifice when `plate` passes the plate: the same plus the leak.
pub fn worked_back(plate: &Estimate, leak: Option<&Estimate>) -> Estimate {
    match leak {
        Some(leak) => plate + leak,
        None => plate.clone(),
    }
}

/// Flow of a metering orifice, L/min, at a metering pressure in Pa, as if all air were alike: what
/// the bench says by what is known of it.
pub fn orifice_flow(known: &OrificeKnown, metering: f64) -> f64 {
    match known {
        OrificeKnown::Calibrated { flow, at, .. } => flow.value * (metering / at.value).sqrt(),
        OrificeKnown::Diameter { diameter, cd } => {
            let area = cd.value * circle(&diameter.value) * 1e-6;
            area * (2.0 * metering / AIR_AT_ORIFICE).sqrt() * Unit::CubicMetrePerSecond.factor()
        }
    }
}

/// A leak that was measured with the port sealed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredLeak {
    /// Flow, any unit.
    pub flow: f64,
    /// Standard uncertainty.
    pub u: Option<f64>,
    /// The test pressure at which it was measured, any unit.
    pub at: f64,
}

/// The leak at another test pressure (in the unit of `at`), with its standard uncertainty.
/// At the pressure where it was measured nothing is added for the exponent that is not known.
pub fn leak_at(known: &MeasuredLeak, test: f64) -> (f64, Option<f64>) {
    let ratio = test / known.at;
    if !(ratio > 0.0 && ratio.is_finite()) {
        return (known.flow, None);
    }
    let factor = ratio.powf(EXPONENT.0);
    let of_law = known.flow * factor * ratio.ln() * EXPONENT.1;
    let u = known.u.map(|u| (u * factor).hypot(of_law));
    (known.flow * factor, u)
}
