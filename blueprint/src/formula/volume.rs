//! Volumes of bores, gaskets, decks, crevices and crowns (`docs/formulas.md`, sections 1 and 3).

use std::f64::consts::PI;

use crate::figure::Scalar;

/// Volume of a disc, cc: π/4·d²·h, from a diameter and a height in mm. The height may be negative.
pub fn disc<S: Scalar>(diameter: &S, height: &S) -> S {
    (diameter.square() * height).scale(PI / 4.0 / 1000.0)
}

/// Area of a circle, mm², from its diameter in mm.
pub fn circle<S: Scalar>(diameter: &S) -> S {
    diameter.square().scale(PI / 4.0)
}

/// Volume of the gap above the top ring, cc: π/4·(B² − D²)·h, from bore, land diameter and height
/// of the land above the ring in mm.
pub fn crevice<S: Scalar>(bore: &S, land: &S, height: &S) -> S {
    ((bore.square() - land.square()) * height).scale(PI / 4.0 / 1000.0)
}

/// Crown volume measured down the bore, cc, dome positive: π/4·B²·h + crevice − fluid.
///
/// `depth` is that of the piston's flat below the deck in mm, at the place where the liquid was
/// poured; `crevice` is 0 where grease or the rings sealed it.
pub fn crown_in_bore<S: Scalar>(bore: &S, depth: &S, crevice: &S, fluid: &S) -> S {
    disc(bore, depth) + crevice - fluid
}
