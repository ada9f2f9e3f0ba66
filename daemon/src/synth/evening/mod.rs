//! Whole evenings at a burette: a hand that works as hands do, and the truth of each chamber.
//!
//! From a seed comes a plan (the burette, the chambers, what will happen); a hand carries it out
//! against whatever stands behind [`PlayedTool`], sees what is said, answers what is asked, and at
//! the end every chamber is judged: right, asked about, wrong in silence, missing. Nothing here
//! knows how capture or a route decide.

mod burette;
mod hand;
mod plan;
mod pouring;
mod station;
mod tool;
mod verdict;

pub use burette::BuretteMake;
pub use hand::{EveningHand, play};
pub use plan::{EveningKind, EveningPlan, Mishap, MishapMoment, StopPlan};
pub use tool::{
    HandAnswer, HandRequest, PlayedTool, QuestionReason, Refused, ShownStop, ToolQuestion,
};
pub use verdict::{EveningTotals, JudgedStop, PlayedEvening, StopVerdict};
