//! How far flow went from the stage before, in words. The comparison is the answers' own.

use benchhand_blueprint::answers::ComparedFlowAtLift;
use benchhand_blueprint::report::Report;
use benchhand_words::digits::{decimals_of, rounded};
use benchhand_words::stated::{half_width, width_told};

/// The stage before, and the way from there.
pub(super) struct FlowBefore<'a> {
    /// Its report.
    pub(super) report: &'a Report,
    /// The changes, lift by lift and kind by kind.
    pub(super) changes: &'a [ComparedFlowAtLift],
}

/// The ± in percent; `None` where it is not known.
fn percent(one: &ComparedFlowAtLift) -> Option<f64> {
    half_width(&one.difference).map(|width| 100.0 * width)
}

fn digits(one: &ComparedFlowAtLift) -> i32 {
    let width = percent(one).filter(|width| *width > 0.0);
    width.map_or(1, |width| decimals_of(width).min(1))
}

/// "+5.8", in percent of what was before.
pub(super) fn told(one: &ComparedFlowAtLift) -> String {
    let percent = 100.0 * one.difference.value;
    let told = rounded(percent, digits(one));
    match percent > 0.0 {
        true => format!("+{told}"),
        false => told,
    }
}

/// Its ±; "?" where it is not known.
pub(super) fn width(one: &ComparedFlowAtLift) -> String {
    let width = percent(one);
    width.map_or("?".to_owned(), |width| width_told(width, digits(one)))
}

/// Whether it is real, in a word.
pub(super) fn judged(one: &ComparedFlowAtLift) -> &'static str {
    match one.real {
        Some(true) => "yes",
        Some(false) => "too close",
        None => "not judged",
    }
}
