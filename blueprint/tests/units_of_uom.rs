//! The table of units against the independent one of the crate `uom`.
//!
//! Not in it: inches of water and mercury at stated temperatures (checked in `units_reference`).

use benchhand_blueprint::Unit;
use uom::si::f64::{
    Angle, Area, Length, Mass, MassDensity, MassRate, Pressure, ThermodynamicTemperature, Velocity,
    Volume, VolumeRate,
};

macro_rules! check {
    ($($unit:ident, $quantity:ident, $module:ident, $theirs:ident, $base:ident;)*) => {
        $({
            let expected = $quantity::new::<uom::si::$module::$theirs>(3.7)
                .get::<uom::si::$module::$base>();
            let found = Unit::$unit.to_base(3.7);
            // uom gives some factors to seven figures only (psi, ounce).
            let tolerance = match Unit::$unit {
                Unit::Psi | Unit::InchWater | Unit::InchMercury => 1e-6,
                Unit::Ounce | Unit::FluidOunce | Unit::CubicInch | Unit::CubicFootPerMinute => 1e-6,
                Unit::Pound | Unit::PoundPerMinute | Unit::PoundPerCubicFoot => 1e-6,
                _ => 1e-14,
            };
            assert!(
                (found / expected - 1.0).abs() < tolerance,
                "{}: {found} {expected}",
                Unit::$unit
            );
        })*
    };
}

#[test]
fn factors_agree_with_an_independent_table() {
    check! {
        Micrometre, Length, length, micrometer, millimeter;
        Centimetre, Length, length, centimeter, millimeter;
        Metre, Length, length, meter, millimeter;
        Inch, Length, length, inch, millimeter;
        Thou, Length, length, mil, millimeter;
        SquareCentimetre, Area, area, square_centimeter, square_millimeter;
        SquareInch, Area, area, square_inch, square_millimeter;
        Litre, Volume, volume, liter, cubic_centimeter;
        CubicInch, Volume, volume, cubic_inch, cubic_centimeter;
        FluidOunce, Volume, volume, fluid_ounce, cubic_centimeter;
        Milligram, Mass, mass, milligram, gram;
        Kilogram, Mass, mass, kilogram, gram;
        Ounce, Mass, mass, ounce, gram;
        Pound, Mass, mass, pound, gram;
        Hectopascal, Pressure, pressure, hectopascal, pascal;
        Kilopascal, Pressure, pressure, kilopascal, pascal;
        Bar, Pressure, pressure, bar, pascal;
        Psi, Pressure, pressure, psi, pascal;
        InchWater, Pressure, pressure, inch_of_water, pascal;
        InchMercury, Pressure, pressure, inch_of_mercury, pascal;
        CubicFootPerMinute, VolumeRate, volume_rate, cubic_foot_per_minute, liter_per_minute;
        CubicMetrePerHour, VolumeRate, volume_rate, cubic_meter_per_hour, liter_per_minute;
        CubicMetrePerSecond, VolumeRate, volume_rate, cubic_meter_per_second, liter_per_minute;
        LitrePerSecond, VolumeRate, volume_rate, liter_per_second, liter_per_minute;
        GramPerSecond, MassRate, mass_rate, gram_per_second, kilogram_per_second;
        PoundPerMinute, MassRate, mass_rate, pound_per_minute, kilogram_per_second;
        Fahrenheit, ThermodynamicTemperature, thermodynamic_temperature, degree_fahrenheit, degree_celsius;
        Kelvin, ThermodynamicTemperature, thermodynamic_temperature, kelvin, degree_celsius;
        Radian, Angle, angle, radian, degree;
        PoundPerCubicFoot, MassDensity, mass_density, pound_per_cubic_foot, kilogram_per_cubic_meter;
        GramPerCubicCentimetre, MassDensity, mass_density, gram_per_cubic_centimeter, kilogram_per_cubic_meter;
        FootPerSecond, Velocity, velocity, foot_per_second, meter_per_second;
    }
}
