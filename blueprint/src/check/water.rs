//! Checks by water: what a weight of it fills, what a volume of it weighs, how a column of it
//! presses (`docs/formulas.md`, sections 7 and 8).

use crate::figure::{Estimate, Scalar};
use crate::formula::air::moist_air;
use crate::formula::liquid::{water_density, z_factor};
use crate::formula::manometer::{STANDARD_GRAVITY, column};

/// Density of the air where it is not stated, kg/m³, and its standard uncertainty: it lies between
/// 1.1 and 1.25 in most shops.
const AIR: (f64, f64) = (1.18, 0.05);

/// Standard uncertainty of gravity where it is not stated, m/s²: on the earth it lies between 9.78
/// and 9.83 (`docs/formulas.md`, 8.4), a rectangular distribution.
const GRAVITY_U: f64 = 0.025 / 1.732_050_807_568_877_2;

/// The water of a check and the air about it.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckWater {
    /// Temperature in °C, 0 to 40, with its standard uncertainty.
    pub temperature: (f64, Option<f64>),
    /// Cubic expansion of the glass that is checked, per K; 0 where it is no glass or not known.
    pub glass: f64,
    /// Pressure (Pa), temperature (°C) and relative humidity (0 to 1) of the air; `None` where not
    /// stated.
    pub air: Option<(f64, f64, f64)>,
    /// Acceleration of gravity, m/s²; `None` where not stated.
    pub gravity: Option<f64>,
}

impl CheckWater {
    fn t(&self) -> Estimate {
        let (t, u) = self.temperature;
        Estimate::input("water temperature", t, u, f64::INFINITY)
    }

    fn air(&self) -> Estimate {
        match self.air {
            Some((pressure, t, humidity)) => {
                Estimate::exact(moist_air(&pressure, &t, &humidity).density)
            }
            None => Estimate::input("density of the air", AIR.0, Some(AIR.1), f64::INFINITY),
        }
    }

    /// What the glass has grown by since 20 °C, as a factor.
    fn grown(&self) -> Estimate {
        self.t().offset(-20.0).scale(self.glass).offset(1.0)
    }
}

/// Volume at 20 °C of the glass that delivered one gram of balance indication, cc.
///
/// Source: ISO 4787, equation 1, which has 1 − γ·(t − 20); the reciprocal of 1 + γ·(t − 20), used
/// here as everywhere in the project, agrees with it to 1e-8.
pub fn volume_per_gram(water: &CheckWater) -> Estimate {
    z_factor(&water_density(&water.t()), &water.air()) / water.grown()
}

/// What a balance should show for one cc of a glass measure that is right at 20 °C, g.
pub fn weight_per_volume(water: &CheckWater) -> Estimate {
    Estimate::exact(1.0) / volume_per_gram(water)
}

/// Pressure difference of a water column per mm of its height, Pa.
pub fn column_pressure(water: &CheckWater) -> Estimate {
    let gravity = match water.gravity {
        Some(gravity) => Estimate::exact(gravity),
        None => Estimate::input("gravity", STANDARD_GRAVITY, Some(GRAVITY_U), f64::INFINITY),
    };
    let density = water_density(&water.t());
    column(&Estimate::exact(1.0), &density, &water.air(), &gravity)
}
