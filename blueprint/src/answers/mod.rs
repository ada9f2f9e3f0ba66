//! Questions about an engine and their answers as documents. Every question, however it was asked,
//! reaches through this module the decisions of [`crate::decide`].
//!
//! A question carries its values as they were typed, with their units. A value that it leaves out
//! is taken from the engine file. An answer is a document: `--json` prints it and tables are made
//! from it. This module does not know where a question came from.

mod asked;
mod chambers;
mod compared;
mod context;
mod dome;
mod error;
mod fit;
mod gaps;
mod gasket;
mod mill;
mod next;
mod ratio;
mod simulate;
mod study;
mod tables;
mod tdc;

use serde::{Deserialize, Serialize};

pub use crate::decide::{BeforeAfter, CompressionInput, GapAfter, OneSide};
pub use asked::{
    ChambersAsked, CompareAsked, DomeAsked, EffectiveAsked, FitAsked, GasketAsked, GasketOffered,
    MillAsked, NextAsked, PistonOffered, PortsAsked, Question, RodOffered, SensitivitiesAsked,
    SimulateAsked, TargetAsked, WhatIfAsked,
};
pub use compared::{
    ComparedAnswer, ComparedCylinder, ComparedFlowAtLift, ComparedLift, ComparedPort, PortsAnswer,
};
pub use dome::{CrownAt, DomeAnswer};
pub use error::{AskError, AskTrouble};
pub use fit::FitAnswer;
pub use gasket::GasketAnswer;
pub use mill::{CutAt, HeadCut, MillAnswer};
pub use next::{GoalAnswer, NextAnswer, NextReading};
pub use ratio::{
    EffectiveAnswer, EffectiveCylinder, InputAnswer, SensitivitiesAnswer, TargetAnswer,
    TargetCylinder,
};
pub use simulate::{SimulateAnswer, SimulatedFigure};
pub use study::{StudyAnswer, StudyShare, StudyShareName, StudyVariation, gauge_study};
pub use tables::{gaskets_from_csv, parts_from_csv};
pub use tdc::{TdcAnswer, TdcAsked, TdcPair, true_tdc};

use crate::decide::ChamberWork;

use crate::engine::LengthUnits;
use crate::report::ReportInputs;
use context::Context;

/// An answer, with the engine and the stage that it is about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AnswerDocument {
    /// The engine's name.
    pub engine: String,
    /// Whether the engine and its readings are invented.
    pub invented: bool,
    /// The units of lengths.
    pub units: LengthUnits,
    /// The stage that it is about.
    pub stage: String,
    /// The answer.
    pub answer: Answer,
    /// What the answer rests on and what could not be known, in a sentence each.
    pub remarks: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// The answers, each by the name of its question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "ask", rename_all = "kebab-case")]
pub enum Answer {
    /// How deep to mill each head.
    Mill(Box<MillAnswer>),
    /// What to grind out of each chamber.
    Chambers(ChamberWork),
    /// The crown to order.
    Dome(DomeAnswer),
    /// Which gasket to take.
    Gasket(GasketAnswer),
    /// The parts in their bores.
    Fit(FitAnswer),
    /// Which reading to take next.
    Next(NextAnswer),
    /// What changes would do.
    WhatIf(ComparedAnswer),
    /// Two states beside each other.
    Compare(ComparedAnswer),
    /// Port against port.
    Ports(PortsAnswer),
    /// What the compression answers to.
    Sensitivities(SensitivitiesAnswer),
    /// Effective ratios.
    Effective(EffectiveAnswer),
    /// What separates each cylinder from a target.
    Target(TargetAnswer),
    /// Figures by simulation.
    Simulate(SimulateAnswer),
}

/// The other side of a comparison.
#[derive(Debug, Clone, Copy)]
pub struct ComparedWith<'a> {
    /// Engine, readings and stage.
    pub inputs: ReportInputs<'a>,
    /// The other job's name; `None`: the same job at another stage, whose parts share their errors.
    pub job: Option<&'a str>,
}

/// Answers a question about one stage of an engine; `against` is the other side where the question
/// compares.
///
/// # Errors
/// What is wrong with the question, the readings, or what is missing.
pub fn answer(
    inputs: &ReportInputs<'_>,
    against: Option<&ComparedWith<'_>>,
    question: &Question,
) -> Result<AnswerDocument, AskError> {
    let context = &mut Context::new(inputs)?;
    let answer = match question {
        Question::Mill(asked) => Answer::Mill(Box::new(mill::answer(context, asked)?)),
        Question::Chambers(asked) => Answer::Chambers(chambers::answer(context, asked)?),
        Question::Dome(asked) => Answer::Dome(dome::answer(context, asked)?),
        Question::Gasket(asked) => Answer::Gasket(gasket::answer(context, asked)?),
        Question::Fit(asked) => Answer::Fit(fit::answer(context, asked)?),
        Question::Next(asked) => Answer::Next(next::answer(context, asked)?),
        Question::WhatIf(asked) => Answer::WhatIf(compared::changed(context, asked)?),
        Question::Compare(_) => Answer::Compare(beside(context, against)?),
        Question::Ports(_) => Answer::Ports(compared::ports(context)?),
        Question::Sensitivities(asked) => Answer::Sensitivities(ratio::answers_to(context, asked)?),
        Question::Effective(asked) => Answer::Effective(ratio::effective(context, asked)?),
        Question::Target(asked) => Answer::Target(ratio::from_target(context, asked)?),
        Question::Simulate(asked) => Answer::Simulate(simulate::answer(context, asked)?),
    };
    Ok(AnswerDocument {
        engine: inputs.engine.name.clone(),
        invented: inputs.engine.invented,
        units: inputs.engine.units,
        stage: context.state.stage.clone(),
        answer,
        remarks: std::mem::take(&mut context.remarks),
        cautions: std::mem::take(&mut context.cautions),
    })
}

/// Compares the other side, as before, with this one, as after.
fn beside(
    context: &mut Context<'_>,
    against: Option<&ComparedWith<'_>>,
) -> Result<ComparedAnswer, AskError> {
    let against = against.ok_or_else(|| {
        AskError::bad(
            "nothing is named to compare with",
            "another stage, or another job",
            "give --against-stage, --against-job, or --against-engine with --against-readings",
        )
    })?;
    let other = crate::report::engine_figures(&against.inputs)?;
    let stage = other.stage.clone();
    let after = context.state.stage.clone();
    let (other, before) = match against.job {
        None if stage == after => {
            return Err(AskError::bad(
                format!("stage {stage:?} is compared with itself"),
                "two stages, or two jobs",
                "name another stage with --against-stage",
            ));
        }
        None => (other, stage),
        Some(job) => (other.of_job(job), format!("{job}, {stage}")),
    };
    Ok(compared::beside(context, &other, (before, after)))
}
