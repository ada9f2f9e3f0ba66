//! Bores measured at several heights and in two directions (`docs/formulas.md`, sections 1 and 12).
//!
//! The trade's out-of-round and taper are differences of diameters; the standard's roundness
//! deviation (ISO 12181, from memory) is radial, half of it for a pure oval.

use crate::figure::Scalar;

/// The diameters of a bore at one height, mm; `None` in a direction that was not measured.
#[derive(Debug, Clone, PartialEq)]
pub struct BoreLevel<S> {
    /// Along the pin (along the engine).
    pub along: Option<S>,
    /// Across it, in the thrust direction.
    pub across: Option<S>,
}

/// What the trade and the standard say of a bore's form. All in mm; a dimension that was not
/// measured is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct BoreForm<S> {
    /// The diameter that has the bore's mean area: the root mean square of all diameters.
    pub diameter: S,
    /// Largest difference of the two diameters at one height, where both were measured.
    pub out_of_round: Option<S>,
    /// Roundness deviation of the standard if the bore is a pure oval: half of the above.
    pub roundness: Option<S>,
    /// Largest difference of the mean diameters of two heights. A height that lacks a direction has
    /// no mean: then it is not known.
    pub taper: Option<S>,
    /// Largest difference of the diameters of two heights in one direction, of the directions that
    /// were measured at two heights.
    pub taper_worst: Option<S>,
}

/// The form of a bore from its levels, top first. `None` without any diameter.
pub fn form<S: Scalar>(levels: &[BoreLevel<S>]) -> Option<BoreForm<S>> {
    let diameters: Vec<&S> = levels
        .iter()
        .flat_map(|level| level.along.iter().chain(&level.across))
        .collect();
    let squares = diameters.iter().map(|one| one.square());
    let sum = squares.reduce(|sum, one| sum + one)?;
    let both = |level: &BoreLevel<S>| Some((level.along.clone()?, level.across.clone()?));
    let out_of_round = levels
        .iter()
        .filter_map(both)
        .map(|(along, across)| absolute(along - across))
        .reduce(larger);
    let means: Option<Vec<S>> = levels
        .iter()
        .map(|level| both(level).map(|(along, across)| (along + across).scale(0.5)))
        .collect();
    let along = levels.iter().filter_map(|level| level.along.clone());
    let across = levels.iter().filter_map(|level| level.across.clone());
    Some(BoreForm {
        diameter: sum.scale(1.0 / diameters.len() as f64).sqrt(),
        roundness: out_of_round.as_ref().map(|one| one.scale(0.5)),
        out_of_round,
        taper: means.and_then(|means| range(means.into_iter())),
        taper_worst: [range(along), range(across)]
            .into_iter()
            .flatten()
            .reduce(larger),
    })
}

fn absolute<S: Scalar>(value: S) -> S {
    if value.value() < 0.0 { -value } else { value }
}

fn larger<S: Scalar>(a: S, b: S) -> S {
    if b.value() > a.value() { b } else { a }
}

/// Largest minus smallest value, of two different places. Equal values give 0 with an uncertainty,
/// not an exact 0. `None` for fewer than two values: one value has no range.
fn range<S: Scalar>(values: impl Iterator<Item = S>) -> Option<S> {
    let mut values: Vec<S> = values.collect();
    if values.len() < 2 {
        return None;
    }
    values.sort_by(|a, b| a.value().total_cmp(&b.value()));
    let most = values.pop()?;
    Some(most - values.swap_remove(0))
}

/// Piston-to-bore clearance on the diameter, mm, from the bore where it is smallest across the pin,
/// where the skirt runs, and the skirt's diameter; negative if the piston is larger. With it the
/// place among the levels. `None` if no level was measured across.
pub fn piston_clearance<S: Scalar>(levels: &[BoreLevel<S>], skirt: &S) -> Option<(usize, S)> {
    let across = levels.iter().enumerate();
    let (at, least) = across
        .filter_map(|(at, level)| Some((at, level.across.clone()?)))
        .reduce(|a, b| if b.1.value() < a.1.value() { b } else { a })?;
    Some((at, least - skirt))
}
