//! What no engine can have: the bounds of every quantity.
//!
//! The bounds are far outside anything that is measured at a bench (common practice, no source).
//! They catch a slip, such as a lost decimal point or a sign; whether a value is likely is not known
//! here (see the expectation of a stop).

use super::{CrownPart, GasketPart, PortQuantity, Spot};
use crate::units::{Quantity, QuantityKind, Unit};

/// The largest diameter or length, mm.
const LARGEST: f64 = 2_000.0;
/// The largest volume, cc.
const ROOM: f64 = 100_000.0;
/// The largest distance of two parts from each other, on either side of zero, mm.
const APART: f64 = 200.0;
/// The largest thickness of a gasket, mm.
const THICKEST: f64 = 50.0;
/// The largest pressure at a flow bench, Pa: the whole of the atmosphere.
const ATMOSPHERE: f64 = 110_000.0;

/// The largest pressure of a free spot, Pa: oil and fuel stand far below it.
const HARDEST: f64 = 100_000_000.0;

/// What a reading of a free spot can be, by its kind: it may be counted from any zero.
fn free(kind: QuantityKind) -> PossibleRange {
    PossibleRange::either_side(match kind {
        QuantityKind::Length => LARGEST,
        QuantityKind::Volume | QuantityKind::Mass => ROOM,
        _ => HARDEST,
    })
}

/// The bounds of a quantity, in the base unit of its kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PossibleRange {
    /// The value is above this, or (where `least_itself`) at it.
    pub least: f64,
    /// Whether `least` itself is possible.
    pub least_itself: bool,
    /// The largest value.
    pub most: f64,
}

impl PossibleRange {
    const fn above_zero(most: f64) -> PossibleRange {
        PossibleRange {
            least: 0.0,
            least_itself: false,
            most,
        }
    }

    const fn either_side(most: f64) -> PossibleRange {
        PossibleRange {
            least: -most,
            least_itself: true,
            most,
        }
    }

    /// Whether a value, in the base unit, can be. A value that is no number cannot.
    pub fn holds(&self, base: f64) -> bool {
        let low = base > self.least || (self.least_itself && base == self.least);
        low && base <= self.most
    }
}

impl Spot {
    /// Why a value of this spot cannot be: what was found and what was expected, in words, in the
    /// unit of the value. `None` where it can be. Of a flow spot the value is its test pressure. A
    /// weight is bounded like the volume that was weighed, since a gram is near a cc.
    pub fn impossible(&self, found: Quantity) -> Option<String> {
        let range = match self {
            Spot::Free { .. } => free(found.unit.kind()),
            _ => self.possible(),
        };
        let base = found.base();
        if range.holds(base) {
            return None;
        }
        let shown = |base: f64| Unit::from_base(found.unit, base);
        let unit = found.unit;
        let expected = match (base > range.least, range.least < 0.0) {
            (true, _) => format!("at most {} {unit}", shown(range.most)),
            (false, true) => format!("{} {unit} or more", shown(range.least)),
            (false, false) => "more than 0".to_owned(),
        };
        Some(format!("found {} {unit}, expected {expected}", found.value))
    }

    /// What a reading of this spot can be. Of a flow spot: its test pressure, a magnitude. Of a free
    /// spot: what any kind can be, since its kind is not known here.
    pub fn possible(&self) -> PossibleRange {
        match self {
            Spot::Chamber { .. } => PossibleRange::above_zero(ROOM),
            Spot::Crown { part, .. } => match part {
                CrownPart::Volume => PossibleRange::either_side(ROOM),
                CrownPart::Fluid => PossibleRange::above_zero(ROOM),
                CrownPart::Depth => PossibleRange::either_side(APART),
            },
            Spot::Deck { .. } | Spot::Gap { .. } => PossibleRange::either_side(APART),
            Spot::Gasket { part, .. } => match part {
                GasketPart::Bore => PossibleRange::above_zero(LARGEST),
                GasketPart::Thickness => PossibleRange::above_zero(THICKEST),
            },
            Spot::Bore { .. } | Spot::Part { .. } => PossibleRange::above_zero(LARGEST),
            Spot::Port { quantity, .. } => match quantity {
                PortQuantity::Runner => PossibleRange::above_zero(ROOM),
                PortQuantity::Seat => PossibleRange::either_side(APART),
                PortQuantity::Valve | PortQuantity::Throat => PossibleRange::above_zero(LARGEST),
            },
            Spot::Flow { .. } => PossibleRange::above_zero(ATMOSPHERE),
            Spot::Free { .. } => PossibleRange::either_side(HARDEST),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_cannot_be_and_a_large_engine_can() {
        let holds =
            |spot: &str, base: f64| spot.parse::<Spot>().expect("a spot").possible().holds(base);
        for (spot, base) in [
            ("chamber/1", -5.0),
            ("chamber/1", 0.0),
            ("chamber/1", 1e308),
            ("chamber/1", f64::NAN),
            ("chamber/1", f64::INFINITY),
            ("bore/1", -101.6),
            ("deck/1", 500.0),
            ("gasket/thickness", 101.0),
            ("flow/1/intake/0.3in", 0.0),
            ("free/end_play", f64::NAN),
        ] {
            assert!(!holds(spot, base), "{spot} {base}");
        }
        for (spot, base) in [
            ("chamber/1", 12_000.0),
            ("deck/1", -0.5),
            ("crown/1", -40.0),
            ("bore/1", 960.0),
            ("gap/1/intake/10deg", 0.0),
        ] {
            assert!(holds(spot, base), "{spot} {base}");
        }
    }

    #[test]
    fn a_free_spot_may_lie_on_either_side_of_its_zero_and_a_slip_cannot_be() {
        let spot: Spot = "free/spring_height/1".parse().expect("a spot");
        let why = |text: &str| spot.impossible(text.parse().expect("a quantity"));
        assert_eq!(why("-0.010 in"), None);
        assert_eq!(why("1.800 in"), None);
        assert_eq!(why("60 psi"), None);
        assert!(why("1800 in").is_some(), "a lost decimal point");
    }
}
