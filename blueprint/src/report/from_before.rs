//! Findings on readings that were made before the last cut and hold on: they say so, since whoever
//! reads them in the new stage looks for a reading of it.

use super::document::{Finding, FindingKind};
use super::stage::Current;
use crate::spot::Spot;

/// How the text of such a finding ends.
pub const FROM_BEFORE: &str = "(from before the cut)";

/// Kinds that are about readings. The others are about what is missing or what is calculated.
const OF_READINGS: [FindingKind; 9] = [
    FindingKind::Disagrees,
    FindingKind::Outlier,
    FindingKind::Mixed,
    FindingKind::Unrepeated,
    FindingKind::Marked,
    FindingKind::Unchecked,
    FindingKind::Open,
    FindingKind::Kept,
    FindingKind::Typed,
];

impl Finding {
    /// Whether its readings were made before the last cut.
    #[must_use]
    pub fn is_from_before(&self) -> bool {
        self.text.ends_with(FROM_BEFORE)
    }
}

/// Says so of each finding all of whose readings were made before the last cut. A finding that says so
/// already stays as it is.
pub(super) fn mark(findings: &mut [Finding], current: &Current<'_>) {
    for found in findings {
        let mut spots = found.spot.split(", ").peekable();
        let known = spots.peek().is_some_and(|spot| !spot.is_empty());
        let before = known && spots.all(|spot| is_carried(spot, current));
        if before && OF_READINGS.contains(&found.kind) && !found.is_from_before() {
            found.text = format!("{} {FROM_BEFORE}", found.text);
        }
    }
}

/// Whether all readings of a spot are carried on; those of all its points, where a finding names the
/// whole.
fn is_carried(spot: &str, current: &Current<'_>) -> bool {
    let Ok(spot) = spot.parse::<Spot>() else {
        return false;
    };
    if current.spots.contains_key(&spot) {
        return current.carried.contains_key(&spot);
    }
    let point = |one: &&&Spot| one.family() == spot.family() && one.cylinder() == spot.cylinder();
    let mut points = current.spots.keys().filter(point).peekable();
    points.peek().is_some() && points.all(|one| current.carried.contains_key(*one))
}
