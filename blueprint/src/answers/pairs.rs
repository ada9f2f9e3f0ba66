//! Figures before and after.

pub use crate::decide::Pair;

use crate::figure::{Estimate, Figure};
use crate::units::Unit;

/// A figure before and after, with the difference in which shared errors have cancelled. `None`
/// where either side is not known.
pub(super) fn pair_of(
    before: Option<Estimate>,
    after: Option<Estimate>,
    unit: Unit,
) -> Option<Pair> {
    let (before, after) = (before?, after?);
    let difference = after.clone() - before.clone();
    Some(Pair {
        before: before.figure(unit),
        after: after.figure(unit),
        difference: Figure {
            value: unit.difference_from_base(difference.value()),
            u: difference.u().map(|u| unit.difference_from_base(u)),
            unit,
        },
        real: difference.u().map(|u| difference.value().abs() > 2.0 * u),
    })
}
