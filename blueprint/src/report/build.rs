//! Putting the report together.

use super::measures::Measures;
use super::stage;
use super::{Inputs, Report, ReportError};
use crate::engine::Stage;
use crate::known::State;
use crate::readings::Value;

pub(super) fn report(inputs: &Inputs<'_>) -> Result<Report, ReportError> {
    with_measures(inputs, |measures, stages| {
        Ok(measures.document(&measures.state()?, stages))
    })
}

pub(super) fn state(inputs: &Inputs<'_>) -> Result<State, ReportError> {
    with_measures(inputs, |measures, _| measures.state())
}

fn with_measures<T>(
    inputs: &Inputs<'_>,
    then: impl FnOnce(&Measures<'_>, Vec<String>) -> Result<T, ReportError>,
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
    then(&Measures::new(inputs.engine, &current), stages)
}

fn check_readings(inputs: &Inputs<'_>) -> Result<(), ReportError> {
    for reading in inputs.readings {
        let spot = |error| ReportError::Spot {
            reading: reading.id.clone(),
            error,
        };
        inputs.engine.admit(&reading.spot).map_err(spot)?;
        if let Value::One(quantity) = &reading.value {
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
    }
    Ok(())
}
