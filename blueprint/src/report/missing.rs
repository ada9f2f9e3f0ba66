//! Findings about spots that were not measured.

use super::document::{Finding, FindingKind};
use super::finding::finding;
use super::pooled_readings::PooledReadings;
use super::{bores, deck, free};
use crate::engine_figures::CylinderFigures;
use crate::readings::ReadingValue;
use crate::spot::{CrownPart, Spot};

/// A finding for each spot that a cylinder lacks. Of heads alone only the chambers are asked for.
pub(super) fn missing(readings: &PooledReadings<'_>, built: &[CylinderFigures]) -> Vec<Finding> {
    let points = deck::points(&readings.decks.means);
    let heads_alone = heads_alone(built);
    let mut spots: Vec<String> = Vec::new();
    for one in built {
        let number = one.number;
        if one.chamber.is_none() {
            spots.push(format!("chamber/{number}"));
        }
        if heads_alone {
            continue;
        }
        spots.extend(deck::lacking(&points, number));
        if one.crown.is_none() {
            let at = |part| Spot::Crown {
                cylinder: number,
                part,
            };
            let poured = readings.fluids.means.contains_key(&at(CrownPart::Fluid));
            let depth = readings.depths.means.contains_key(&at(CrownPart::Depth));
            spots.push(match (poured, depth) {
                (true, false) => format!("crown/{number}/depth"),
                (false, true) => format!("crown/{number}/fluid"),
                _ => format!("crown/{number}"),
            });
        }
    }
    let lacks = |known: Known| !heads_alone && built.iter().any(|one| !known(one));
    for (spot, known) in SHARED {
        spots.extend(lacks(known).then(|| spot.to_owned()));
    }
    spots.extend(bores::missing_directions(readings));
    spots.extend(free::missing(readings));
    for (spot, readings) in &readings.current.spots {
        let parts = readings.iter().filter_map(|reading| match &reading.value {
            ReadingValue::Flow(parts) if parts.flow.is_none() => Some(parts),
            _ => None,
        });
        for parts in parts {
            spots.extend(parts.test.is_none().then(|| format!("{spot}/test")));
            spots.extend(parts.metering.is_none().then(|| format!("{spot}/metering")));
        }
    }
    spots
        .into_iter()
        .map(|spot| missing_at(readings, spot))
        .collect()
}

/// What the engine file may state for all cylinders, and whether a cylinder has it.
type Known = fn(&CylinderFigures) -> bool;
const SHARED: [(&str, Known); 4] = [
    ("gasket/bore", |one| one.gasket_bore.is_some()),
    ("gasket/thickness", |one| one.gasket_thickness.is_some()),
    ("bore", |one| one.bore.is_some()),
    ("stroke", |one| one.stroke.is_some()),
];

/// Whether nothing is known of block, pistons and gasket: the heads are on the bench alone.
fn heads_alone(built: &[CylinderFigures]) -> bool {
    !built.iter().any(|one| {
        let parts = [&one.deck, &one.crown, &one.rod, &one.block_height];
        let shared = SHARED.iter().any(|(_, known)| known(one));
        shared || parts.into_iter().any(Option::is_some)
    })
}

fn missing_at(readings: &PooledReadings<'_>, spot: String) -> Finding {
    let outdated = spot
        .parse::<Spot>()
        .ok()
        .and_then(|key| readings.current.outdated.get(&key));
    let text = match outdated {
        Some(stage) => format!(
            "not measured in stage {:?}; it was in {stage:?}, but a cut since may have changed it",
            readings.current.stage
        ),
        None => "not measured".to_owned(),
    };
    finding(spot, FindingKind::Missing, text)
}
