//! The units of the table that gauges can send.
//!
//! No conversion happens here. A value keeps the unit in which the gauge sent it.

pub use benchhand_units::{QuantityKind, Unit};

/// Every unit that a gauge may send.
pub const SENT: &[Unit] = &[
    Unit::Millimetre,
    Unit::Micrometre,
    Unit::Inch,
    Unit::Thou,
    Unit::CubicCentimetre,
    Unit::Litre,
    Unit::Gram,
    Unit::Milligram,
    Unit::Kilogram,
    Unit::Ounce,
    Unit::Pound,
    Unit::Pascal,
    Unit::Hectopascal,
    Unit::Kilopascal,
    Unit::Bar,
    Unit::Psi,
    Unit::InchWater,
    Unit::MillimetreWater,
    Unit::InchMercury,
    Unit::MillimetreMercury,
    Unit::CubicFootPerMinute,
    Unit::LitrePerMinute,
    Unit::CubicMetrePerHour,
    Unit::Celsius,
    Unit::Fahrenheit,
    Unit::Degree,
    Unit::PercentHumidity,
    Unit::One,
];

/// The unit that a gauge means by `symbol`. `None` if gauges send no unit with this symbol.
#[must_use]
pub fn sent(symbol: &str) -> Option<Unit> {
    symbol.parse().ok().filter(|unit| SENT.contains(unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_of_the_table_that_no_gauge_sends_is_none() {
        for unit in SENT {
            assert_eq!(sent(unit.symbol()), Some(*unit));
        }
        for never in ["m", "K", "in2", "rpm", "furlong"] {
            assert_eq!(sent(never), None, "{never}");
        }
    }
}
