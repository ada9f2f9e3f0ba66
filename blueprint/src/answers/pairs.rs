//! Figures before and after.

pub use crate::decide::BeforeAfter;

use crate::figure::Estimate;
use crate::units::Unit;

/// A figure before and after, with the difference in which shared errors have cancelled. `None`
/// where either side is not known.
pub(super) fn pair_of(
    before: Option<Estimate>,
    after: Option<Estimate>,
    unit: Unit,
) -> Option<BeforeAfter> {
    let (before, after) = (before?, after?);
    let difference = (&after - &before).difference(unit);
    Some(BeforeAfter {
        before: before.figure(unit),
        after: after.figure(unit),
        real: difference.is_real(),
        difference,
    })
}
