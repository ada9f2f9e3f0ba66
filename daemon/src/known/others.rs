//! What a reading is beside those of the other cylinders.

use std::collections::BTreeMap;

use benchhand_blueprint::{Spot, Unit};

use benchhand_words::spoken::difference_in_unit;

use super::expectation::NEWEST;
use super::words::{number, step_of};
use crate::store::view::{JobView, KeptReading};

/// So many cylinders, this one with them, make a middle one worth comparing with.
const LEAST: usize = 3;

/// How far a reading is from the middle one of the cylinders, `0.9 over the others`; empty where too
/// few were read. It is told in the unit `told`; `spots` are those among which the like spots of other cylinders are looked for.
pub(crate) fn beside_the_others<'a>(
    view: &JobView,
    reading: &KeptReading,
    spots: impl Iterator<Item = &'a Spot>,
    told: Option<Unit>,
) -> String {
    let step = step_of(&reading.labels);
    match over_the_middle(view, reading, spots) {
        None => String::new(),
        Some(over) => {
            let (over, _, step) = difference_in_unit(over, &reading.unit, step, told);
            let amount = number(over.abs(), step);
            match over {
                _ if amount.bytes().all(|b| b == b'0' || b == b'.') => "as the others".to_owned(),
                over if over > 0.0 => format!("{amount} over the others"),
                _ => format!("{amount} under the others"),
            }
        }
    }
}

/// The reading less the middle one of the cylinders' means, in the reading's unit.
fn over_the_middle<'a>(
    view: &JobView,
    reading: &KeptReading,
    spots: impl Iterator<Item = &'a Spot>,
) -> Option<f64> {
    let spot: Spot = reading.spot.parse().ok()?;
    let own = spot.cylinder()?;
    let unit: Unit = reading.unit.parse().ok()?;
    // A flow's figure is its pressures together; one of them alone compares nothing.
    if matches!(spot, Spot::Flow { .. }) {
        return None;
    }
    let mut means = BTreeMap::new();
    for like in spots.filter(|like| like.at_cylinder(own) == spot) {
        let counts = view.newest_at(&reading.stage, &like.to_string());
        let values: Vec<f64> = counts
            .take(NEWEST)
            .filter_map(|one| {
                let known: Unit = one.unit.parse().ok()?;
                Some(unit.from_base(known.to_base(one.value)))
            })
            .collect();
        if !values.is_empty() {
            means.insert(
                like.cylinder(),
                values.iter().sum::<f64>() / values.len() as f64,
            );
        }
    }
    if means.len() < LEAST {
        return None;
    }
    let mut means: Vec<f64> = means.into_values().collect();
    means.sort_by(f64::total_cmp);
    let (below, above) = ((means.len() - 1) / 2, means.len() / 2);
    let middle = 0.5 * (means.get(below)? + means.get(above)?);
    Some(reading.value - middle)
}
