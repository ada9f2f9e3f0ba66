//! The report: from an engine and its readings to figures, means, spreads and findings.
//!
//! The report lists what is missing and never fills it in. It says which value is unlike the
//! others, not why. It deletes nothing.

mod admitted;
mod bores;
mod build;
mod contacts;
mod cuts;
mod cylinders;
mod deck;
mod dimensions;
mod document;
mod errors;
mod every_gauge;
mod expanded;
mod finding;
mod findings;
mod flow;
mod free;
mod from_before;
pub(crate) mod lacking;
mod liquid;
mod missing;
mod ordered;
mod pool;
mod pooled_readings;
mod remarks;
mod repeatability;
mod sets;
mod single_limits;
mod stage;
mod surroundings;
mod unlike_points;
mod unusual;
mod valve_gaps;
mod verdicts;
pub(crate) mod words;
mod writing;

pub use document::{
    BoreReport, BudgetShare, CoefficientReport, CylinderCounts, CylinderDimensions, CylinderReport,
    DimensionUsed, ExpandedUncertainty, Finding, FindingKind, FlowAtLift, FlowReport, FreeReport,
    GapReport, InputsUsed, MeasuredReport, MeasuredTimes, OrderedReport, OrderedSize, Report,
    ReportSummary, RunningPort, RunningVelocity, SpreadsOfEquals, StatedLimits, ToleranceName,
    ToleranceVerdict,
};

pub use from_before::FROM_BEFORE;
pub use ordered::{SizeOrdered, beside_ordered};
pub use stage::order as stages_in_order;

use std::collections::BTreeSet;

use crate::engine::{Engine, Stage};
use crate::engine_figures::EngineFigures;
use crate::figure::Estimate;
use crate::readings::Reading;

/// The engine, readings and stage that a report is made from.
#[derive(Debug, Clone, Copy)]
pub struct ReportInputs<'a> {
    /// The engine, with its gauges.
    pub engine: &'a Engine,
    /// All readings of all stages that were not voided.
    pub readings: &'a [Reading],
    /// The stages in their order and what each cut changed. If empty: the stages of the engine
    /// file, then those that only readings name.
    pub stages: &'a [Stage],
    /// The stage to report. `None`: the last stage that has readings.
    pub stage: Option<&'a str>,
}

/// Why there is no report.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReportError {
    /// There is no such stage.
    #[error("there is no stage {asked:?}; the stages are {}", known.join(", "))]
    Stage {
        /// The stage that was asked for.
        asked: String,
        /// The stages of the job.
        known: Vec<String>,
    },
    /// A figure cannot be: a clearance volume that is not above 0, a gasket that is smaller than
    /// the bore.
    #[error("{spot}: {text}; correct the reading or the dimension that is wrong")]
    Impossible {
        /// Where.
        spot: String,
        /// What was found and what was expected.
        text: String,
    },
}

/// Makes the report.
pub fn report(inputs: &ReportInputs<'_>) -> Result<Report, ReportError> {
    build::report(inputs)
}

/// The ids of the readings on which the figures of the stage rest: those of the stage, and those of
/// earlier ones that no cut since has touched.
///
/// # Errors
/// Where there is no such stage.
pub fn holding(inputs: &ReportInputs<'_>) -> Result<BTreeSet<String>, ReportError> {
    build::holding(inputs)
}

/// Says of each finding all of whose readings were made before the last cut, and hold on, that they
/// were: its text ends in [`FROM_BEFORE`]. What a report says of readings it says so by itself.
pub fn mark_from_before(inputs: &ReportInputs<'_>, findings: &mut [Finding]) {
    build::mark_from_before(inputs, findings);
}

/// The figures of every cylinder and port as estimates, for decisions.
pub fn engine_figures(inputs: &ReportInputs<'_>) -> Result<EngineFigures, ReportError> {
    build::engine_figures(inputs)
}

/// Chamber volumes after the job's own cuts of stated depth: for each cylinder a series of depth
/// (mm) and volume (cc), for [`crate::decide::learn_within`].
pub fn cut_pairs(inputs: &ReportInputs<'_>) -> Vec<(u32, Vec<(f64, f64)>)> {
    let plain = |series: Vec<(f64, Estimate)>| {
        series
            .into_iter()
            .map(|(depth, volume)| (depth, volume.value()))
            .collect()
    };
    let all = cuts::volumes(inputs).into_iter();
    all.map(|(cylinder, series)| (cylinder, plain(series)))
        .collect()
}

/// The same series with the errors of the volumes, for [`crate::decide::learn_from`].
pub fn cut_volumes(inputs: &ReportInputs<'_>) -> Vec<(u32, Vec<(f64, Estimate)>)> {
    cuts::volumes(inputs)
}
