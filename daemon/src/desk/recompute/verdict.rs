//! Whether a kept reading and what its stream gives are the same. What a stream gives is made out in
//! the module above.

use benchhand_blueprint::Unit;
use benchhand_blueprint::units::QuantityKind;
use benchhand_wire::RecomputedReading;

use super::Made;
use crate::store::streams::ReadingEvidence;

pub(super) const SAME: &str = "same";
pub(super) const NEAR: &str = "near";
pub(super) const DIFFERENT: &str = "different";
pub(super) const NO_STREAM: &str = "no stream";

/// A reading beside what its stream gives at the same moment.
pub(super) fn compared(evidence: &ReadingEvidence, made: &Made) -> RecomputedReading {
    let kept = evidence.raw.unwrap_or(evidence.value);
    let at = (evidence.stream.file.clone(), evidence.stream.at_us);
    let again = made.values.get(&at).and_then(|values| {
        let nearest = |a: &&f64, b: &&f64| (*a - kept).abs().total_cmp(&(*b - kept).abs());
        values.iter().min_by(nearest).copied()
    });
    let verdict = match again {
        _ if evidence.path.is_none() => NO_STREAM,
        None if made.ends.get(&at.0).is_none_or(|&end_us| end_us < at.1) => NO_STREAM,
        Some(again) if again == kept => SAME,
        Some(again)
            if evidence
                .step
                .is_some_and(|step| (again - kept).abs() < 0.1 * step) =>
        {
            NEAR
        }
        _ => DIFFERENT,
    };
    RecomputedReading {
        in_window: if verdict == NO_STREAM {
            in_window(evidence, kept)
        } else {
            None
        },
        id: evidence.reading,
        number: None,
        held_by: evidence.held_by.clone(),
        spot: evidence.spot.clone(),
        kept,
        again,
        unit: evidence
            .raw_unit
            .clone()
            .unwrap_or_else(|| evidence.unit.clone()),
        stream: at.0,
        at_us: at.1,
        verdict: verdict.to_owned(),
    }
}

/// Whether a value lies within the samples of its window, by a step of the gauge. `None` for a
/// pour, which is a difference of two levels, and where no samples were kept.
fn in_window(evidence: &ReadingEvidence, kept: f64) -> Option<bool> {
    let unit = evidence.raw_unit.as_ref().unwrap_or(&evidence.unit);
    let kind = unit.parse::<Unit>().ok()?.kind();
    if matches!(kind, QuantityKind::Volume | QuantityKind::Mass) || evidence.window.is_empty() {
        return None;
    }
    let values = || evidence.window.iter().map(|sample| sample.1);
    let (low, high) = (
        values().fold(f64::INFINITY, f64::min),
        values().fold(f64::NEG_INFINITY, f64::max),
    );
    // A turning point lies a little beyond the samples beside it: by no more than they reach.
    let beyond = (high - low).max(evidence.step.unwrap_or(0.0));
    Some(kept >= low - beyond && kept <= high + beyond)
}
