//! Units as symbols, with what each is in the base unit of its kind: mm, cc, g, Pa, L/min, degC …
//!
//! The one table of units. It knows nothing of what was measured, of gauges or of uncertainty, and
//! reads no numbers.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// What sort of quantity a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum QuantityKind {
    /// Length; base mm.
    Length,
    /// Area; base mm2.
    Area,
    /// Volume; base cc.
    Volume,
    /// Mass; base g.
    Mass,
    /// Pressure, or a difference of pressures; base Pa.
    Pressure,
    /// Volume flow; base L/min.
    Flow,
    /// Mass flow; base kg/s.
    MassFlow,
    /// Temperature; base degC.
    Temperature,
    /// Angle; base deg.
    Angle,
    /// Relative humidity; base %RH.
    Humidity,
    /// Density; base kg/m3.
    Density,
    /// Speed; base m/s.
    Speed,
    /// Kinematic viscosity; base m2/s.
    Viscosity,
    /// Speed of rotation; base rpm.
    Rotation,
    /// A plain number or a ratio; base 1.
    Number,
}

impl QuantityKind {
    /// The word for it in routes, in the register and in lists.
    pub fn word(self) -> &'static str {
        match self {
            QuantityKind::Length => "length",
            QuantityKind::Area => "area",
            QuantityKind::Volume => "volume",
            QuantityKind::Mass => "mass",
            QuantityKind::Pressure => "pressure",
            QuantityKind::Flow => "flow",
            QuantityKind::MassFlow => "mass flow",
            QuantityKind::Temperature => "temperature",
            QuantityKind::Angle => "angle",
            QuantityKind::Humidity => "humidity",
            QuantityKind::Density => "density",
            QuantityKind::Speed => "speed",
            QuantityKind::Viscosity => "viscosity",
            QuantityKind::Rotation => "rotation",
            QuantityKind::Number => "number",
        }
    }
}

impl fmt::Display for QuantityKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            QuantityKind::Length => "a length (mm, in, thou)",
            QuantityKind::Area => "an area (mm2, in2)",
            QuantityKind::Volume => "a volume (cc, mL, in3)",
            QuantityKind::Mass => "a mass (g, kg, lb)",
            QuantityKind::Pressure => "a pressure (inH2O, mmH2O, Pa, psi)",
            QuantityKind::Flow => "a flow (cfm, L/min, m3/h)",
            QuantityKind::MassFlow => "a mass flow (kg/s, lb/min)",
            QuantityKind::Temperature => "a temperature (degC, degF)",
            QuantityKind::Angle => "an angle (deg)",
            QuantityKind::Humidity => "a relative humidity (%RH)",
            QuantityKind::Density => "a density (kg/m3, lb/ft3)",
            QuantityKind::Speed => "a speed (m/s, ft/s)",
            QuantityKind::Viscosity => "a kinematic viscosity (m2/s, cSt)",
            QuantityKind::Rotation => "a speed of rotation (rpm)",
            QuantityKind::Number => "a plain number (1, %)",
        })
    }
}

/// Pascal in one conventional inch of water: 1000 kg/m3, 9.80665 m/s2, 25.4 mm (NIST SP 811 B.8).
pub const PA_PER_INCH_WATER: f64 = 249.088_91;
/// Pascal in one conventional inch of mercury: 13595.1 kg/m3, 9.80665 m/s2, 25.4 mm.
pub const PA_PER_INCH_MERCURY: f64 = 13_595.1 * 9.806_65 * 0.025_4;

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident, $kind:ident, $factor:expr, $symbol:literal $(, $alias:literal)*;)*) => {
        /// A unit of measurement, written by its symbol.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Unit { $($(#[$doc])* $name,)* }

        impl Unit {
            /// Every unit, in the order of the table.
            pub const ALL: &'static [Unit] = &[$(Unit::$name,)*];

            /// The symbol that is printed and stored.
            pub fn symbol(self) -> &'static str {
                match self { $(Unit::$name => $symbol,)* }
            }

            /// What sort of quantity it measures.
            pub fn kind(self) -> QuantityKind {
                match self { $(Unit::$name => QuantityKind::$kind,)* }
            }

            /// How many base units of its kind one of it is (for temperatures: of a difference).
            pub fn factor(self) -> f64 {
                match self { $(Unit::$name => $factor,)* }
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
    Millimetre, Length, 1.0, "mm", "MM";
    /// Micrometre.
    Micrometre, Length, 1e-3, "um", "µm", "μm";
    /// Centimetre.
    Centimetre, Length, 10.0, "cm";
    /// Metre.
    Metre, Length, 1e3, "m";
    /// Inch, 25.4 mm exactly (NIST SP 811).
    Inch, Length, 25.4, "in", "IN", "inch", "\"";
    /// Thousandth of an inch.
    Thou, Length, 0.0254, "thou", "mil";
    /// Square millimetre.
    SquareMillimetre, Area, 1.0, "mm2", "mm²";
    /// Square centimetre.
    SquareCentimetre, Area, 100.0, "cm2", "cm²";
    /// Square inch.
    SquareInch, Area, 645.16, "in2", "in²";
    /// Cubic centimetre, the same as a millilitre.
    CubicCentimetre, Volume, 1.0, "cc", "CC", "ml", "mL", "ML", "cm3", "cm³";
    /// Litre.
    Litre, Volume, 1e3, "L", "l";
    /// Cubic inch, 16.387064 cc exactly (NIST SP 811).
    CubicInch, Volume, 16.387_064, "in3", "in³", "cu in";
    /// US fluid ounce, 29.5735295625 mL exactly.
    FluidOunce, Volume, 29.573_529_562_5, "US fl oz", "fl oz";
    /// Gram.
    Gram, Mass, 1.0, "g", "G";
    /// Milligram.
    Milligram, Mass, 1e-3, "mg";
    /// Kilogram.
    Kilogram, Mass, 1e3, "kg", "KG";
    /// Avoirdupois ounce, a sixteenth of a pound.
    Ounce, Mass, 28.349_523_125, "oz";
    /// Avoirdupois pound, 0.45359237 kg exactly (NIST SP 811).
    Pound, Mass, 453.592_37, "lb";
    /// Pascal.
    Pascal, Pressure, 1.0, "Pa";
    /// Hectopascal, the same as a millibar.
    Hectopascal, Pressure, 100.0, "hPa", "mbar";
    /// Kilopascal.
    Kilopascal, Pressure, 1e3, "kPa", "KPA";
    /// Bar.
    Bar, Pressure, 1e5, "bar";
    /// Pound-force per square inch: pound x 9.80665 m/s2 over a square inch.
    Psi, Pressure, 0.453_592_37 * 9.806_65 / (0.0254 * 0.0254), "psi", "PSI";
    /// Conventional inch of water: 249.08891 Pa (NIST SP 811 table B.8).
    InchWater, Pressure, PA_PER_INCH_WATER, "inH2O", "inH2O_conv", "INH2O", "inwc";
    /// Inch of water at 4 C: density 999.974947704 kg/m3 (Tanaka 2001), 9.80665 m/s2.
    InchWater4C, Pressure, 999.974_947_704 * 9.806_65 * 0.0254, "inH2O_4C", "inH2O_39F";
    /// Inch of water at 60 F: density 999.016991476 kg/m3 (Tanaka 2001), 9.80665 m/s2.
    InchWater60F, Pressure, 999.016_991_476 * 9.806_65 * 0.0254, "inH2O_60F";
    /// Inch of water at 20 C (68 F): density 998.20674556 kg/m3 (Tanaka 2001), 9.80665 m/s2.
    InchWater20C, Pressure, 998.206_745_56 * 9.806_65 * 0.0254, "inH2O_20C", "inH2O_68F";
    /// Inch of water at 25 C (77 F): density 997.047021672 kg/m3 (Tanaka 2001), 9.80665 m/s2.
    InchWater25C, Pressure, 997.047_021_672 * 9.806_65 * 0.0254, "inH2O_25C", "inH2O_77F";
    /// Inch of water at 30 C (86 F): density 995.648797184 kg/m3 (Tanaka 2001), 9.80665 m/s2.
    InchWater30C, Pressure, 995.648_797_184 * 9.806_65 * 0.0254, "inH2O_30C", "inH2O_86F";
    /// Conventional millimetre of water: 9.80665 Pa (NIST SP 811 table B.8).
    MillimetreWater, Pressure, 9.806_65, "mmH2O", "MMH2O";
    /// Conventional inch of mercury: 3386.389 Pa (NIST SP 811 table B.8).
    InchMercury, Pressure, PA_PER_INCH_MERCURY, "inHg", "INHG";
    /// Inch of mercury at 60 F: 3376.85 Pa (NIST SP 811 table B.8).
    InchMercury60F, Pressure, 3376.85, "inHg_60F";
    /// Conventional millimetre of mercury.
    MillimetreMercury, Pressure, 13.5951 * 9.806_65, "mmHg", "MMHG";
    /// Litre per minute.
    LitrePerMinute, Flow, 1.0, "L/min", "l/min", "lpm";
    /// Litre per second.
    LitrePerSecond, Flow, 60.0, "L/s", "l/s";
    /// Cubic foot per minute: (304.8 mm) cubed a minute.
    CubicFootPerMinute, Flow, 28.316_846_592, "cfm", "CFM";
    /// Cubic metre per hour.
    CubicMetrePerHour, Flow, 1000.0 / 60.0, "m3/h", "m³/h";
    /// Cubic metre per second.
    CubicMetrePerSecond, Flow, 60_000.0, "m3/s", "m³/s";
    /// Kilogram per second.
    KilogramPerSecond, MassFlow, 1.0, "kg/s";
    /// Gram per second.
    GramPerSecond, MassFlow, 1e-3, "g/s";
    /// Pound per minute.
    PoundPerMinute, MassFlow, 0.453_592_37 / 60.0, "lb/min";
    /// Degree Celsius.
    Celsius, Temperature, 1.0, "degC", "°C", "C";
    /// Degree Fahrenheit.
    Fahrenheit, Temperature, 5.0 / 9.0, "degF", "°F", "F";
    /// Kelvin.
    Kelvin, Temperature, 1.0, "K";
    /// Degree of arc.
    Degree, Angle, 1.0, "deg", "°";
    /// Radian.
    Radian, Angle, 180.0 / std::f64::consts::PI, "rad";
    /// Percent relative humidity.
    PercentHumidity, Humidity, 1.0, "%RH";
    /// Kilogram per cubic metre.
    KilogramPerCubicMetre, Density, 1.0, "kg/m3", "kg/m³";
    /// Gram per cubic centimetre.
    GramPerCubicCentimetre, Density, 1e3, "g/cc", "g/cm3", "g/mL";
    /// Pound per cubic foot.
    PoundPerCubicFoot, Density, 0.453_592_37 / (0.3048 * 0.3048 * 0.3048), "lb/ft3";
    /// Metre per second.
    MetrePerSecond, Speed, 1.0, "m/s";
    /// Foot per second, 0.3048 m/s exactly.
    FootPerSecond, Speed, 0.3048, "ft/s";
    /// Square metre per second.
    SquareMetrePerSecond, Viscosity, 1.0, "m2/s", "m²/s";
    /// Centistokes.
    Centistokes, Viscosity, 1e-6, "cSt";
    /// Revolution per minute.
    Rpm, Rotation, 1.0, "rpm", "1/min";
    /// A plain number.
    One, Number, 1.0, "1";
    /// Percent.
    Percent, Number, 0.01, "%";
}

impl Unit {
    /// The zero of this unit's scale, in base units. Zero but for degF and K.
    fn zero(self) -> f64 {
        match self {
            Unit::Fahrenheit => -160.0 / 9.0,
            Unit::Kelvin => -273.15,
            _ => 0.0,
        }
    }

    /// A value in this unit, expressed in the base unit of its kind.
    pub fn to_base(self, value: f64) -> f64 {
        match self {
            Unit::Fahrenheit => (value - 32.0) * 5.0 / 9.0,
            _ => value * self.factor() + self.zero(),
        }
    }

    /// A value in the base unit, expressed in this unit.
    ///
    /// Divides by the factor rather than multiplying by its inverse, so that 101.6 mm is 4 in
    /// to the last bit.
    pub fn from_base(self, value: f64) -> f64 {
        match self {
            Unit::Fahrenheit => value * 9.0 / 5.0 + 32.0,
            _ => (value - self.zero()) / self.factor(),
        }
    }

    /// A difference, an uncertainty or a resolution in this unit, in base units.
    pub fn difference_to_base(self, value: f64) -> f64 {
        value * self.factor()
    }

    /// A difference, an uncertainty or a resolution in base units, in this unit.
    pub fn difference_from_base(self, value: f64) -> f64 {
        value / self.factor()
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.symbol())
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Unit {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Unit".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let symbols: Vec<&str> = Unit::ALL.iter().map(|unit| unit.symbol()).collect();
        schemars::json_schema!({
            "description": "A unit's symbol; `1` for a ratio.",
            "type": "string",
            "enum": symbols,
        })
    }
}

/// A unit symbol that is not in the table.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "unknown unit {0:?}; known are mm, um, cm, m, in, thou, mm2, in2, cc, mL, L, in3, g, kg, oz, lb, Pa, hPa, kPa, bar, psi, inH2O, mmH2O, inHg, mmHg, cfm, L/min, m3/h, kg/s, lb/min, degC, degF, K, deg, rad, %RH, kg/m3, lb/ft3, m/s, ft/s, cSt, rpm, % and 1"
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
    fn inches_survive_the_way_through_millimetres() {
        for thousandths in 1..5000 {
            let inches = f64::from(thousandths) / 1000.0;
            let back = Unit::Inch.from_base(Unit::Inch.to_base(inches));
            assert!(
                (back - inches).abs() <= inches * 2.3e-16,
                "{inches} came back as {back}"
            );
        }
    }

    #[test]
    fn temperatures_have_their_own_zero() {
        let turned = |from: Unit, to: Unit, value| to.from_base(from.to_base(value));
        assert_eq!(turned(Unit::Fahrenheit, Unit::Celsius, 68.0), 20.0);
        assert_eq!(turned(Unit::Celsius, Unit::Fahrenheit, 20.0), 68.0);
        assert_eq!(turned(Unit::Kelvin, Unit::Celsius, 293.15), 20.0);
        assert_eq!(turned(Unit::Celsius, Unit::Kelvin, 0.0), 273.15);
        assert_eq!(Unit::Fahrenheit.difference_to_base(9.0), 5.0);
    }
}
