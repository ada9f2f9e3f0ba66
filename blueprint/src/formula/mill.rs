//! The volume that a cut removes from a chamber (`docs/formulas.md`, section 2).

use crate::figure::{Estimate, Scalar};

/// Volume removed by a flat cut, cc, from the area of the chamber's opening in mm² and the depth
/// in mm. Exact while the outline does not change with depth.
pub fn flat<S: Scalar>(area: &S, depth: &S) -> S {
    (area.clone() * depth).scale(1e-3)
}

/// Depth of an angled cut at the centroid of the opening, mm: from the depth at the pivot line,
/// the angle in degrees, and the distance of the centroid from the pivot line in mm, positive
/// toward the deep side.
pub fn depth_at_centroid<S: Scalar>(at_pivot: &S, angle_degrees: f64, centroid: &S) -> S {
    at_pivot.clone() + centroid.scale(angle_degrees.to_radians().tan())
}

/// Depth of an angled cut at this distance (mm) from the pivot line, mm, where the angle (degrees)
/// has an uncertainty of its own.
pub fn depth_at(at_pivot: &Estimate, angle: &Estimate, distance: &Estimate) -> Estimate {
    let radians = angle.value().to_radians();
    let per_degree = 1f64.to_radians() / radians.cos().powi(2);
    at_pivot.clone() + angle.map(radians.tan(), per_degree) * distance
}

/// Volume removed by an angled cut, cc: area times the depth at the centroid (truncated prism).
pub fn angled<S: Scalar>(area: &S, at_pivot: &S, angle_degrees: f64, centroid: &S) -> S {
    flat(area, &depth_at_centroid(at_pivot, angle_degrees, centroid))
}
