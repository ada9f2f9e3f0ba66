//! Verdicts with three answers: within, outside, cannot be told with these gauges.
//!
//! Source: ISO 14253-1 (from memory): conformity is proven inside the limits reduced by U,
//! nonconformity outside the limits enlarged by U. Between them neither is proven. A value on
//! such a limit counts as proven. Unrounded values are compared.

use serde::Serialize;

use crate::figure::Figure;

/// The three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, serde::Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "VerdictAnswer")
)]
#[serde(rename_all = "snake_case")]
pub enum VerdictAnswer {
    /// Proven to lie within the limits.
    Within,
    /// Proven to lie outside of them.
    Outside,
    /// It cannot be told with these gauges.
    CannotTell,
}

/// Limits, in the unit of the figure; `None`: there is none on that side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct VerdictLimits {
    /// The least.
    pub least: Option<f64>,
    /// The most.
    pub most: Option<f64>,
}

/// An answer with what it rests on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// The answer.
    pub answer: VerdictAnswer,
    /// The limits.
    pub limits: VerdictLimits,
    /// U = k·u, `None` if it is unknown; then nothing can be told.
    pub expanded: Option<f64>,
    /// The uncertainties that are lacking and enter at an assumed width, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<String>,
    /// Whether some value could be proven within at all: U is at most half of the tolerance.
    pub can_ever_be_within: bool,
}

/// The sentence that says how verdicts were reached.
pub fn coverage_note() -> String {
    "Verdicts allow U = 2 times the standard uncertainty on both sides, more where few repeats stand behind it; what is lacking counts at a width that is usual for its kind. The verdict on a spread comes from a simulation of its readings, which can tell more than its ±.".to_owned()
}

/// The verdict on a figure.
pub fn verdict(figure: &Figure, limits: VerdictLimits) -> Verdict {
    Verdict {
        assumed: figure.lacking.clone(),
        ..verdict_with(figure.value, figure.expanded_assumed(), limits)
    }
}

/// How far what is lacking may be off in all before a verdict of "within" by what is known would no
/// longer hold, in the unit of the figure; `None` if nothing is lacking or it does not hold.
pub fn unless_off_by(figure: &Figure, limits: VerdictLimits) -> Option<f64> {
    let known = figure
        .expanded_known()
        .filter(|_| !figure.lacking.is_empty())?;
    let below = limits
        .least
        .map_or(f64::INFINITY, |least| figure.value - least);
    let above = limits
        .most
        .map_or(f64::INFINITY, |most| most - figure.value);
    let room = below.min(above);
    // Errors that are independent of each other add as squares.
    (room > known).then(|| (room * room - known * known).sqrt())
}

/// The verdict on a value with its expanded uncertainty.
pub(crate) fn verdict_with(value: f64, expanded: Option<f64>, limits: VerdictLimits) -> Verdict {
    let (least, most) = (
        limits.least.unwrap_or(f64::NEG_INFINITY),
        limits.most.unwrap_or(f64::INFINITY),
    );
    let answer = match expanded {
        None => VerdictAnswer::CannotTell,
        Some(u) if least + u <= value && value <= most - u => VerdictAnswer::Within,
        Some(u) if value <= least - u || value >= most + u => VerdictAnswer::Outside,
        Some(_) => VerdictAnswer::CannotTell,
    };
    let can_ever_be_within = expanded.is_some_and(|u| least + u <= most - u);
    Verdict {
        answer,
        limits,
        expanded,
        assumed: Vec::new(),
        can_ever_be_within,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Unit;

    #[test]
    fn without_an_uncertainty_nothing_can_be_told() {
        let limits = VerdictLimits {
            least: Some(0.0),
            most: Some(1.0),
        };
        let found = verdict(&Figure::bare(0.5, Unit::One), limits);
        assert_eq!(found.answer, VerdictAnswer::CannotTell);
    }

    #[test]
    fn a_limit_on_one_side_is_enough() {
        let limits = VerdictLimits {
            least: Some(1.0),
            most: None,
        };
        let figure = |value| Figure::new(value, Some(0.1), Unit::Millimetre);
        assert_eq!(verdict(&figure(1.3), limits).answer, VerdictAnswer::Within);
        assert_eq!(
            verdict(&figure(1.1), limits).answer,
            VerdictAnswer::CannotTell
        );
        assert_eq!(verdict(&figure(0.7), limits).answer, VerdictAnswer::Outside);
        assert!(verdict(&figure(0.7), limits).can_ever_be_within);
    }
}
