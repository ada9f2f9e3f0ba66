//! Puts the report together from the readings that can be.

use std::collections::BTreeSet;

use super::admitted::{Admitted, admitted};
use super::document::Finding;
use super::from_before;
use super::pooled_readings::PooledReadings;
use super::stage;
use super::{Report, ReportError, ReportInputs, cylinders, writing};
use crate::engine::Stage;
use crate::engine_figures::EngineFigures;

/// The report. What cannot be is left out, and is said first among the findings.
///
/// # Errors
/// Where there is no such stage.
pub(super) fn report(inputs: &ReportInputs<'_>) -> Result<Report, ReportError> {
    with_readings(inputs, |readings, stages, left_out| {
        let (figures, impossible) = cylinders::engine_figures(readings);
        let mut report = writing::document(readings, &figures, stages);
        report.findings.extend(left_out);
        report.findings.extend(impossible);
        report.findings.sort_by_key(|finding| finding.kind);
        from_before::mark(&mut report.findings, readings.current);
        Ok(report)
    })
}

/// Says of findings on readings from before the last cut that they are.
pub(super) fn mark_from_before(inputs: &ReportInputs<'_>, findings: &mut [Finding]) {
    let ordered = stage::order(listed(inputs), inputs.readings);
    // Where there is no such stage, nothing was found in it.
    if let Some(current) = stage::current(&ordered, inputs.readings, inputs.stage) {
        from_before::mark(findings, &current);
    }
}

/// The figures that decisions are made from. Readings that cannot be are left out.
///
/// # Errors
/// Where there is no such stage, or where a figure cannot be: nothing is decided by it.
pub(super) fn engine_figures(inputs: &ReportInputs<'_>) -> Result<EngineFigures, ReportError> {
    with_readings(inputs, |readings, _, _| {
        let (figures, impossible) = cylinders::engine_figures(readings);
        match impossible.into_iter().next() {
            None => Ok(figures),
            Some(Finding { spot, text, .. }) => Err(ReportError::Impossible { spot, text }),
        }
    })
}

/// The ids of the readings on which the figures of the stage rest, whatever stage they are of.
///
/// # Errors
/// Where there is no such stage.
pub(super) fn holding(inputs: &ReportInputs<'_>) -> Result<BTreeSet<String>, ReportError> {
    let ordered = stage::order(listed(inputs), inputs.readings);
    let Some(current) = stage::current(&ordered, inputs.readings, inputs.stage) else {
        return Err(ReportError::Stage {
            asked: inputs.stage.unwrap_or_default().to_owned(),
            known: ordered.iter().map(|stage| stage.name.clone()).collect(),
        });
    };
    let holding = current.spots.values().flatten();
    Ok(holding.map(|reading| reading.id.clone()).collect())
}

/// The stages in their order, as far as they are listed.
fn listed<'a>(inputs: &ReportInputs<'a>) -> &'a [Stage] {
    match inputs.stages.is_empty() {
        true => &inputs.engine.stages,
        false => inputs.stages,
    }
}

pub(super) fn with_readings<T>(
    inputs: &ReportInputs<'_>,
    then: impl FnOnce(&PooledReadings<'_>, Vec<String>, Vec<Finding>) -> Result<T, ReportError>,
) -> Result<T, ReportError> {
    let parted = admitted(inputs);
    let (readings, left_out) = match &parted {
        None => (inputs.readings, Vec::new()),
        Some(Admitted { readings, left_out }) => (readings.as_slice(), left_out.clone()),
    };
    // A stage that only readings name is known by those that are left out as well.
    let ordered = stage::order(listed(inputs), inputs.readings);
    let stages: Vec<String> = ordered.iter().map(|stage| stage.name.clone()).collect();
    let Some(current) = stage::current(&ordered, readings, inputs.stage) else {
        let asked = inputs.stage.unwrap_or_default().to_owned();
        return Err(ReportError::Stage {
            asked,
            known: stages,
        });
    };
    then(
        &PooledReadings::new(inputs.engine, &current),
        stages,
        left_out,
    )
}
