//! Checks the readings and puts the report together.

use super::pooled_readings::PooledReadings;
use super::stage;
use super::{Report, ReportError, ReportInputs, cylinders, words, writing};
use crate::engine::{LengthUnits, Stage};
use crate::engine_figures::EngineFigures;
use crate::readings::{Reading, ReadingValue};
use crate::spot::{CrownPart, PortQuantity, Spot};
use crate::units::QuantityKind;

pub(super) fn report(inputs: &ReportInputs<'_>) -> Result<Report, ReportError> {
    with_readings(inputs, |readings, stages| {
        let figures = cylinders::engine_figures(readings)?;
        Ok(writing::document(readings, &figures, stages))
    })
}

pub(super) fn engine_figures(inputs: &ReportInputs<'_>) -> Result<EngineFigures, ReportError> {
    with_readings(inputs, |readings, _| cylinders::engine_figures(readings))
}

fn with_readings<T>(
    inputs: &ReportInputs<'_>,
    then: impl FnOnce(&PooledReadings<'_>, Vec<String>) -> Result<T, ReportError>,
) -> Result<T, ReportError> {
    check_readings(inputs)?;
    let listed: &[Stage] = if inputs.stages.is_empty() {
        &inputs.engine.stages
    } else {
        inputs.stages
    };
    let stages: Vec<String> = stage::order(listed, inputs.readings)
        .into_iter()
        .map(|stage| stage.name)
        .collect();
    let Some(current) = stage::current(listed, inputs.readings, inputs.stage) else {
        let asked = inputs.stage.unwrap_or_default().to_owned();
        return Err(ReportError::Stage {
            asked,
            known: stages,
        });
    };
    then(&PooledReadings::new(inputs.engine, &current), stages)
}

fn check_readings(inputs: &ReportInputs<'_>) -> Result<(), ReportError> {
    for reading in inputs.readings {
        let spot = |error| ReportError::Spot {
            reading: reading.id.clone(),
            error,
        };
        inputs.engine.admit(&reading.spot).map_err(spot)?;
        if let ReadingValue::One(quantity) = &reading.value {
            let expected = reading.spot.kind();
            if !inputs.engine.takes(expected, quantity.unit.kind()) {
                return Err(ReportError::Unit {
                    reading: reading.id.clone(),
                    spot: reading.spot.to_string(),
                    found: quantity.unit,
                    expected,
                });
            }
        }
        possible(reading, inputs.engine.units)?;
    }
    Ok(())
}

/// Refuses a reading of 0 or less where the value must be above 0: a mean with a good reading would
/// hide it.
fn possible(reading: &Reading, units: LengthUnits) -> Result<(), ReportError> {
    let refused = |spot: String, found: String, expected: &str| {
        Err(ReportError::Impossible {
            reading: reading.id.clone(),
            spot,
            found,
            expected: expected.to_owned(),
        })
    };
    match &reading.value {
        ReadingValue::One(quantity) if quantity.base() <= 0.0 && is_something(&reading.spot) => {
            let found = match quantity.unit.kind() {
                QuantityKind::Length => words::length(quantity.base(), units),
                QuantityKind::Volume => words::volume(quantity.base()),
                _ => format!("{} {}", quantity.value, quantity.unit),
            };
            refused(reading.spot.to_string(), found, "more than 0")
        }
        ReadingValue::Flow(parts) => match &parts.test {
            Some(test) if test.base() <= 0.0 => refused(
                format!("{}/test", reading.spot),
                format!("{} {}", test.value, test.unit),
                "more than 0, the magnitude, of a depression too",
            ),
            _ => Ok(()),
        },
        ReadingValue::One(_) => Ok(()),
    }
}

/// Whether a reading of the spot is always above 0. A deck clearance, a crown, a valve drop and a
/// valve gap may be 0 or less.
fn is_something(spot: &Spot) -> bool {
    match spot {
        Spot::Chamber { .. } | Spot::Gasket { .. } | Spot::Bore { .. } | Spot::Part { .. } => true,
        Spot::Crown { part, .. } => *part == CrownPart::Fluid,
        Spot::Port { quantity, .. } => *quantity != PortQuantity::Seat,
        Spot::Deck { .. } | Spot::Flow { .. } | Spot::Gap { .. } => false,
    }
}
