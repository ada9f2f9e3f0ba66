//! The report: from an engine and its readings to figures, means, spreads and findings.
//!
//! The report lists what is missing and never fills it in. It says which value is unlike the
//! others, not why. It deletes nothing.

mod bores;
mod build;
mod contacts;
mod cuts;
mod cylinders;
mod deck;
mod deck_doubts;
mod dimensions;
mod document;
mod errors;
mod every_gauge;
mod finding;
mod findings;
mod flow;
pub(crate) mod lacking;
mod liquid;
mod missing;
mod pool;
mod pooled_readings;
mod remarks;
mod repeatability;
mod sets;
mod stage;
mod surroundings;
mod valve_gaps;
mod verdicts;
pub(crate) mod words;
mod writing;

pub use document::{
    BoreReport, BudgetShare, CoefficientReport, CylinderCounts, CylinderReport, DimensionUsed,
    ExpandedUncertainty, Finding, FindingKind, FlowAtLift, FlowReport, GapReport, InputsUsed,
    MeasuredReport, Report, ReportSummary, RunningPort, RunningVelocity, SpreadsOfEquals,
    StatedLimits, ToleranceName, ToleranceVerdict,
};

use crate::engine::{Engine, Stage};
use crate::engine_figures::EngineFigures;
use crate::figure::Estimate;
use crate::readings::Reading;
use crate::spot::SpotError;

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
    /// A reading's spot does not belong to the engine.
    #[error("reading {reading}: {error}")]
    Spot {
        /// The reading's id.
        reading: String,
        /// What is wrong.
        error: SpotError,
    },
    /// A reading's unit does not fit its spot.
    #[error(
        "reading {reading} of {spot} is in {found}; this spot takes {expected}; correct its unit"
    )]
    Unit {
        /// The reading's id.
        reading: String,
        /// The spot.
        spot: String,
        /// The unit that was found.
        found: crate::Unit,
        /// What the spot takes.
        expected: crate::units::QuantityKind,
    },
    /// There is no such stage.
    #[error("there is no stage {asked:?}; the stages are {}", known.join(", "))]
    Stage {
        /// The stage that was asked for.
        asked: String,
        /// The stages of the job.
        known: Vec<String>,
    },
    /// A cylinder's clearance volume is not positive.
    #[error(
        "cylinder {cylinder} would have a total volume at TDC of {clearance:.2} cc, expected more than 0; found chamber {chamber:.2} cc, gasket {gasket:.2} cc, deck {deck:.2} cc, volume above the top ring {crevice:.2} cc and dome {crown:.2} cc (a dish is negative); correct the reading that is wrong"
    )]
    Clearance {
        /// The cylinder.
        cylinder: u32,
        /// Clearance volume, cc.
        clearance: f64,
        /// Parts, cc.
        chamber: f64,
        /// Gasket volume, cc.
        gasket: f64,
        /// Deck volume, cc.
        deck: f64,
        /// Crevice volume, cc.
        crevice: f64,
        /// Crown volume, cc.
        crown: f64,
    },
    /// A reading is impossible, such as a negative volume.
    #[error("reading {reading}, {spot}: found {found}, expected {expected}; correct the reading")]
    Impossible {
        /// The reading's id.
        reading: String,
        /// The spot.
        spot: String,
        /// What was found.
        found: String,
        /// What was expected.
        expected: String,
    },
    /// A measured dimension is impossible.
    #[error("{spot}: found {found}, expected {expected}; correct the reading")]
    Absurd {
        /// The spot.
        spot: String,
        /// What was found.
        found: String,
        /// What was expected.
        expected: String,
    },
}

/// Makes the report.
pub fn report(inputs: &ReportInputs<'_>) -> Result<Report, ReportError> {
    build::report(inputs)
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
