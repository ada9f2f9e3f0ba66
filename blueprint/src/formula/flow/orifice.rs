//! Orifice plates.
//!
//! ISO 5167-2:2003 holds for a plate in a pipe: D 50 to 1000 mm, d at least 12.5 mm, β 0.1 to
//! 0.75, Reynolds number at least 5000, p₂/p₁ at least 0.75. A bench's plate between two plenums is
//! outside of it: it needs its own calibration, with the expansibility for β → 0.

use crate::figure::Scalar;

/// Where the pressures are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PressureTaps {
    /// In the corners at the plate.
    Corner,
    /// One diameter before and half a diameter behind it.
    DAndHalfD,
    /// 25.4 mm before and behind it.
    Flange,
}

/// A plate in a pipe. Lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrificePlate {
    /// Diameter of the pipe.
    pub pipe: f64,
    /// Diameter of the hole.
    pub hole: f64,
    /// Where the pressures are taken.
    pub taps: PressureTaps,
}

impl OrificePlate {
    /// β: diameter of the hole over that of the pipe.
    pub fn beta(&self) -> f64 {
        self.hole / self.pipe
    }
}

/// The discharge coefficient of Reader-Harris and Gallagher at a Reynolds number of the pipe.
///
/// Source: ISO 5167-2:2003, 5.3.2.1 eq. 4 (from memory; checked against an independent program).
pub fn discharge_coefficient(plate: &OrificePlate, reynolds: f64) -> f64 {
    let beta = plate.beta();
    let (before, behind) = match plate.taps {
        PressureTaps::Corner => (0.0, 0.0),
        PressureTaps::DAndHalfD => (1.0, 0.47),
        PressureTaps::Flange => (25.4 / plate.pipe, 25.4 / plate.pipe),
    };
    let a = (19_000.0 * beta / reynolds).powf(0.8);
    let m = 2.0 * behind / (1.0 - beta);
    let fourth = beta.powi(4);
    let mut c = 0.5961 + 0.0261 * beta.powi(2) - 0.216 * beta.powi(8)
        + 0.000_521 * (1e6 * beta / reynolds).powf(0.7)
        + (0.0188 + 0.0063 * a) * beta.powf(3.5) * (1e6 / reynolds).powf(0.3)
        + (0.043 + 0.080 * (-10.0 * before).exp() - 0.123 * (-7.0 * before).exp())
            * (1.0 - 0.11 * a)
            * fourth
            / (1.0 - fourth)
        - 0.031 * (m - 0.8 * m.powf(1.1)) * beta.powf(1.3);
    if plate.pipe < 71.12 {
        c += 0.011 * (0.75 - beta) * (2.8 - plate.pipe / 25.4);
    }
    c
}

/// Expansibility of an orifice, ISO 5167-2:2003, 5.3.2.2; κ is the isentropic exponent.
pub fn expansibility<S: Scalar>(beta: f64, pressure: &S, drop: &S, kappa: f64) -> S {
    let ratio = (pressure.clone() - drop) / pressure;
    let lost = (-ratio.powf(1.0 / kappa)).offset(1.0);
    (-lost.scale(0.351 + 0.256 * beta.powi(4) + 0.93 * beta.powi(8))).offset(1.0)
}

/// Expansibility of an orifice by the older edition, ISO 5167-1:1991.
pub fn expansibility_1991<S: Scalar>(beta: f64, pressure: &S, drop: &S, kappa: f64) -> S {
    let share = drop.clone() / pressure;
    (-share.scale((0.41 + 0.35 * beta.powi(4)) / kappa)).offset(1.0)
}

/// Expansibility of a nozzle (isentropic), ISO 5167-3.
pub fn expansibility_nozzle<S: Scalar>(beta: f64, pressure: &S, drop: &S, kappa: f64) -> S {
    let ratio = (pressure.clone() - drop) / pressure;
    let fourth = beta.powi(4);
    let squeezed = ratio.powf(2.0 / kappa);
    let first = squeezed.scale(kappa / (kappa - 1.0));
    let second = squeezed
        .scale(-fourth)
        .offset(1.0)
        .recip()
        .scale(1.0 - fourth);
    let third = (-ratio.powf((kappa - 1.0) / kappa)).offset(1.0) / (-ratio).offset(1.0);
    (first * second * third).sqrt()
}

/// Flow through a plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateFlow {
    /// Mass flow, kg/s.
    pub mass: f64,
    /// Discharge coefficient.
    pub c: f64,
    /// Expansibility.
    pub expansibility: f64,
    /// Reynolds number of the pipe.
    pub reynolds: f64,
}

/// Mass flow through a plate in a pipe, ISO 5167-2:2003: from the pressure before it and the drop
/// (Pa), the density before it (kg/m³), the dynamic viscosity (Pa·s) and the isentropic exponent.
pub fn plate_mass_flow(
    plate: &OrificePlate,
    pressure: f64,
    drop: f64,
    density: f64,
    viscosity: f64,
    kappa: f64,
) -> PlateFlow {
    let beta = plate.beta();
    let expansibility = expansibility(beta, &pressure, &drop, kappa);
    let hole = std::f64::consts::PI / 4.0 * (plate.hole * 1e-3).powi(2);
    let ideal = expansibility * hole * (2.0 * drop * density).sqrt() / (1.0 - beta.powi(4)).sqrt();
    let reynolds_of =
        |mass: f64| 4.0 * mass / (std::f64::consts::PI * plate.pipe * 1e-3 * viscosity);
    // The coefficient hardly depends on the Reynolds number: each round gains two digits or more.
    let mut mass = 0.6 * ideal;
    for _ in 0..30 {
        mass = discharge_coefficient(plate, reynolds_of(mass)) * ideal;
    }
    let reynolds = reynolds_of(mass);
    PlateFlow {
        mass,
        c: discharge_coefficient(plate, reynolds),
        expansibility,
        reynolds,
    }
}

/// Leakage at another pressure, by Q = C·Δpⁿ with 0.5 ≤ n ≤ 1 (ISO 9972 form, from memory), from
/// the leakage measured at one pressure.
pub fn leak_law<S: Scalar>(leak: &S, measured_at: &S, at: &S, exponent: f64) -> S {
    leak.clone() * (at.clone() / measured_at).powf(exponent)
}
