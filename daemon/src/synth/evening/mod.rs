//! Whole evenings at a burette: a hand that works as hands do, and the truth of each chamber.
//!
//! A seed gives a plan: the burette, the chambers, and what will happen. A hand carries the plan out
//! against the tool behind [`PlayedTool`]. The hand sees what the tool says and answers its
//! questions. At the end each chamber is judged: right, asked about, wrong in silence, or missing.
//! Nothing here knows how capture or a route decides.

mod burette;
mod fumbling;
mod hand;
mod plan;
mod pouring;
mod station;
mod tool;
mod verdict;

pub use burette::BuretteMake;
pub use hand::{EveningHand, play};
pub use plan::{EveningKind, EveningPlan, Fumble, Mishap, MishapMoment, StopPlan};
pub use tool::{
    HandAnswer, HandRequest, PlayedTool, QuestionReason, Refused, ShownStop, ToolQuestion,
};
pub use verdict::{EveningTotals, JudgedStop, PlayedEvening, StopVerdict};
