//! The families of spots: the first word of a spot, and what a cut can change.

use std::fmt;

use super::{PartLength, PortQuantity, Spot};
use crate::known_word::meant;

/// One list for the type, its names and the list of all: none can lack a family.
macro_rules! families {
    ($($(#[$doc:meta])* $family:ident = $name:literal,)+) => {
        /// What is measured, whichever cylinder it belongs to.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum SpotFamily {
            $($(#[$doc])* $family,)+
        }

        impl SpotFamily {
            /// All of them.
            pub const ALL: &'static [SpotFamily] = &[$(SpotFamily::$family,)+];

            /// The word with which its spots begin, and under which it is stored.
            pub const fn name(self) -> &'static str {
                match self {
                    $(SpotFamily::$family => $name,)+
                }
            }
        }
    };
}

families! {
    /// Volumes of combustion chambers.
    Chamber = "chamber",
    /// Deck clearances.
    Deck = "deck",
    /// Piston crowns.
    Crown = "crown",
    /// Gaskets.
    Gasket = "gasket",
    /// Bores.
    Bore = "bore",
    /// Piston travel.
    Stroke = "stroke",
    /// Rods.
    Rod = "rod",
    /// Compression heights of pistons.
    Height = "height",
    /// Skirts of pistons.
    Skirt = "skirt",
    /// Deck heights of the block.
    Block = "block",
    /// Flow of ports.
    Flow = "flow",
    /// Volumes of runners.
    Runner = "runner",
    /// Valve drop.
    Seat = "seat",
    /// Valve heads.
    Valve = "valve",
    /// Throats.
    Throat = "throat",
    /// Distances between valve and piston.
    Gap = "gap",
    /// What only the engine file states, by its name there.
    Free = "free",
}

impl SpotFamily {
    /// The family that a person's word means: `chamber`, `Chambers`, `chamber/`.
    ///
    /// # Errors
    /// Where no family is meant: the one that comes nearest, if any does.
    pub fn typed(word: &str) -> Result<SpotFamily, Option<&'static str>> {
        let name = meant(word, SpotFamily::ALL.iter().map(|family| family.name()))?;
        let family = SpotFamily::ALL.iter().find(|family| family.name() == name);
        family.copied().ok_or(None)
    }

    /// Whether what is measured belongs to the cylinder head and goes where the head goes.
    pub const fn is_of_the_head(self) -> bool {
        // Each family is named, so that a new one cannot stay behind when heads are exchanged.
        match self {
            SpotFamily::Chamber
            | SpotFamily::Flow
            | SpotFamily::Runner
            | SpotFamily::Seat
            | SpotFamily::Throat
            | SpotFamily::Valve => true,
            SpotFamily::Deck
            | SpotFamily::Crown
            | SpotFamily::Gasket
            | SpotFamily::Bore
            | SpotFamily::Stroke
            | SpotFamily::Rod
            | SpotFamily::Height
            | SpotFamily::Skirt
            | SpotFamily::Block
            | SpotFamily::Gap
            | SpotFamily::Free => false,
        }
    }

    /// The family of exactly this stored name.
    pub fn named(name: &str) -> Option<SpotFamily> {
        let mut all = SpotFamily::ALL.iter();
        all.find(|family| family.name() == name).copied()
    }

    /// The names of all, with a comma between them.
    pub fn names() -> String {
        let names: Vec<&str> = SpotFamily::ALL.iter().map(|family| family.name()).collect();
        names.join(", ")
    }
}

impl fmt::Display for SpotFamily {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl Spot {
    /// The family of the spot; its name is the spot's first word.
    pub fn family(&self) -> SpotFamily {
        match self {
            Spot::Chamber { .. } => SpotFamily::Chamber,
            Spot::Deck { .. } => SpotFamily::Deck,
            Spot::Crown { .. } => SpotFamily::Crown,
            Spot::Gasket { .. } => SpotFamily::Gasket,
            Spot::Bore { .. } => SpotFamily::Bore,
            Spot::Part { part, .. } => match part {
                PartLength::Stroke => SpotFamily::Stroke,
                PartLength::Rod => SpotFamily::Rod,
                PartLength::Height => SpotFamily::Height,
                PartLength::Skirt => SpotFamily::Skirt,
                PartLength::Block => SpotFamily::Block,
            },
            Spot::Flow { .. } => SpotFamily::Flow,
            Spot::Port { quantity, .. } => match quantity {
                PortQuantity::Runner => SpotFamily::Runner,
                PortQuantity::Seat => SpotFamily::Seat,
                PortQuantity::Valve => SpotFamily::Valve,
                PortQuantity::Throat => SpotFamily::Throat,
            },
            Spot::Gap { .. } => SpotFamily::Gap,
            Spot::Free { .. } => SpotFamily::Free,
        }
    }
}
