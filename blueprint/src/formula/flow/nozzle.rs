//! Frictionless flow: incompressible, isentropic, and from one test pressure to another.
//!
//! Sources: Bernoulli; Heywood 1988, eqs. 6.10 and 6.11, appendix C.8 and C.9 (from memory).

use crate::figure::Scalar;
use crate::formula::air::{GAMMA, GAS_CONSTANT};

/// The pressure ratio below which flow is choked: (2/(γ+1))^(γ/(γ−1)).
pub const CRITICAL_RATIO: f64 = 0.528_281_787_717_174_2;

/// Mass flow through an effective area, kg/s, as if air were incompressible: CdA·√(2ρΔp).
pub fn incompressible_mass_flow<S: Scalar>(area: &S, density: &S, drop: &S) -> S {
    area.scale(1e-6) * (density.clone() * drop).scale(2.0).sqrt()
}

/// The isentropic flow function √(2γ/(γ−1)·(r^(2/γ) − r^((γ+1)/γ))), choked below the critical
/// ratio.
fn flow_function<S: Scalar>(ratio: &S) -> S {
    let ratio = if ratio.value() < CRITICAL_RATIO {
        S::exact(CRITICAL_RATIO)
    } else {
        ratio.clone()
    };
    let gap = ratio.powf(2.0 / GAMMA) - ratio.powf((GAMMA + 1.0) / GAMMA);
    gap.scale(2.0 * GAMMA / (GAMMA - 1.0)).sqrt()
}

/// Mass flow through an effective area, kg/s, isentropic: from the pressure (Pa) and temperature
/// (K) at rest before it and the drop to the pressure behind it.
pub fn isentropic_mass_flow<S: Scalar>(area: &S, pressure: &S, kelvin: &S, drop: &S) -> S {
    let ratio = (pressure.clone() - drop) / pressure;
    let speed = kelvin.scale(GAS_CONSTANT).sqrt();
    area.scale(1e-6) * pressure / speed * flow_function(&ratio)
}

/// ψ: isentropic over incompressible mass flow at this drop from this pressure.
pub fn compressible_factor<S: Scalar>(pressure: &S, drop: &S) -> S {
    let ratio = (pressure.clone() - drop) / pressure;
    flow_function(&ratio) / (drop.clone() / pressure).scale(2.0).sqrt()
}

/// What a flow at one test pressure is multiplied by to stand at the reference, by the square root
/// alone, as the trade prints it.
pub fn reference_scale_by_root<S: Scalar>(test: &S, reference: &S) -> S {
    (reference.clone() / test).sqrt()
}

/// The same with compressibility: √(Δp_ref/Δp)·ψ(Δp_ref)/ψ(Δp).
pub fn reference_scale<S: Scalar>(pressure: &S, test: &S, reference: &S) -> S {
    reference_scale_by_root(test, reference) * compressible_factor(pressure, reference)
        / compressible_factor(pressure, test)
}

/// Velocity at a pitot tube, m/s: √(2Δp/ρ).
pub fn pitot_velocity<S: Scalar>(drop: &S, density: &S) -> S {
    (drop.clone() / density).scale(2.0).sqrt()
}

/// Velocity at a pitot tube with compressibility, m/s, from the difference of total and static
/// pressure, the static pressure and the density there.
pub fn pitot_velocity_compressible<S: Scalar>(drop: &S, pressure: &S, density: &S) -> S {
    let ratio = (drop.clone() / pressure).offset(1.0);
    let mach = ratio
        .powf((GAMMA - 1.0) / GAMMA)
        .offset(-1.0)
        .scale(2.0 / (GAMMA - 1.0))
        .sqrt();
    let sound = (pressure.clone() / density).scale(GAMMA).sqrt();
    mach * sound
}
