//! From figures to decisions: how much to mill, which dome to order, which gasket, which piston
//! where, what if, and whether the difference can be told at all.
//!
//! Every decision carries its uncertainty and what it changes elsewhere. None of them knows the
//! readings behind the figures, only [`EngineFigures`](crate::engine_figures::EngineFigures).

mod assign;
mod chamber_work;
mod contact;
mod errors;
mod flow;
mod gaps;
mod known_worse;
mod lattice;
mod matching;
mod mill;
mod next;
mod order;
mod ratio;
mod simulated;
mod verdict;
mod what_if;

pub use assign::{
    Assignment, AssignmentError, BoreToFill, PartSide, PistonPart, PlacedParts, RodPart, assign,
    assign_by_sorting,
};
pub use chamber_work::{ChamberWork, CylinderWork, MadeEqual, chamber_work, least_chamber_work};
pub use contact::{Contact, ContactWith, contact_caution, contacts_in_order};
pub use flow::{
    FlowChange, FlowComparison, FlowDifference, flow_against_brothers, flow_before_after,
    flow_changes,
};
pub use gaps::{GapAfter, gap_after};
pub use matching::{MatchingError, least_largest, least_sum};
pub use mill::{
    CutEffect, DeepestPlace, MillAim, MillDecision, MillError, MillModel, TippedCut, learn,
    learn_from, learn_within, mill_angled, mill_flat,
};
pub use next::{NextCandidate, NextGoal, UnknownGoal, next_reading};
pub use order::{
    DomeOrder, GasketChoice, GasketOffer, crowns_wanted, dome_to_order, gasket_choices,
    quench_warnings, thickness_to_order,
};
pub use ratio::{
    CompressionInput, DistanceToTarget, Sensitivity, effective_ratios, sensitivities, target,
};
pub use simulated::{SpreadVerdict, expected_spread_of_equals, spread_verdict};
pub use verdict::{Verdict, VerdictAnswer, VerdictLimits, coverage_note, unless_off_by, verdict};
pub use what_if::{
    BeforeAfter, ChangeError, DimensionChange, FiguresComparison, OneSide, compare, what_if,
};

use crate::figure::{Estimate, Scalar};

/// The root of a function of one number that also depends on estimates: its value by Newton's
/// method, its uncertainty by the implicit function theorem. `None` if it does not converge.
///
/// `function` is called with exact numbers.
pub(crate) fn solve(
    start: f64,
    function: impl Fn(&Estimate) -> Option<Estimate>,
) -> Option<Estimate> {
    let at = |x: f64| function(&Estimate::exact(x));
    let slope_at =
        |x: f64, step: f64| Some((at(x + step)?.value() - at(x - step)?.value()) / (2.0 * step));
    let mut x = start;
    for _ in 0..60 {
        let step = 1e-4 * x.abs().max(1e-2);
        let correction = at(x)?.value() / slope_at(x, step)?;
        if !correction.is_finite() {
            return None;
        }
        x -= correction;
        if correction.abs() <= 1e-14 * x.abs().max(1e-3) {
            break;
        }
    }
    let slope = slope_at(x, 1e-4 * x.abs().max(1e-2))?;
    let residual = at(x)?;
    let root = residual.map(x - residual.value() / slope, -1.0 / slope);
    root.value().is_finite().then_some(root)
}
