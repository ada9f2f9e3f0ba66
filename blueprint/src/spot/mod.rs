//! Spots: what is measured where, such as `chamber/3`, `deck/5/front` or `flow/4/intake/7.62mm`.
//!
//! A person may type a spot with or without the slash, in the singular or the plural:
//! `Chambers 3` is `chamber/3`. It is stored and shown in its one text form.
//!
//! A spot is compared and sorted by value: `flow/4/intake/0.300in` is the same spot as
//! `flow/4/intake/7.62mm`. This module does not know what a reading is, nor whether an engine has
//! the cylinder that a spot names (see [`crate::engine::Engine::admit`]).

mod extent;
mod family;
mod flow_part;
mod parse;
mod possible;

use std::fmt;

pub use extent::{CrankAngle, SpotLength};
pub use family::SpotFamily;
pub use flow_part::FlowPart;
pub use parse::SpotError;
pub use possible::PossibleRange;

use crate::units::QuantityKind;

/// A name inside a spot: lower case letters, digits, `-`, `_`, beginning with a letter.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SpotName(String);

impl SpotName {
    /// The text of the name.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for SpotName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::ops::Deref for SpotName {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl serde::Serialize for SpotName {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

impl<'de> serde::Deserialize<'de> for SpotName {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        SpotName::parse(&text).ok_or_else(|| {
            let expected = "small letters, digits, hyphens, beginning with a letter";
            serde::de::Error::custom(format!("found {text:?}, expected a name: {expected}"))
        })
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for SpotName {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> std::borrow::Cow<'static, str> {
        "SpotName".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({"type": "string"})
    }
}

/// How a piston crown is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CrownPart {
    /// Volume, dome positive, dish and reliefs negative.
    Volume,
    /// Liquid poured on it in the bore, up to the deck.
    Fluid,
    /// Depth of its flat below the deck while that liquid was poured.
    Depth,
}

/// What of a gasket is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum GasketPart {
    /// Diameter of its opening.
    Bore,
    /// Compressed thickness.
    Thickness,
}

/// Where along a cylinder a bore is measured.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BoreHeight {
    /// A name, such as `top`, `mid` or `bottom`.
    Named(SpotName),
    /// A depth below the deck.
    At(SpotLength),
}

/// A quantity of a port that is one number, without lift or angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PortQuantity {
    /// Volume of a runner.
    Runner,
    /// Valve drop: the valve's face from the head's face, positive into the head.
    Seat,
    /// Diameter of the valve's head.
    Valve,
    /// Diameter of the throat.
    Throat,
}

/// A length of one cylinder's parts that is one number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PartLength {
    /// Piston travel.
    Stroke,
    /// Rod length, centre to centre.
    Rod,
    /// Compression height of the piston: pin axis to flat.
    Height,
    /// Diameter of the piston's skirt.
    Skirt,
    /// Height of the block's deck above the crank's axis.
    Block,
}

/// A quantity at its place: what was measured where.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Spot {
    /// `chamber/3`: volume of a combustion chamber, valves and plug in place.
    Chamber {
        /// The cylinder.
        cylinder: u32,
    },
    /// `deck/5/front`: deck clearance at top dead centre, positive below the deck.
    Deck {
        /// The cylinder.
        cylinder: u32,
        /// `front`, `rear` (on the pin axis), `thrust`, `antithrust`, or one that the engine file
        /// declares; none if one value stands for the whole piston.
        point: Option<SpotName>,
    },
    /// `crown/3`, `crown/3/fluid`, `crown/3/depth`.
    Crown {
        /// The cylinder.
        cylinder: u32,
        /// Which quantity of it.
        part: CrownPart,
    },
    /// `gasket/bore`, `gasket/thickness`, or of one cylinder `gasket/thickness/3`.
    Gasket {
        /// Which quantity of it.
        part: GasketPart,
        /// The cylinder; none if it holds for all.
        cylinder: Option<u32>,
    },
    /// `bore/2/top/thrust`: a bore's diameter; `bore/2` if one value stands for it.
    Bore {
        /// The cylinder.
        cylinder: u32,
        /// At which height and in which direction (`thrust` or `pin`).
        at: Option<(BoreHeight, SpotName)>,
    },
    /// `stroke/1`, `rod/1`, `height/1`, `skirt/1`, `block/1/front`.
    Part {
        /// Which length.
        part: PartLength,
        /// The cylinder.
        cylinder: u32,
        /// A point, where several are measured.
        point: Option<SpotName>,
    },
    /// `flow/4/intake/7.62mm`, or with a kind of runner `flow/4/intake/long/7.62mm`.
    Flow {
        /// The cylinder.
        cylinder: u32,
        /// The port: `intake`, `exhaust`, `intake-2`. One that begins with `exhaust` is an
        /// exhaust port.
        port: SpotName,
        /// The kind of runner (long, short, any name).
        runner: Option<SpotName>,
        /// The lift at which it was to be measured.
        lift: SpotLength,
    },
    /// `runner/3/intake`, `seat/3/exhaust`, `valve/3/intake`, `throat/3/intake`.
    Port {
        /// Which quantity.
        quantity: PortQuantity,
        /// The cylinder.
        cylinder: u32,
        /// The port.
        port: SpotName,
    },
    /// `gap/3/intake/10deg`: distance between valve and piston along the valve's axis.
    Gap {
        /// The cylinder.
        cylinder: u32,
        /// The port.
        port: SpotName,
        /// Crank angle, positive after top dead centre.
        angle: CrankAngle,
    },
    /// `free/spring_height/3/intake`: a free spot, which the engine file states under its name;
    /// `free/spring_height/3` without places, `free/end_play` where it belongs to no cylinder.
    Free {
        /// Its name in the engine file.
        name: SpotName,
        /// The cylinder; none for one of the whole engine.
        cylinder: Option<u32>,
        /// Its place, where it is measured at several.
        at: Option<SpotName>,
    },
}

impl Spot {
    /// The cylinder that the spot belongs to; none for a part that all share.
    pub fn cylinder(&self) -> Option<u32> {
        match self {
            Spot::Chamber { cylinder }
            | Spot::Deck { cylinder, .. }
            | Spot::Crown { cylinder, .. }
            | Spot::Bore { cylinder, .. }
            | Spot::Part { cylinder, .. }
            | Spot::Flow { cylinder, .. }
            | Spot::Port { cylinder, .. }
            | Spot::Gap { cylinder, .. } => Some(*cylinder),
            Spot::Gasket { cylinder, .. } | Spot::Free { cylinder, .. } => *cylinder,
        }
    }

    /// The name of a free spot; `None` for every other.
    pub fn free_name(&self) -> Option<&SpotName> {
        match self {
            Spot::Free { name, .. } => Some(name),
            _ => None,
        }
    }

    /// The same spot at another cylinder (a reading that was taken at the wrong one is moved so).
    /// A spot that all cylinders share stays as it is.
    #[must_use]
    pub fn at_cylinder(&self, to: u32) -> Spot {
        let mut moved = self.clone();
        match &mut moved {
            Spot::Chamber { cylinder }
            | Spot::Deck { cylinder, .. }
            | Spot::Crown { cylinder, .. }
            | Spot::Bore { cylinder, .. }
            | Spot::Part { cylinder, .. }
            | Spot::Flow { cylinder, .. }
            | Spot::Port { cylinder, .. }
            | Spot::Gap { cylinder, .. }
            | Spot::Gasket {
                cylinder: Some(cylinder),
                ..
            }
            | Spot::Free {
                cylinder: Some(cylinder),
                ..
            } => *cylinder = to,
            Spot::Gasket { cylinder: None, .. } | Spot::Free { cylinder: None, .. } => {}
        }
        moved
    }

    /// What kind of quantity a reading of this spot is. A flow spot holds several quantities; its
    /// leading one is the test pressure. `None` for a free spot, whose kind the engine file states
    /// (see [`crate::engine::Engine::kind_of`]).
    pub fn kind(&self) -> Option<QuantityKind> {
        Some(match self {
            Spot::Free { .. } => return None,
            Spot::Chamber { .. } => QuantityKind::Volume,
            Spot::Crown {
                part: CrownPart::Depth,
                ..
            } => QuantityKind::Length,
            Spot::Crown { .. } => QuantityKind::Volume,
            Spot::Port {
                quantity: PortQuantity::Runner,
                ..
            } => QuantityKind::Volume,
            Spot::Flow { .. } => QuantityKind::Pressure,
            Spot::Deck { .. }
            | Spot::Gasket { .. }
            | Spot::Bore { .. }
            | Spot::Part { .. }
            | Spot::Port { .. }
            | Spot::Gap { .. } => QuantityKind::Length,
        })
    }
}

impl fmt::Display for Spot {
    /// The one text form of the spot: lifts and depths in mm, so that equal spots print alike.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.family().name())?;
        match self {
            Spot::Chamber { cylinder } => write!(f, "/{cylinder}"),
            Spot::Deck { cylinder, point }
            | Spot::Part {
                cylinder, point, ..
            } => {
                write!(f, "/{cylinder}")?;
                point.as_ref().map_or(Ok(()), |point| write!(f, "/{point}"))
            }
            Spot::Crown { cylinder, part } => match part {
                CrownPart::Volume => write!(f, "/{cylinder}"),
                CrownPart::Fluid => write!(f, "/{cylinder}/fluid"),
                CrownPart::Depth => write!(f, "/{cylinder}/depth"),
            },
            Spot::Gasket { part, cylinder } => {
                f.write_str(match part {
                    GasketPart::Bore => "/bore",
                    GasketPart::Thickness => "/thickness",
                })?;
                cylinder.map_or(Ok(()), |cylinder| write!(f, "/{cylinder}"))
            }
            Spot::Bore { cylinder, at } => {
                write!(f, "/{cylinder}")?;
                match at {
                    None => Ok(()),
                    Some((BoreHeight::Named(name), across)) => write!(f, "/{name}/{across}"),
                    Some((BoreHeight::At(depth), across)) => write!(f, "/{depth}/{across}"),
                }
            }
            Spot::Flow {
                cylinder,
                port,
                runner,
                lift,
            } => {
                write!(f, "/{cylinder}/{port}")?;
                if let Some(runner) = runner {
                    write!(f, "/{runner}")?;
                }
                write!(f, "/{lift}")
            }
            Spot::Port { cylinder, port, .. } => write!(f, "/{cylinder}/{port}"),
            Spot::Gap {
                cylinder,
                port,
                angle,
            } => write!(f, "/{cylinder}/{port}/{angle}"),
            Spot::Free { name, cylinder, at } => {
                write!(f, "/{name}")?;
                cylinder.map_or(Ok(()), |cylinder| write!(f, "/{cylinder}"))?;
                at.as_ref().map_or(Ok(()), |at| write!(f, "/{at}"))
            }
        }
    }
}

impl serde::Serialize for Spot {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Spot {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Spot {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Spot".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "What was measured where, e.g. `chamber/3` or `deck/5/thrust`.",
            "type": "string",
        })
    }
}

#[cfg(test)]
mod tests;
