//! Which values are known far worse than is usual among them. Knows nothing of what they are for.

use crate::figure::Estimate;

/// Known far worse: the width is more than this many times the middle one. From no source: of pairs
/// of repeats, which hardly know their scatter, few are as wide by chance.
const FAR_WORSE: f64 = 2.0;

/// Which of the values are known far worse than is usual among them, in their order. None is where
/// fewer than half, or fewer than two, would be left. What is known of a value tells, not where the
/// value lies.
pub(super) fn known_far_worse(values: &[&Estimate]) -> Vec<bool> {
    let widths: Vec<f64> = values
        .iter()
        .map(|one| one.expanded_assumed().unwrap_or(f64::INFINITY))
        .collect();
    let mut sorted = widths.clone();
    sorted.sort_by(f64::total_cmp);
    let usual = sorted.get(sorted.len().saturating_sub(1) / 2);
    let usual = usual.copied().unwrap_or(f64::INFINITY);
    // Where even the middle one is unknown, none is worse than usual.
    let worse: Vec<bool> = widths.iter().map(|w| *w > FAR_WORSE * usual).collect();
    let left = worse.iter().filter(|worse| !**worse).count();
    match left >= 2 && 2 * left >= values.len() {
        true => worse,
        false => vec![false; values.len()],
    }
}

/// The values without those that are known far worse; `None` where there is no such value.
pub(super) fn well_known(values: &[Estimate]) -> Option<Vec<&Estimate>> {
    let all: Vec<&Estimate> = values.iter().collect();
    let worse = known_far_worse(&all);
    let some: Vec<&Estimate> = all
        .iter()
        .zip(worse)
        .filter_map(|(one, worse)| (!worse).then_some(*one))
        .collect();
    (some.len() < values.len() && !some.is_empty()).then_some(some)
}

/// The place of the largest value among those that are not known far worse; `None` if there is none.
pub(super) fn largest_well_known(values: &[&Estimate]) -> Option<usize> {
    let worse = known_far_worse(values);
    let known = values.iter().enumerate().filter(|(at, _)| !worse[*at]);
    let largest = known.max_by(|a, b| a.1.value().total_cmp(&b.1.value()));
    largest.map(|(at, _)| at)
}
