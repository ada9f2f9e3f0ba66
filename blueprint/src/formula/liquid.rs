//! Liquids: densities, burettes, and volumes by weighing (`docs/formulas.md`, section 7).

use crate::figure::Scalar;

/// Density of the steel weights that balances are adjusted with, kg/m³ (ISO 8655-6).
pub const WEIGHTS: f64 = 8000.0;

/// Cubic expansion of borosilicate glass 3.3, per K (ISO 4787 table, from memory).
pub const BOROSILICATE: f64 = 9.9e-6;

/// Cubic expansion of soda-lime glass, per K (ISO 4787 table, from memory).
pub const SODA_LIME: f64 = 27e-6;

/// Linear expansion of aluminium, per K (handbook value, from memory).
pub const ALUMINIUM: f64 = 23.1e-6;

/// Linear expansion of cast iron, per K (handbook value, from memory).
pub const CAST_IRON: f64 = 11e-6;

/// Volume of one drop that hangs from a burette's tip, cc (common practice, no source).
pub const DROP: f64 = 0.05;

/// Density of air-free water at 101 325 Pa, kg/m³, from its temperature in °C; 0 to 40 °C.
///
/// Source: Tanaka et al., Metrologia 38 (2001) 301, eq. 1.
pub fn water_density<S: Scalar>(t: &S) -> S {
    let lost = t.offset(-3.983_035).square() * t.offset(301.797) / t.offset(69.348_81);
    (-lost.scale(1.0 / 522_528.9))
        .offset(1.0)
        .scale(999.974_950)
}

/// Z: volume in cc of one gram of balance indication, from the densities of the liquid and of the
/// air in kg/m³; the balance being adjusted with steel weights.
///
/// Source: ISO 8655-6 (from memory).
pub fn z_factor<S: Scalar>(liquid: &S, air: &S) -> S {
    let buoyancy = (-air.scale(1.0 / WEIGHTS)).offset(1.0);
    (buoyancy / (liquid.clone() - air)).scale(1000.0)
}

/// Volume of liquid in cc, at its own temperature, from the indication of a balance in grams.
pub fn volume_by_weight<S: Scalar>(grams: &S, liquid: &S, air: &S) -> S {
    grams.clone() * z_factor(liquid, air)
}

/// Volume that left a glass burette in cc, from the difference of its levels: the glass is
/// adjusted at 20 °C and expands by `glass` per K.
pub fn left_burette<S: Scalar>(indicated: &S, glass: &S, t_burette: &S) -> S {
    indicated.clone() * (glass.clone() * t_burette.offset(-20.0)).offset(1.0)
}

/// Volume that the liquid takes at another temperature, from its densities here and there.
pub fn moved_volume<S: Scalar>(volume: &S, density_here: &S, density_there: &S) -> S {
    volume.clone() * density_here / density_there
}

/// Volume that a chamber has at 20 °C, from its volume at t °C and the linear expansion of its
/// metal per K.
pub fn at_20_degrees<S: Scalar>(volume: &S, linear: &S, t: &S) -> S {
    volume.clone() / (linear.scale(3.0) * t.offset(-20.0)).offset(1.0)
}

/// Volume in a tube of this bore (mm) over a height of one mm, cc: what 1 mm of parallax costs.
pub fn tube_volume_per_mm<S: Scalar>(bore: &S) -> S {
    super::volume::circle(bore).scale(1e-3)
}
