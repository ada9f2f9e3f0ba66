//! Flow that is larger than the port's least area can pass.
//!
//! The effective area is that of a flow without losses. It cannot exceed the least area that all of
//! the air passes, since a plain opening recovers no pressure (`docs/formulas.md`, section 14).
//! This module does not know which input is wrong.

use crate::engine_figures::PortFigures;
use crate::report::document::{Finding, FindingKind};
use crate::report::finding::finding;

/// The spots at which more air passed than the least area can pass.
pub(crate) fn findings(known: &[PortFigures]) -> Vec<Finding> {
    let of = |one: &PortFigures| {
        let least = one.impossible_coefficient()?;
        let text = format!(
            "more air than its least area lets through: the flow coefficient by {} is {:.3} ± {:.3}, and cannot be above 1; the lift, the diameter of valve or throat, the orifice or a zero is wrong, and nothing is judged by this flow",
            least.by_area,
            least.coefficient.value(),
            least.expanded(),
        );
        Some(finding(&one.spot, FindingKind::Impossible, text))
    };
    known.iter().filter_map(of).collect()
}

/// The remark about spots at which the coefficient on the least area is above 1, but not by more
/// than its uncertainty.
pub(super) fn remark(known: &[PortFigures]) -> Option<String> {
    let doubtful = |one: &&PortFigures| {
        let above = one
            .on_least_area()
            .is_some_and(|least| least.coefficient.value() > 1.0);
        above && one.impossible_coefficient().is_none()
    };
    let spots: Vec<String> = known
        .iter()
        .filter(doubtful)
        .map(|one| one.spot.to_string())
        .collect();
    (!spots.is_empty()).then(|| {
        format!(
            "The flow coefficient on the least area is above 1, within its uncertainty, at {}: check the lift, the diameters, the orifice and the zeros there.",
            named(&spots)
        )
    })
}

/// Spots by their names; of many, the first and the last.
fn named(spots: &[String]) -> String {
    const MOST: usize = 8;
    match spots {
        [first, .., last] if spots.len() > MOST => {
            format!("{first} … {last} ({} in all)", spots.len())
        }
        few => few.join(", "),
    }
}
