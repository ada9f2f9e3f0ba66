//! Bores measured at several heights and in two directions (`docs/formulas.md`, sections 1 and 12).
//!
//! The trade's out-of-round and taper are differences of diameters; the standard's roundness
//! deviation (ISO 12181, from memory) is radial, half of it for a pure oval.

use crate::figure::{Estimate, Scalar};

/// The two diameters of a bore at one height, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Level<S> {
    /// Along the pin (along the engine).
    pub along: S,
    /// Across it, in the thrust direction.
    pub across: S,
}

/// What the trade and the standard say of a bore's form. All in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Form<S> {
    /// The diameter that has the bore's mean area: the root mean square.
    pub diameter: S,
    /// Largest difference of the two diameters at one height.
    pub out_of_round: S,
    /// Roundness deviation of the standard if the bore is a pure oval: half of the above.
    pub roundness: S,
    /// Largest difference of the mean diameters of two heights.
    pub taper: S,
    /// Largest difference of the diameters of two heights in one direction.
    pub taper_worst: S,
}

/// The form of a bore from its levels, top first. `None` of none.
pub fn form<S: Scalar>(levels: &[Level<S>]) -> Option<Form<S>> {
    let diameters = levels
        .iter()
        .flat_map(|level| [&level.along, &level.across]);
    let squares = diameters.map(Scalar::square).reduce(|sum, one| sum + one)?;
    let diameter = squares.scale(1.0 / (2.0 * levels.len() as f64)).sqrt();
    let mean = |level: &Level<S>| (level.along.clone() + level.across.clone()).scale(0.5);
    let out_of_round = levels
        .iter()
        .map(|level| absolute(level.along.clone() - level.across.clone()))
        .reduce(larger)?;
    let taper = range(levels.iter().map(mean))?;
    let along = range(levels.iter().map(|level| level.along.clone()))?;
    let across = range(levels.iter().map(|level| level.across.clone()))?;
    Some(Form {
        diameter,
        roundness: out_of_round.scale(0.5),
        out_of_round,
        taper,
        taper_worst: larger(along, across),
    })
}

fn absolute<S: Scalar>(value: S) -> S {
    if value.value() < 0.0 { -value } else { value }
}

fn larger<S: Scalar>(a: S, b: S) -> S {
    if b.value() > a.value() { b } else { a }
}

/// Largest minus smallest.
fn range<S: Scalar>(values: impl Iterator<Item = S> + Clone) -> Option<S> {
    let most = values.clone().reduce(larger)?;
    let least = values.reduce(|a, b| if b.value() < a.value() { b } else { a })?;
    Some(most - least)
}

/// Piston-to-bore clearance on the diameter, mm, from the bore where it is smallest and the
/// skirt's diameter; negative if the piston is larger.
pub fn piston_clearance(levels: &[Level<Estimate>], skirt: &Estimate) -> Option<Estimate> {
    let smaller = |a: Estimate, b: Estimate| if b.value() < a.value() { b } else { a };
    let least = levels
        .iter()
        .map(|level| level.across.clone())
        .reduce(smaller)?;
    Some(least - skirt.clone())
}
