//! A measured valve-to-piston distance after head and piston have come closer.
//!
//! Source: `docs/formulas.md`, section 6. The formula holds where the pocket's floor is parallel to
//! the valve's face. Lash, rods and rockers are not taken into account.

use serde::{Deserialize, Serialize};

use crate::figure::{Estimate, Figure, Scalar};
use crate::formula::crank::valve_gap_after_cut;
use crate::spot::SpotName;
use crate::units::Unit;

/// A valve-to-piston distance before and after a change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GapAfter {
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: SpotName,
    /// The least that was measured.
    pub before: Figure,
    /// The same after the change.
    pub after: Figure,
}

/// A distance (in the unit of its figure) once head and piston have come closer by `closer` (mm
/// along the bore; negative: further apart), the valve standing at `inclination` (degrees) to the
/// bore. The result lacks whatever one of the three lacks.
pub fn gap_after(gap: &Figure, closer: &Estimate, inclination: &Estimate) -> Figure {
    let unit = gap.unit;
    let degrees = inclination.value();
    let before = unit.difference_to_base(gap.value);
    let after = valve_gap_after_cut(&before, &closer.value(), degrees);
    let (sin, cos) = degrees.to_radians().sin_cos();
    let of_closer = closer
        .scale(unit.difference_from_base(cos))
        .figure(Unit::One);
    let of_angle = unit.difference_from_base(closer.value() * sin * 1f64.to_radians());
    // An angle whose slope is 0 need not be known.
    let of_angle = match of_angle == 0.0 {
        true => Figure::new(0.0, Some(0.0), Unit::One),
        false => inclination.scale(of_angle).figure(Unit::One),
    };
    let all = [gap, &of_closer, &of_angle];
    let together = |of: &dyn Fn(&Figure) -> Option<f64>| {
        let squares: Option<Vec<f64>> = all.iter().map(|one| Some(of(one)?.powi(2))).collect();
        squares.map(|squares| squares.iter().sum::<f64>().sqrt())
    };
    let u = together(&|one| one.u);
    let known = || together(&|one| Some(one.u.or(one.u_known).unwrap_or(0.0)));
    let assumed = || together(&Figure::expanded_assumed);
    let is_lacking = u.is_none();
    let mut lacking: Vec<String> = all.iter().flat_map(|one| one.lacking.clone()).collect();
    lacking.dedup();
    Figure {
        u_known: is_lacking.then(known).flatten(),
        assumed: is_lacking.then(assumed).flatten(),
        lacking,
        dof: gap.dof,
        ..Figure::new(unit.difference_from_base(after), u, unit)
    }
}
