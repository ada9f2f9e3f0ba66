//! Liquid columns and local gravity (`docs/formulas.md`, section 8).

use crate::figure::Scalar;

/// Conventional acceleration of gravity, m/s².
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// Head of an inclined tube in mm, from the reading along the tube in mm, its angle from the
/// HORIZONTAL in degrees, and the area of the tube over that of its well (0: no well, or built
/// into the scale). A U-tube stands at 90 degrees, its reading being the difference of its legs.
pub fn head<S: Scalar>(reading: &S, angle: &S, area_ratio: &S) -> S {
    reading.clone() * (angle.scale(std::f64::consts::PI / 180.0).sin() + area_ratio)
}

/// Pressure difference of a column in Pa, from its head in mm, the densities of the liquid and of
/// the air above it in kg/m³, and gravity in m/s².
pub fn column<S: Scalar>(head: &S, liquid: &S, air: &S, gravity: &S) -> S {
    (liquid.clone() - air) * gravity * head.scale(1e-3)
}

/// What the reading of a water manometer with a conventional scale is multiplied by, from the
/// densities of its water and of the air, and gravity.
pub fn conventional_factor<S: Scalar>(water: &S, air: &S, gravity: &S) -> S {
    ((water.clone() - air) * gravity).scale(1.0 / (1000.0 * STANDARD_GRAVITY))
}

/// Normal gravity in m/s² at a latitude in degrees and a height in m above the ellipsoid.
///
/// Source: GRS80, Moritz, Bulletin Géodésique 54 (1980): Somigliana's formula and a second-order
/// term for the height. The true one differs by up to 5e-5.
pub fn normal_gravity(latitude: f64, height: f64) -> f64 {
    const MAJOR: f64 = 6_378_137.0;
    const FLATTENING: f64 = 0.003_352_810_681_18;
    const M: f64 = 0.003_449_786_003_08;
    let square = latitude.to_radians().sin().powi(2);
    let sea = 9.780_326_771_5 * (1.0 + 0.001_931_851_353 * square)
        / (1.0 - 0.006_694_380_022_90 * square).sqrt();
    let linear = 2.0 / MAJOR * (1.0 + FLATTENING + M - 2.0 * FLATTENING * square) * height;
    sea * (1.0 - linear + 3.0 * (height / MAJOR).powi(2))
}

/// Gravity in m/s² by the formula of OIML R 76 (from memory), within 1.1e-6 of
/// [`normal_gravity`].
pub fn oiml_gravity(latitude: f64, height: f64) -> f64 {
    let phi = latitude.to_radians();
    let (one, two) = (phi.sin().powi(2), (2.0 * phi).sin().powi(2));
    9.780_318 * (1.0 + 0.005_302_4 * one - 0.000_005_8 * two) - 3.085e-6 * height
}
