//! Verdicts on tolerances, and the spreads of equal parts, as the report states them.

use serde::{Deserialize, Serialize};

use crate::decide::VerdictAnswer;
use crate::figure::Figure;
use crate::named::named_enum;
use crate::spot::Spot;

named_enum! {
    /// What a tolerance is about.
    ToleranceName {
        /// The spread of the chambers.
        ChamberSpread = "chamber_spread",
        /// The spread of the deck clearances.
        DeckSpread = "deck_spread",
        /// The spread of the crowns.
        CrownSpread = "crown_spread",
        /// The spread of the compression ratios.
        CompressionSpread = "compression_spread",
        /// The chamber of one cylinder.
        Chamber = "chamber",
        /// The deck clearance of one cylinder.
        Deck = "deck",
        /// The compression ratio of one cylinder.
        Compression = "compression",
        /// The quench distance of one cylinder.
        Quench = "quench",
        /// A free spot.
        Free = "free",
        /// The spread of a free spot over the cylinders.
        FreeSpread = "free_spread",
    }
}

/// A verdict on one tolerance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ToleranceVerdict {
    /// The tolerance.
    pub about: ToleranceName,
    /// The cylinder; `None` for all of them together.
    pub cylinder: Option<u32>,
    /// The free spot that it is about, e.g. `free/spring_height/3/intake`; of a spread, its name and
    /// place alone, `free/spring_height/intake`. Absent for every other tolerance.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spot: Option<Spot>,
    /// The answer.
    pub answer: VerdictAnswer,
    /// The verdict in words.
    pub text: String,
    /// Whether it cannot be told only because nothing was set up twice, and nobody stated how far
    /// set-ups differ.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub not_repeated: bool,
    /// By how much what is lacking may be off before "within" by what is known no longer holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unless_off_by: Option<Figure>,
    /// The uncertainties that are lacking and entered the answer at an assumed width, in words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<String>,
    /// The readings that would settle it soonest, the best first; only where it cannot be told.
    pub measure_again: Vec<String>,
}

/// The spread that these gauges would show on equal parts, half of the time less and half of the
/// time more, in the units of the summary; `None` where an uncertainty is unknown.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SpreadsOfEquals {
    /// Of the chambers, cc.
    pub chamber: Option<Figure>,
    /// Of the deck clearances.
    pub deck: Option<Figure>,
    /// Of the crowns, cc.
    pub crown: Option<Figure>,
    /// Of the compression ratios.
    pub compression: Option<Figure>,
}
