//! Depth and chamber volume after each cut of the job.

use std::collections::BTreeMap;

use super::pool::pool;
use super::sets::Set;
use super::{ReportInputs, stage};
use crate::engine::Stage;
use crate::figure::Estimate;
use crate::readings::Reading;
use crate::spot::Spot;

/// For each cylinder, series of depth (mm, from the first stage of the series) and mean chamber
/// volume (cc) that cuts of stated depth link. A cut that may have changed the chamber without a
/// stated depth begins a new series; so the same cylinder may come more than once. Only series of
/// two or more are given.
pub(super) fn volumes(inputs: &ReportInputs<'_>) -> Vec<(u32, Vec<(f64, Estimate)>)> {
    let listed: &[Stage] = if inputs.stages.is_empty() {
        &inputs.engine.stages
    } else {
        inputs.stages
    };
    let stages = stage::order(listed, inputs.readings);
    // -45 beside 45.1 would give a mean of 0.05.
    let can_be = |reading: &&Reading| {
        let value = reading.measured().map(|one| one.base());
        value.is_none_or(|base| reading.spot.possible().holds(base))
    };
    let mut spots: BTreeMap<&str, BTreeMap<&Spot, Vec<&Reading>>> = BTreeMap::new();
    for reading in inputs.readings.iter().filter(can_be) {
        // Weights have no place here: their liquid would have to be the same at every stage.
        let volume = reading
            .measured()
            .is_some_and(|one| Some(one.unit.kind()) == reading.spot.kind());
        if volume && matches!(reading.spot, Spot::Chamber { .. }) {
            let stage = spots.entry(&reading.stage).or_default();
            stage.entry(&reading.spot).or_default().push(reading);
        }
    }
    let mut chambers: BTreeMap<(&Spot, &str), Estimate> = BTreeMap::new();
    let sets_of = |wanted: &dyn Fn(&str) -> bool| -> Vec<Set<'_>> {
        let stages = spots.iter().filter(|(stage, _)| wanted(stage));
        let all = stages.flat_map(|(_, spots)| spots);
        all.map(|(spot, readings)| Set::new(spot, readings, inputs.engine))
            .collect()
    };
    for stage in spots.keys() {
        let sets = sets_of(&|one| one == *stage);
        let elsewhere = sets_of(&|one| one != *stage);
        let means = pool(&sets, &elsewhere, &inputs.engine.gauges, 0).means;
        chambers.extend(means.into_iter().map(|(spot, mean)| ((spot, *stage), mean)));
    }
    let mut all = Vec::new();
    for cylinder in 1..=inputs.engine.cylinders {
        let spot = Spot::Chamber { cylinder };
        let mut depth = 0.0;
        let mut series: Vec<(f64, Estimate)> = Vec::new();
        for (at, stage) in stages.iter().enumerate() {
            if at > 0 && stage.changed(&spot) {
                match inputs.engine.cuts.get(&stage.name) {
                    Some(cut) => depth += cut.value,
                    None => {
                        all.push((cylinder, std::mem::take(&mut series)));
                        depth = 0.0;
                    }
                }
            }
            if let Some(mean) = chambers.get(&(&spot, stage.name.as_str())) {
                series.push((depth, mean.clone()));
            }
        }
        all.push((cylinder, series));
    }
    all.retain(|(_, series)| series.len() >= 2);
    all
}
