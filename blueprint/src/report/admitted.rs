//! Which readings a report is made of. A reading that cannot be is left out and said, so that no
//! reading that was kept can make a report impossible.
//!
//! The mean with a good reading would hide a bad one: -45 beside 45.1 gives 0.05.

use super::ReportInputs;
use super::document::{Finding, FindingKind};
use super::finding::finding;
use crate::engine::Engine;
use crate::readings::{Reading, ReadingValue};
use crate::units::Quantity;

/// The readings that count, and a finding for each that does not.
pub(super) struct Admitted {
    pub(super) readings: Vec<Reading>,
    pub(super) left_out: Vec<Finding>,
}

/// Parts the readings into those that can be and those that cannot. `None` where all can be.
pub(super) fn admitted(inputs: &ReportInputs<'_>) -> Option<Admitted> {
    let wrong = |reading: &Reading| fault(inputs.engine, reading);
    if inputs
        .readings
        .iter()
        .all(|reading| wrong(reading).is_none())
    {
        return None;
    }
    let mut readings = Vec::with_capacity(inputs.readings.len());
    let mut left_out = Vec::new();
    for reading in inputs.readings {
        match wrong(reading) {
            None => readings.push(reading.clone()),
            Some(why) => left_out.push(finding(
                &reading.spot,
                FindingKind::Impossible,
                format!("reading {} is left out: {why}", reading.id),
            )),
        }
    }
    Some(Admitted { readings, left_out })
}

/// Why a reading cannot be, in words.
fn fault(engine: &Engine, reading: &Reading) -> Option<String> {
    if let Err(error) = engine.admit(&reading.spot) {
        return Some(error.to_string());
    }
    match &reading.value {
        ReadingValue::One(quantity) => {
            let expected = engine.kind_of(&reading.spot);
            if !engine.takes(expected, quantity.unit.kind()) {
                return Some(format!(
                    "found a value in {}, this spot takes {expected}; void it and type it with its unit",
                    quantity.unit
                ));
            }
            reading.spot.impossible(*quantity)
        }
        ReadingValue::Flow(parts) => {
            let test = parts.test.as_ref()?;
            let found = Quantity {
                value: test.value,
                unit: test.unit,
            };
            let why = reading.spot.impossible(found)?;
            Some(format!(
                "test pressure: {why}, the magnitude, of a depression too"
            ))
        }
    }
}
