//! Areas of valves and coefficients by a named area.
//!
//! Source: Heywood 1988, section 6.3.2, eqs. 6.7 to 6.9 (from memory; its continuity and the
//! smallest frustum between the seat faces were checked numerically).

use std::f64::consts::PI;

use super::nozzle::isentropic_mass_flow;
use crate::figure::Scalar;
use crate::formula::volume::circle;

/// A valve and its seat. Lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValveSeat {
    /// Diameter of the valve's head, outside of the seat.
    pub head: f64,
    /// RADIAL width of the seat: outer minus inner radius, not the width along the cone.
    pub width: f64,
    /// Angle of the seat from the head's plane, degrees.
    pub angle: f64,
    /// Diameter of the port at the seat.
    pub port: f64,
    /// Diameter of the stem.
    pub stem: f64,
}

/// Curtain area π·D·L, mm².
pub fn curtain_area<S: Scalar>(head: &S, lift: &S) -> S {
    (head.clone() * lift).scale(PI)
}

/// Area of the throat less the stem, mm².
pub fn throat_area<S: Scalar>(throat: &S, stem: &S) -> S {
    circle(throat) - circle(stem)
}

/// The least geometric area at a lift in mm, mm², with the stage (1, 2 or 3) it stands in: the
/// seat's cone, the cone from seat to valve edge, or the port.
pub fn least_area(seat: &ValveSeat, lift: f64) -> (u8, f64) {
    let (sin, cos) = seat.angle.to_radians().sin_cos();
    let w = seat.width;
    let mean = seat.head - w;
    let port = PI / 4.0 * (seat.port.powi(2) - seat.stem.powi(2));
    if lift <= w / (sin * cos) {
        let inner = seat.head - 2.0 * w + 0.5 * lift * (2.0 * seat.angle.to_radians()).sin();
        return (1, PI * lift * cos * inner);
    }
    let raised = lift - w * sin / cos;
    let cone = PI * mean * (raised * raised + w * w).sqrt();
    if cone <= port { (2, cone) } else { (3, port) }
}

/// The lift at which the curtain equals the area of the throat less the stem, mm.
pub fn lift_where_curtain_equals_throat<S: Scalar>(head: &S, throat: &S, stem: &S) -> S {
    throat_area(throat, stem) / head.scale(PI)
}

/// Effective area, mm², of an opening that passes a mass flow isentropically.
pub fn effective_area<S: Scalar>(mass: &S, pressure: &S, kelvin: &S, drop: &S) -> S {
    mass.clone() / isentropic_mass_flow(&S::exact(1.0), pressure, kelvin, drop)
}

/// Discharge or flow coefficient: effective area over a named area. State the area with it: one
/// reading can be 0.56 by curtain, 0.71 by throat and 0.55 by valve head.
pub fn discharge_coefficient_by<S: Scalar>(effective: &S, named_area: &S) -> S {
    effective.clone() / named_area
}
