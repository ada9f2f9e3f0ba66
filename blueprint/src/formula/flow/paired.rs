//! What samples of a flow bench that were taken together show of its flow.
//!
//! The flow goes by the root of a metering pressure, or is shown itself, over the root of the test
//! pressure (`docs/formulas.md`, section 10, items 1 and 5). What the pressures do together leaves it as
//! it is. The factor that bench and air bring is left out: only ratios of such flows mean anything.

use crate::units::QuantityKind;

/// The power of a part in the flow; `None` of what is neither a pressure nor a flow.
fn power(kind: QuantityKind) -> Option<f64> {
    match kind {
        QuantityKind::Pressure => Some(0.5),
        QuantityKind::Flow => Some(1.0),
        _ => None,
    }
}

/// The flow but for a factor, from the test pressure and what is shown beside it: a metering pressure, or
/// the flow itself, by its kind. Any units, the same for all that are compared. `None` where there is no
/// such flow.
pub fn flow_of_pair(test: f64, beside: f64, kind: QuantityKind) -> Option<f64> {
    let flow = beside.abs().powf(power(kind)?) / test.abs().sqrt();
    (flow.is_finite() && flow > 0.0).then_some(flow)
}

/// The standard error of a part, in the unit of its value, that alone makes the flow err by this share
/// (its relative standard error). `None` of what is neither a pressure nor a flow.
pub fn error_of_part(share: f64, value: f64, kind: QuantityKind) -> Option<f64> {
    Some(share / power(kind)? * value.abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_both_pressures_do_together_leaves_the_flow_as_it_is() {
        use QuantityKind::{Flow, Length, Pressure};
        let by = |test, beside, kind| flow_of_pair(test, beside, kind).expect("a flow");
        assert!((by(28.0, 8.0, Pressure) - by(14.0, -4.0, Pressure)).abs() < 1e-12);
        // A shown flow goes by the root of the test pressure.
        assert!((by(28.0, 200.0, Flow) / by(7.0, 100.0, Flow) - 1.0).abs() < 1e-12);
        assert_eq!(flow_of_pair(28.0, 0.3, Length), None);
        assert_eq!(flow_of_pair(0.0, 8.0, Pressure), None);
    }

    #[test]
    fn a_pressure_counts_half_and_a_flow_whole() {
        let error = |kind| error_of_part(0.01, 8.0, kind);
        assert_eq!(error(QuantityKind::Pressure), Some(0.16));
        assert_eq!(error(QuantityKind::Flow), Some(0.08));
        assert_eq!(error(QuantityKind::Temperature), None);
    }
}
