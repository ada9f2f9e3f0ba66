//! The targets and tolerances of the engine file, as the report states them beside the figures.

use serde::{Deserialize, Serialize};

use crate::engine::Engine;
use crate::figure::Figure;
use crate::units::Unit;

/// Targets and tolerances, in the units of the report; `None` where the engine file states none.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StatedLimits {
    /// Compression ratio that is aimed at.
    pub compression_target: Option<Figure>,
    /// Most that the chambers may differ, largest less smallest, cc.
    pub chamber_spread: Option<Figure>,
    /// Most that the deck clearances may differ.
    pub deck_spread: Option<Figure>,
    /// Most that the crowns may differ, cc.
    pub crown_spread: Option<Figure>,
    /// Most that the compression ratios may differ.
    pub compression_spread: Option<Figure>,
    /// Least volume of each chamber, cc.
    pub least_chamber: Option<Figure>,
    /// Largest volume of each chamber, cc.
    pub most_chamber: Option<Figure>,
    /// Least deck clearance of each cylinder.
    pub least_deck: Option<Figure>,
    /// Largest deck clearance of each cylinder.
    pub most_deck: Option<Figure>,
    /// Least compression ratio of each cylinder.
    pub least_compression: Option<Figure>,
    /// Highest compression ratio of each cylinder.
    pub most_compression: Option<Figure>,
    /// Least quench distance.
    pub least_quench: Option<Figure>,
    /// Largest quench distance.
    pub most_quench: Option<Figure>,
}

impl StatedLimits {
    /// Those of an engine.
    pub(crate) fn of(engine: &Engine) -> StatedLimits {
        let (allowed, length, cc) = (
            &engine.tolerances,
            engine.units.length(),
            Unit::CubicCentimetre,
        );
        // Chosen numbers are exact.
        let exact = |base: f64, unit: Unit| Figure {
            u: Some(0.0),
            ..Figure::bare(unit.difference_from_base(base), unit)
        };
        StatedLimits {
            compression_target: engine
                .targets
                .compression
                .map(|one| exact(one.value, Unit::One)),
            chamber_spread: allowed.chamber_spread.map(|one| exact(one.value, cc)),
            deck_spread: allowed.deck_spread.map(|one| exact(one.value, length)),
            crown_spread: allowed.crown_spread.map(|one| exact(one.value, cc)),
            compression_spread: allowed
                .compression_spread
                .map(|one| exact(one.value, Unit::One)),
            least_chamber: allowed.least_chamber.map(|one| exact(one.value, cc)),
            most_chamber: allowed.most_chamber.map(|one| exact(one.value, cc)),
            least_deck: allowed.least_deck.map(|one| exact(one.value, length)),
            most_deck: allowed.most_deck.map(|one| exact(one.value, length)),
            least_compression: allowed
                .least_compression
                .map(|one| exact(one.value, Unit::One)),
            most_compression: allowed
                .most_compression
                .map(|one| exact(one.value, Unit::One)),
            least_quench: allowed.least_quench.map(|one| exact(one.value, length)),
            most_quench: allowed.most_quench.map(|one| exact(one.value, length)),
        }
    }
}
