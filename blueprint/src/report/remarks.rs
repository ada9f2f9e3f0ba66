//! What the report chose or could not know, in a sentence each.

use std::collections::BTreeMap;

use super::pooled_readings::PooledReadings;
use super::{flow, free, liquid, words};
use crate::engine::{FreeSpot, Tolerances};
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::EngineDimension;
use crate::spot::Spot;
use crate::units::Unit;

/// The readings that scatter by more than their gauge's entry states.
fn contradicted(readings: &PooledReadings<'_>) -> Vec<String> {
    let lengths = |mm: [f64; 2]| words::lengths(mm, readings.units());
    let volumes = |cc: [f64; 2]| words::in_unit(cc, Unit::CubicCentimetre);
    let mut remarks = Vec::new();
    let told = |what: &str, gauge: &str, [stated, seen]: [String; 2]| {
        format!(
            "The rounds of the {what} disagree: they scatter by {seen}, and the entry of gauge {gauge} states {stated}. What was seen counts."
        )
    };
    for (what, pool, shown) in [
        (
            "chambers",
            &readings.chambers,
            &volumes as &dyn Fn([f64; 2]) -> [String; 2],
        ),
        ("deck points", &readings.decks, &lengths),
        ("domes or dishes", &readings.crowns, &volumes),
        ("poured domes or dishes", &readings.fluids, &volumes),
        ("depths of domes or dishes", &readings.depths, &lengths),
        ("gasket openings", &readings.gaskets, &lengths),
        ("gasket thicknesses", &readings.thicknesses, &lengths),
        ("bores", &readings.bores, &lengths),
        ("parts", &readings.parts, &lengths),
        ("ports", &readings.ports, &lengths),
        ("runners", &readings.runners, &volumes),
        ("gaps", &readings.gaps, &lengths),
    ] {
        for (gauge, both) in &pool.contradicted {
            remarks.push(told(what, gauge, shown(*both)));
        }
    }
    for (what, gauge, both) in free::contradicted(readings) {
        remarks.push(told(&what, &gauge, both));
    }
    remarks
}

/// The remarks of a report.
pub(super) fn remarks(readings: &PooledReadings<'_>, state: &EngineFigures) -> Vec<String> {
    let built = &state.cylinders;
    let mut remarks = Vec::new();
    if readings.engine.invented {
        remarks.push("This engine is invented.".to_owned());
    }
    remarks.push(match built.iter().any(|one| one.crevice.is_some()) {
        true => "The volume above the top ring is counted.".to_owned(),
        false => "The volume above the top ring is not counted.".to_owned(),
    });
    remarks.extend(contradicted(readings));
    remarks.extend(liquid::remarks(readings.engine, readings.current));
    remarks.extend(flow::remarks(&state.flow));
    remarks.extend(flow::leak_remark(&readings.current.spots, readings.engine));
    let limited = readings.engine.free.values().any(FreeSpot::limited);
    if limited || readings.engine.tolerances != Tolerances::default() {
        remarks.push(crate::decide::coverage_note());
    }
    let stated = |one: &&CylinderFigures| {
        one.crown.as_ref().is_some_and(|crown| {
            crown
                .contributions()
                .iter()
                .any(|part| part.source.id.is_dimension(EngineDimension::Crown))
        })
    };
    let stated: Vec<String> = built
        .iter()
        .filter(stated)
        .map(|one| one.number.to_string())
        .collect();
    if !stated.is_empty() {
        remarks.push(format!(
            "The dome or dish is not measured but as the engine file states it: cylinder {}.",
            stated.join(", ")
        ));
    }
    let mut carried: BTreeMap<&str, Vec<&Spot>> = BTreeMap::new();
    for (spot, stage) in &readings.current.carried {
        carried.entry(stage.as_str()).or_default().push(spot);
    }
    for (stage, spots) in carried {
        remarks.push(format!(
            "Carried on from stage {stage:?}, since no cut has touched them: {}.",
            families(&spots)
        ));
    }
    remarks
}

/// Spots in their order, of each family the first and the last where it has more than two.
fn families(spots: &[&Spot]) -> String {
    let same = |one: &&Spot, other: &&Spot| one.family() == other.family();
    let told = spots.chunk_by(same).map(|family| match family {
        [first, .., last] if family.len() > 2 => {
            format!("{first} … {last} ({} in all)", family.len())
        }
        few => few
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join(", "),
    });
    told.collect::<Vec<_>>().join(", ")
}
