//! How the units in which settings are written convert to a gauge's own unit.
//!
//! The module knows units and nothing of what is measured.

use benchhand_drivers::{QuantityKind, Unit};

/// How many of `unit` make one of the unit that settings are written in (mm, cc, g); 1 for other
/// units.
pub(crate) fn per_base(unit: Unit) -> f64 {
    match unit.kind() {
        QuantityKind::Length | QuantityKind::Volume | QuantityKind::Mass => 1.0 / unit.factor(),
        _ => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_follow_the_gauge_unit() {
        assert!((0.25 * per_base(Unit::Inch) - 0.009_842_5).abs() < 1e-6);
        assert!((0.25 * per_base(Unit::Thou) - 9.842_5).abs() < 1e-4);
    }
}
