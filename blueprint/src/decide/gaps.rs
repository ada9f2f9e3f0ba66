//! What becomes of a measured valve-to-piston distance where head and piston come closer.
//!
//! Source: `docs/formulas.md`, section 6. It holds where the pocket's floor is parallel to the
//! valve's face; what lash, rods and rockers take is not known here.

use serde::{Deserialize, Serialize};

use crate::figure::{Estimate, Figure};
use crate::formula::crank::valve_gap_after_cut;

/// A valve-to-piston distance before and after a change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GapAfter {
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: String,
    /// The least that was measured.
    pub before: Figure,
    /// The same after the change.
    pub after: Figure,
}

/// A distance (in the unit of its figure) once head and piston have come closer by `closer` (mm
/// along the bore; negative: further apart), the valve standing at `inclination` (degrees) to the
/// bore. Its uncertainty is unknown where one of the three is.
pub fn gap_after(gap: &Figure, closer: &Estimate, inclination: &Estimate) -> Figure {
    let unit = gap.unit;
    let degrees = inclination.value();
    let before = unit.difference_to_base(gap.value);
    let after = valve_gap_after_cut(&before, &closer.value(), degrees);
    let (sin, cos) = degrees.to_radians().sin_cos();
    let of_angle = closer.value() * sin * 1f64.to_radians();
    // An angle that does not enter need not be known.
    let of_angle = match of_angle == 0.0 {
        true => Some(0.0),
        false => inclination.u().map(|u| of_angle * u),
    };
    let u = gap.u.zip(closer.u()).zip(of_angle);
    let u = u.map(|((gap, closer), of_angle)| {
        let closer = unit.difference_from_base(closer) * cos;
        let of_angle = unit.difference_from_base(of_angle);
        (gap * gap + closer * closer + of_angle * of_angle).sqrt()
    });
    Figure {
        lacking: gap.lacking.clone(),
        dof: gap.dof,
        ..Figure::new(unit.difference_from_base(after), u, unit)
    }
}
