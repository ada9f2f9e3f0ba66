//! How far the repeats of a spot may differ where its readings name several gauges or none.

use std::cmp::Ordering;

use super::repeatability::Repeatability;
use super::sets::{Gauges, Set};

/// The repeatability of all sets that measure as a group does, whatever their gauges: declared as the
/// least repeatable of the gauges that the group's readings name, or if they name none of the kind's,
/// so that nothing is called apart that one of them could show.
pub(super) fn of_every_gauge<'a>(
    sets: &'a [Set<'a>],
    group: &[&Set<'a>],
    gauges: &Gauges,
) -> Repeatability {
    let weighed = group.first().is_some_and(|set| set.weighed());
    let alike: Vec<&Set<'_>> = sets
        .iter()
        .filter(|set| !set.readings.is_empty() && set.weighed() == weighed)
        .collect();
    let least_repeatable = |sets: &[&Set<'_>]| {
        sets.iter()
            .flat_map(|set| &set.readings)
            .filter_map(|(_, measured)| gauges.get(measured.gauge.as_deref()?))
            .filter(|gauge| gauge.repeatability.is_some())
            .max_by(|a, b| {
                a.repeatability
                    .partial_cmp(&b.repeatability)
                    .unwrap_or(Ordering::Equal)
            })
    };
    let gauge = least_repeatable(group).or_else(|| least_repeatable(&alike));
    Repeatability::of(&alike, gauge)
}
