//! The report: from an engine and its readings to figures, means, spreads and findings.
//!
//! It lists what is missing and never fills it in; it says what is unlike its brothers, not why;
//! it deletes nothing.

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
    ToleranceName, ToleranceVerdict,
};

use crate::engine::{Engine, Stage};
use crate::engine_figures::EngineFigures;
use crate::figure::Estimate;
use crate::readings::Reading;
use crate::spot::SpotError;

/// What a report is made from.
#[derive(Debug, Clone, Copy)]
pub struct ReportInputs<'a> {
    /// The engine, with its gauges.
    pub engine: &'a Engine,
    /// All readings that hold, of all stages.
    pub readings: &'a [Reading],
    /// The stages in their order and what each cut changed; where empty, those of the engine file
    /// and then those that the readings name.
    pub stages: &'a [Stage],
    /// The stage to report; `None`: the last that has readings.
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
        /// Those that there are.
        known: Vec<String>,
    },
    /// A cylinder's clearance volume is not positive.
    #[error(
        "cylinder {cylinder} would have a clearance volume of {clearance:.2} cc, expected more than 0; found chamber {chamber:.2} cc, gasket {gasket:.2} cc, deck {deck:.2} cc, crevice {crevice:.2} cc and crown {crown:.2} cc (a dome is positive, a dish negative); correct the reading that is wrong"
    )]
    Clearance {
        /// The cylinder.
        cylinder: u32,
        /// Its clearance volume, cc.
        clearance: f64,
        /// Its parts, cc.
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
    /// A reading cannot be, such as a volume of less than nothing.
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
    /// A measured dimension cannot be.
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

/// What is known of every cylinder: the same readings, as estimates for decisions.
pub fn engine_figures(inputs: &ReportInputs<'_>) -> Result<EngineFigures, ReportError> {
    build::engine_figures(inputs)
}

/// What the job's own cuts of stated depth have taken: for each cylinder a series of depth (mm) and
/// chamber volume (cc), for [`crate::decide::learn_within`].
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

/// The same with the errors of the volumes, for [`crate::decide::learn_from`].
pub fn cut_volumes(inputs: &ReportInputs<'_>) -> Vec<(u32, Vec<(f64, Estimate)>)> {
    cuts::volumes(inputs)
}
