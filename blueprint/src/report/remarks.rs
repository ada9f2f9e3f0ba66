//! What the report chose or could not know, in a sentence each.

use std::collections::BTreeMap;

use super::pooled_readings::PooledReadings;
use super::{flow, liquid};
use crate::engine::Tolerances;
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::EngineDimension;

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
    remarks.extend(liquid::remarks(readings.engine, readings.current));
    remarks.extend(flow::remarks(&state.flow));
    if readings.engine.tolerances != Tolerances::default() {
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
    let mut carried: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (spot, stage) in &readings.current.carried {
        carried
            .entry(stage.as_str())
            .or_default()
            .push(spot.to_string());
    }
    for (stage, spots) in carried {
        remarks.push(format!(
            "Carried on from stage {stage:?}, since no cut has touched them: {}.",
            spots.join(", ")
        ));
    }
    remarks
}
