//! Air speed and Mach index of a port in the running engine.
//!
//! Sources: continuity; Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1,
//! chapter 6 (from memory): volumetric efficiency falls above an inlet Mach index of 0.5 to 0.6.

use crate::figure::Scalar;
use crate::formula::volume::circle;

/// Velocity in a port, m/s, from the bore in mm, the port's area in mm² and the piston's speed in
/// m/s (mean or largest; say which).
pub fn port_velocity<S: Scalar>(bore: &S, port_area: &S, piston_speed: &S) -> S {
    circle(bore) / port_area * piston_speed
}

/// Inlet Mach index from the bore and valve diameters in mm, the number of valves, the mean piston
/// speed and the speed of sound in m/s, and the MEAN flow coefficient over the lift curve by the
/// area of the valve's head.
pub fn mach_index<S: Scalar>(
    bore: &S,
    valve: &S,
    valves: u32,
    mean_speed: &S,
    mean_coefficient: &S,
    sound: &S,
) -> S {
    let areas = bore.square() / valve.square().scale(f64::from(valves));
    areas * mean_speed / (mean_coefficient.clone() * sound)
}

/// The mean of a coefficient over a lift curve by the trapezoidal rule, from pairs of crank angle
/// (degrees, rising) and coefficient there. `None` for fewer than two.
pub fn mean_flow_coefficient<S: Scalar>(curve: &[(f64, S)]) -> Option<S> {
    let (first, last) = (curve.first()?, curve.last()?);
    let span = last.0 - first.0;
    if curve.len() < 2 || span <= 0.0 {
        return None;
    }
    let areas = curve.windows(2).map(|pair| {
        let width = pair[1].0 - pair[0].0;
        (pair[0].1.clone() + pair[1].1.clone()).scale(0.5 * width / span)
    });
    areas.reduce(|sum, one| sum + one)
}
