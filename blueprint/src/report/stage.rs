//! Which readings hold for a stage.
//!
//! Readings of different stages are never pooled. A spot's readings are those of the latest stage
//! that has any. They hold for a later stage only if every cut in between is known to have left
//! that spot alone. Example: a cut on the heads leaves a deck reading standing. The stage states
//! what its cut changed; where it does not, everything may have changed and nothing is carried on.

use std::collections::BTreeMap;

use crate::engine::Stage;
use crate::readings::{FIRST_STAGE, Reading};
use crate::spot::Spot;

/// The readings that hold for one stage.
#[derive(Debug)]
pub(crate) struct Current<'a> {
    /// The stage.
    pub(crate) stage: String,
    /// The readings of each spot, in the order in which they were given.
    pub(crate) spots: BTreeMap<&'a Spot, Vec<&'a Reading>>,
    /// Spots whose readings are of an earlier stage that no cut since has touched.
    pub(crate) carried: BTreeMap<&'a Spot, String>,
    /// Spots whose only readings are of an earlier stage and may no longer hold.
    pub(crate) outdated: BTreeMap<&'a Spot, String>,
    /// The readings of earlier stages that do not hold any more, those of each stage and spot
    /// together. They tell how well a gauge repeats, and nothing else.
    pub(crate) earlier: Vec<(&'a Spot, Vec<&'a Reading>)>,
}

/// The stages in their order: those listed first, then those that only readings name. Without a
/// list, "as received" comes first.
pub fn order(listed: &[Stage], readings: &[Reading]) -> Vec<Stage> {
    let mut stages = listed.to_vec();
    let known = |stages: &[Stage], name: &str| stages.iter().any(|stage| stage.name == name);
    if !known(&stages, FIRST_STAGE) && readings.iter().any(|reading| reading.stage == FIRST_STAGE) {
        stages.insert(0, Stage::named(FIRST_STAGE));
    }
    for reading in readings {
        if !known(&stages, &reading.stage) {
            stages.push(Stage::named(&reading.stage));
        }
    }
    stages
}

/// Chooses the readings for a stage. Without `asked`: for the last stage that has readings. `None`
/// if there is no such stage.
pub(crate) fn current<'a>(
    listed: &[Stage],
    readings: &'a [Reading],
    asked: Option<&str>,
) -> Option<Current<'a>> {
    let stages = order(listed, readings);
    let place: BTreeMap<&str, usize> = stages
        .iter()
        .enumerate()
        .map(|(at, stage)| (stage.name.as_str(), at))
        .collect();
    let last = readings
        .iter()
        .filter_map(|reading| place.get(reading.stage.as_str()))
        .max();
    let chosen = match asked {
        Some(name) => *place.get(name)?,
        None => last.copied().unwrap_or(0),
    };
    let mut by_spot: BTreeMap<&Spot, BTreeMap<usize, Vec<&Reading>>> = BTreeMap::new();
    for reading in readings {
        let at = place.get(reading.stage.as_str()).copied().unwrap_or(0);
        if at <= chosen {
            by_spot
                .entry(&reading.spot)
                .or_default()
                .entry(at)
                .or_default()
                .push(reading);
        }
    }
    let name = stages
        .get(chosen)
        .map_or(FIRST_STAGE, |stage| &stage.name)
        .to_owned();
    let mut current = Current {
        stage: name,
        spots: BTreeMap::new(),
        carried: BTreeMap::new(),
        outdated: BTreeMap::new(),
        earlier: Vec::new(),
    };
    for (spot, mut by_stage) in by_spot {
        let Some((at, readings)) = by_stage.pop_last() else {
            continue;
        };
        let from = stages[at].name.clone();
        if stages[at + 1..=chosen.max(at)]
            .iter()
            .any(|stage| stage.changed(spot))
        {
            current.outdated.insert(spot, from);
            by_stage.insert(at, readings);
            let before = by_stage.into_values().map(|readings| (spot, readings));
            current.earlier.extend(before);
            continue;
        }
        let before = by_stage.into_values().map(|readings| (spot, readings));
        current.earlier.extend(before);
        if at < chosen {
            current.carried.insert(spot, from);
        }
        current.spots.insert(spot, readings);
    }
    Some(current)
}
