//! Expanded uncertainties as the report states them beside its figures.

use super::document::ExpandedUncertainty;
use crate::figure::{Estimate, coverage_factor};
use crate::units::Unit;

/// The expanded uncertainty of an estimate for 95 %, with its coverage factor and degrees of
/// freedom; `None` where something is lacking.
pub(super) fn expanded_in(estimate: &Estimate, unit: Unit) -> Option<ExpandedUncertainty> {
    estimate.u()?;
    Some(known_in(estimate, unit))
}

/// The same of what is known, whatever is lacking.
pub(super) fn known_in(estimate: &Estimate, unit: Unit) -> ExpandedUncertainty {
    let dof = estimate.dof();
    let k = coverage_factor(0.95, dof);
    ExpandedUncertainty {
        value: unit.difference_from_base(k * estimate.u_known()),
        u: None,
        unit,
        k,
        dof: dof.is_finite().then_some(dof),
    }
}
