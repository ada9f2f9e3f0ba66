//! The units that gauges send, as symbols.
//!
//! No conversion happens here: what a gauge sent is handed on in its own unit.

use std::fmt;
use std::str::FromStr;

/// What sort of quantity a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Length.
    Length,
    /// Volume.
    Volume,
    /// Mass.
    Mass,
    /// Pressure.
    Pressure,
    /// Volume flow.
    Flow,
    /// Temperature.
    Temperature,
    /// Angle.
    Angle,
    /// Relative humidity.
    Humidity,
    /// A plain number or a ratio.
    Number,
}

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident, $kind:ident, $symbol:literal $(, $alias:literal)*;)*) => {
        /// A unit a gauge may send.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Unit { $($(#[$doc])* $name,)* }

        impl Unit {
            /// Every unit, in the order of the table.
            pub const ALL: &'static [Unit] = &[$(Unit::$name,)*];

            /// The symbol used in profiles, streams and the journal.
            pub fn symbol(self) -> &'static str {
                match self { $(Unit::$name => $symbol,)* }
            }

            /// What sort of quantity it measures.
            pub fn kind(self) -> Kind {
                match self { $(Unit::$name => Kind::$kind,)* }
            }
        }

        impl FromStr for Unit {
            type Err = UnknownUnit;
            fn from_str(text: &str) -> Result<Self, UnknownUnit> {
                match text.trim() {
                    $($symbol $(| $alias)* => Ok(Unit::$name),)*
                    other => Err(UnknownUnit(other.to_owned())),
                }
            }
        }
    };
}

units! {
    /// Millimetre.
    Millimetre, Length, "mm", "MM";
    /// Micrometre.
    Micrometre, Length, "um", "µm", "μm";
    /// Inch.
    Inch, Length, "in", "IN", "inch", "\"";
    /// Thousandth of an inch.
    Thou, Length, "thou", "mil";
    /// Cubic centimetre, the same as a millilitre.
    CubicCentimetre, Volume, "cc", "CC", "ml", "mL", "ML", "cm3", "cm³";
    /// Litre.
    Litre, Volume, "L", "l";
    /// Gram.
    Gram, Mass, "g", "G";
    /// Milligram.
    Milligram, Mass, "mg";
    /// Kilogram.
    Kilogram, Mass, "kg", "KG";
    /// Avoirdupois ounce.
    Ounce, Mass, "oz";
    /// Avoirdupois pound.
    Pound, Mass, "lb";
    /// Pascal.
    Pascal, Pressure, "Pa";
    /// Hectopascal, the same as a millibar.
    Hectopascal, Pressure, "hPa", "mbar";
    /// Kilopascal.
    Kilopascal, Pressure, "kPa", "KPA";
    /// Bar.
    Bar, Pressure, "bar";
    /// Pound-force per square inch.
    Psi, Pressure, "psi", "PSI";
    /// Conventional inch of water: 249.08891 Pa (NIST SP 811 table B.8).
    InchWater, Pressure, "inH2O", "inH2O_conv", "INH2O", "inwc";
    /// Conventional millimetre of water: 9.80665 Pa (NIST SP 811 table B.8).
    MillimetreWater, Pressure, "mmH2O", "MMH2O";
    /// Conventional inch of mercury: 3386.389 Pa (NIST SP 811 table B.8).
    InchMercury, Pressure, "inHg", "INHG";
    /// Conventional millimetre of mercury.
    MillimetreMercury, Pressure, "mmHg", "MMHG";
    /// Cubic foot per minute.
    CubicFootPerMinute, Flow, "cfm", "CFM";
    /// Litre per minute.
    LitrePerMinute, Flow, "L/min", "l/min", "lpm";
    /// Cubic metre per hour.
    CubicMetrePerHour, Flow, "m3/h", "m³/h";
    /// Degree Celsius.
    Celsius, Temperature, "degC", "°C", "C";
    /// Degree Fahrenheit.
    Fahrenheit, Temperature, "degF", "°F", "F";
    /// Degree of arc.
    Degree, Angle, "deg", "°";
    /// Percent relative humidity.
    PercentHumidity, Humidity, "%RH";
    /// A plain number.
    One, Number, "1";
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// A unit symbol that is not in the table.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "unknown unit {0:?}; known are mm, um, in, thou, cc, L, g, mg, kg, oz, lb, Pa, hPa, kPa, bar, psi, inH2O, mmH2O, inHg, mmHg, cfm, L/min, m3/h, degC, degF, deg, %RH and 1"
)]
pub struct UnknownUnit(pub String);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_symbol_reads_back_as_its_own_unit() {
        for unit in Unit::ALL {
            assert_eq!(unit.symbol().parse::<Unit>().as_ref(), Ok(unit));
        }
    }

    #[test]
    fn an_unknown_unit_is_named_in_the_error() {
        let error = "furlong".parse::<Unit>().unwrap_err();
        assert!(error.to_string().contains("\"furlong\""));
    }
}
