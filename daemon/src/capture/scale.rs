//! How the units in which settings are written convert to a gauge's own unit.
//!
//! The module knows units and nothing of what is measured.

use benchhand_drivers::Unit;

/// How many of `unit` make one of the unit that settings are written in (mm, cc, g); 1 for other
/// units.
pub(crate) fn per_base(unit: Unit) -> f64 {
    match unit {
        Unit::Micrometre => 1e3,
        Unit::Inch => 1.0 / 25.4,
        Unit::Thou => 1.0 / 0.0254,
        Unit::Litre => 1e-3,
        Unit::Milligram => 1e3,
        Unit::Kilogram => 1e-3,
        // NIST SP 811 appendix B.8: 1 oz (avoirdupois) = 28.34952 g, 1 lb = 453.59237 g.
        Unit::Ounce => 1.0 / 28.349_523_125,
        Unit::Pound => 1.0 / 453.592_37,
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
