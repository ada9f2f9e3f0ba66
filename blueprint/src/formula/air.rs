//! Density of moist air and the speed of sound (`docs/formulas.md`, section 9).

use crate::figure::Scalar;

/// Ratio of specific heats of air.
pub const GAMMA: f64 = 1.4;

/// Specific gas constant of dry air, J/(kg·K), as used with [`GAMMA`] for isentropic flow.
pub const GAS_CONSTANT: f64 = 287.05;

/// Zero of the Celsius scale, K.
pub const ZERO_CELSIUS: f64 = 273.15;

/// Mole fraction of carbon dioxide that is assumed.
pub const CARBON_DIOXIDE: f64 = 0.0004;

/// Moist air at one state.
#[derive(Debug, Clone, PartialEq)]
pub struct MoistAir<S> {
    /// Density, kg/m³.
    pub density: S,
    /// Mole fraction of water vapour.
    pub vapour: S,
    /// Compressibility factor.
    pub compressibility: S,
}

/// Moist air from its pressure (Pa), temperature (°C) and relative humidity (0 to 1).
///
/// Range 600 to 1100 hPa and 15 to 27 °C, relative uncertainty of the equation 2.2e-5; outside it
/// is extrapolated (10 to 35 °C within 1e-4 of other equations).
///
/// Source: CIPM-2007, Picard et al., Metrologia 45 (2008) 149.
pub fn moist_air<S: Scalar>(pressure: &S, t: &S, humidity: &S) -> MoistAir<S> {
    const R: f64 = 8.314_472;
    const WATER: f64 = 18.015_28e-3;
    const AIR: f64 = (28.965_46 + 12.011 * (CARBON_DIOXIDE - 0.0004)) * 1e-3;
    let kelvin = t.offset(ZERO_CELSIUS);
    let saturation = (kelvin.square().scale(1.237_884_7e-5) - kelvin.scale(1.912_131_6e-2)
        + kelvin.recip().scale(-6.343_164_5e3))
    .offset(33.937_110_47)
    .exp();
    let enhancement = (pressure.scale(3.14e-8) + t.square().scale(5.6e-7)).offset(1.000_62);
    let vapour = humidity.clone() * enhancement * saturation / pressure;
    let ratio = pressure.clone() / kelvin;
    let first = (t.square().scale(1.1043e-10) - t.scale(2.9331e-8)).offset(1.581_23e-6)
        + t.scale(-2.051e-8).offset(5.707e-6) * &vapour
        + t.scale(-2.376e-6).offset(1.9898e-4) * vapour.square();
    let second = (-vapour.square().scale(0.765e-8)).offset(1.83e-11);
    let compressibility = (ratio.square() * second - ratio.clone() * first).offset(1.0);
    let lighter = (-vapour.scale(1.0 - WATER / AIR)).offset(1.0);
    let density = ratio.scale(AIR / R) / &compressibility * lighter;
    MoistAir {
        density,
        vapour,
        compressibility,
    }
}

/// Density of moist air by the simple formula, kg/m³; within 7e-4 of [`moist_air`] from 10 to
/// 35 °C.
///
/// Source: OIML R 111-1 E.3-1 (from memory).
pub fn simple_density<S: Scalar>(pressure: &S, t: &S, humidity: &S) -> S {
    let dry = pressure.scale(0.348_48 / 100.0);
    let moist = (humidity.clone() * t.scale(0.061).exp()).scale(0.9);
    (dry - moist) / t.offset(273.15)
}

/// Speed of sound in air, m/s, at a temperature in °C.
pub fn speed_of_sound<S: Scalar>(t: &S) -> S {
    t.offset(ZERO_CELSIUS).scale(GAMMA * GAS_CONSTANT).sqrt()
}

/// A state of air that a standard or a trade refers to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceAir {
    /// Name, with its source.
    pub name: &'static str,
    /// Pressure, Pa.
    pub pressure: f64,
    /// Temperature, °C.
    pub temperature: f64,
    /// Relative humidity, 0 to 1.
    pub humidity: f64,
}

impl ReferenceAir {
    /// Density by CIPM-2007, kg/m³.
    pub fn density(&self) -> f64 {
        moist_air(&self.pressure, &self.temperature, &self.humidity).density
    }
}

/// States of air that "standard" may mean; they differ by 6 % in density, so that a flow is stated
/// with its density.
pub const REFERENCE_AIR: [ReferenceAir; 8] = [
    ReferenceAir {
        name: "ISO 2533 sea level",
        pressure: 101_325.0,
        temperature: 15.0,
        humidity: 0.0,
    },
    ReferenceAir {
        name: "20 C dry",
        pressure: 101_325.0,
        temperature: 20.0,
        humidity: 0.0,
    },
    ReferenceAir {
        name: "20 C 50 % RH",
        pressure: 101_325.0,
        temperature: 20.0,
        humidity: 0.5,
    },
    ReferenceAir {
        name: "SAE J1349 (from memory): 25 C, 99.0 kPa dry",
        pressure: 99_000.0,
        temperature: 25.0,
        humidity: 0.0,
    },
    ReferenceAir {
        name: "ISO 1585 (from memory): 25 C, 100 kPa, 30 % RH",
        pressure: 100_000.0,
        temperature: 25.0,
        humidity: 0.3,
    },
    ReferenceAir {
        name: "60 F, 29.92 inHg dry (from memory)",
        pressure: 101_325.0,
        temperature: 140.0 / 9.0,
        humidity: 0.0,
    },
    ReferenceAir {
        name: "ISO 6358 (from memory): 20 C, 100 kPa, 65 % RH",
        pressure: 100_000.0,
        temperature: 20.0,
        humidity: 0.65,
    },
    ReferenceAir {
        name: "68 F, 14.696 psi, 36 % RH (from memory)",
        pressure: 101_325.0,
        temperature: 20.0,
        humidity: 0.36,
    },
];
