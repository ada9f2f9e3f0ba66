//! How numbers stand in sentences, and the sentences that every report carries.

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

pub(crate) const SIGNS: [&str; 3] = [
    "deck: positive means that the piston's flat is below the deck at top dead centre; negative, above it",
    "crown: positive means a dome, solid above the piston's flat; a dish and valve reliefs are negative (the \"piston volume\" of a catalogue is often the opposite: ask)",
    "clearance = chamber + gasket + deck + crevice - crown",
];

pub(crate) const CAUTIONS: [&str; 3] = [
    "Check every clearance with the real parts, valve to piston above all; these figures do not replace that.",
    "What compression an engine stands depends on its fuel and its tune; the makers' limits and local rules come first.",
    "No liquid may be left in a bore or under a plate when the crank is turned: plugs out, battery off, by hand.",
];
