//! Numbers as they stand in sentences, and the sentences that every report carries.

use crate::engine::LengthUnits;
use crate::units::Unit;

/// A length in the engine's units.
pub(crate) fn length(mm: f64, units: LengthUnits) -> String {
    match units {
        LengthUnits::Inch => format!("{:.4} in", Unit::Inch.from_base(mm)),
        LengthUnits::Metric => format!("{mm:.3} mm"),
    }
}

/// A volume.
pub(crate) fn volume(cc: f64) -> String {
    format!("{cc:.2} cc")
}

/// Numbers with as many digits behind the point as tell the unequal ones apart, at least `digits`:
/// "0.50 exceeds 0.50" tells nobody anything.
pub(crate) fn told_apart<const N: usize>(numbers: [f64; N], digits: usize) -> [String; N] {
    /// No gauge shows this many more; numbers that are still alike are alike.
    const MORE: usize = 6;
    let shown = |digits: usize| numbers.map(|number| format!("{number:.digits$}"));
    let alike = |shown: &[String; N]| {
        (0..N).any(|a| (0..a).any(|b| numbers[a] != numbers[b] && shown[a] == shown[b]))
    };
    let found = (digits..=digits + MORE)
        .map(shown)
        .find(|shown| !alike(shown));
    found.unwrap_or_else(|| shown(digits))
}

/// Numbers in the unit in which they are shown, told apart.
pub(crate) fn in_unit<const N: usize>(numbers: [f64; N], unit: Unit) -> [String; N] {
    let digits = match unit {
        Unit::Inch => 4,
        Unit::CubicCentimetre => 2,
        Unit::Thou => 1,
        _ => 3,
    };
    let told = told_apart(numbers, digits);
    match unit {
        Unit::One => told,
        _ => told.map(|number| format!("{number} {unit}")),
    }
}

/// Lengths (mm) in the engine's units, told apart.
pub(crate) fn lengths<const N: usize>(mm: [f64; N], units: LengthUnits) -> [String; N] {
    let unit = units.length();
    in_unit(mm.map(|mm| unit.from_base(mm)), unit)
}

pub(crate) const SIGNS: [&str; 3] = [
    "deck: positive means that the piston's flat is below the deck at top dead centre; negative, above it",
    "dome/dish: positive means a dome, solid above the piston's flat; a dish and valve reliefs are negative (the \"piston volume\" of a catalogue is often the opposite: ask)",
    "total at TDC = chamber + gasket + deck + volume above the top ring - dome (+ dish)",
];

pub(crate) const CAUTIONS: [&str; 3] = [
    "Check every clearance with the real parts, valve to piston above all.",
    "Fuel and tune limit compression; makers' limits and local rules first.",
    "Turn no crank on liquid: plugs out, battery off, by hand.",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unequal_numbers_are_told_apart_and_equal_ones_are_not() {
        assert_eq!(told_apart([0.503, 0.5], 2), ["0.503", "0.500"]);
        assert_eq!(told_apart([0.61, 0.5], 2), ["0.61", "0.50"]);
        assert_eq!(told_apart([0.5, 0.5], 2), ["0.50", "0.50"]);
        assert_eq!(
            in_unit([0.03500002, 0.035], Unit::Inch),
            ["0.03500002 in", "0.03500000 in"]
        );
    }
}
