//! Whole evenings at a burette: a hand that works as hands do, and the truth of each chamber.
//!
//! From a seed comes a plan (the burette, the chambers, what will happen); a hand carries it out
//! against whatever stands behind [`Tool`], sees what is said, answers what is asked, and at the
//! end every chamber is judged: right, asked about, wrong in silence, missing. Nothing here knows
//! how capture or a route decide.

mod bench;
mod burette;
mod hand;
mod plan;
mod pouring;
mod tool;
mod verdict;

pub use burette::Make;
pub use hand::{Hand, play};
pub use plan::{EveningKind, Mishap, Plan, StopPlan, When};
pub use tool::{Answer, Ask, Question, Refused, Shown, Tool, Why};
pub use verdict::{Judged, Played, Totals, Verdict};
