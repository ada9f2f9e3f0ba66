//! Quantities as requests state them: a number with a unit, as text.

use benchhand_blueprint::Quantity;
use benchhand_blueprint::units::{QuantityKind, Unit};
use benchhand_wire::{Reason, Refusal};

/// The refusal of a value in a request that cannot be read.
pub(crate) fn bad(error: impl std::fmt::Display) -> Refusal {
    Refusal::new(Reason::BadInput, error.to_string())
}

/// A number with a unit of the right kind.
pub(crate) fn quantity(text: &str, kind: QuantityKind) -> Result<Quantity, Refusal> {
    let number = text.trim();
    if number.parse::<f64>().is_ok() {
        let found = format!("{number:?} has no unit");
        let expected = format!(
            "a number and its unit, such as \"{number} {}\"",
            usual(kind)
        );
        return Err(Refusal::new(Reason::BadInput, found).expected(expected));
    }
    text.parse::<Quantity>()
        .and_then(|q| q.expect(kind))
        .map_err(bad)
}

/// A unit in which a quantity of a kind is often told.
fn usual(kind: QuantityKind) -> Unit {
    match kind {
        QuantityKind::Volume => Unit::CubicCentimetre,
        QuantityKind::Mass => Unit::Gram,
        QuantityKind::Pressure => Unit::InchWater,
        QuantityKind::Flow => Unit::CubicFootPerMinute,
        QuantityKind::Temperature => Unit::Celsius,
        QuantityKind::Angle => Unit::Degree,
        QuantityKind::Humidity => Unit::PercentHumidity,
        _ => Unit::Millimetre,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_without_a_unit_is_told_one_of_its_kind() {
        for (kind, unit) in [
            (QuantityKind::Volume, "cc"),
            (QuantityKind::Temperature, "degC"),
            (QuantityKind::Length, "mm"),
        ] {
            let refusal = quantity(" 21 ", kind).expect_err("no unit");
            let wanted = format!("\"21 {unit}\"");
            assert!(refusal.expected.contains(&wanted), "{refusal:?}");
        }
        assert_eq!(
            quantity("21 cc", QuantityKind::Volume).expect("one").value,
            21.0
        );
    }
}
