//! A change of one dimension: read from its text, and made in a cylinder.

use std::str::FromStr;

use crate::engine::StatedValue;
use crate::engine_figures::CylinderFigures;
use crate::figure::{Estimate, Scalar};
use crate::units::QuantityKind;

/// A change of one dimension, such as `gasket thickness = 0.051 in` or `chamber/3 -= 2 cc`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DimensionChange {
    what: What,
    /// One cylinder; `None`: all.
    pub(super) cylinder: Option<u32>,
    /// As it was typed.
    stated: StatedValue,
    how: How,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Bore,
    Stroke,
    Chamber,
    Deck,
    Crown,
    GasketBore,
    GasketThickness,
    Crevice,
    Rod,
    BlockHeight,
    CompressionHeight,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum How {
    To,
    /// By the value, or by its opposite.
    By(f64),
}

/// What is wrong with a change.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChangeError {
    /// It does not have the form of a change.
    #[error(
        "found {0:?}; expected a dimension, =, += or -=, and a value with its unit, such as \"gasket thickness = 0.051 in\" or \"chamber/3 -= 2 cc\""
    )]
    Shape(String),
    /// The dimension is not one that can be changed.
    #[error(
        "found {0:?}; expected one of bore, stroke, chamber, deck, crown, gasket bore, gasket thickness, crevice, rod, block height or compression height, with /3 behind it for one cylinder"
    )]
    What(String),
    /// The value cannot be read.
    #[error("{text}: {error}")]
    Value {
        /// The change.
        text: String,
        /// What is wrong.
        error: crate::engine::StatedError,
    },
    /// The present value is not known, so the move of the deck clearance is not known either.
    #[error(
        "the {what} of cylinder {cylinder} is not known, and so not how far its piston moves; state it in the engine file, or say the difference with += or -="
    )]
    Unknown {
        /// The cylinder.
        cylinder: u32,
        /// The dimension.
        what: &'static str,
    },
    /// There is no such cylinder.
    #[error("cylinder {0} is not one of the engine's; correct the change")]
    Cylinder(u32),
    /// Afterwards there would be no clearance volume, or a dimension would be nothing or less.
    #[error(
        "cylinder {cylinder} would have a {what} of {value}, which cannot be; correct the change"
    )]
    Absurd {
        /// The cylinder.
        cylinder: u32,
        /// The dimension.
        what: &'static str,
        /// The value that it would have, with its unit.
        value: String,
    },
}

const NAMES: [(&str, What, QuantityKind); 11] = [
    ("bore", What::Bore, QuantityKind::Length),
    ("stroke", What::Stroke, QuantityKind::Length),
    ("chamber", What::Chamber, QuantityKind::Volume),
    ("deck", What::Deck, QuantityKind::Length),
    ("crown", What::Crown, QuantityKind::Volume),
    ("gasket bore", What::GasketBore, QuantityKind::Length),
    (
        "gasket thickness",
        What::GasketThickness,
        QuantityKind::Length,
    ),
    ("crevice", What::Crevice, QuantityKind::Volume),
    ("rod", What::Rod, QuantityKind::Length),
    ("block height", What::BlockHeight, QuantityKind::Length),
    (
        "compression height",
        What::CompressionHeight,
        QuantityKind::Length,
    ),
];

impl FromStr for DimensionChange {
    type Err = ChangeError;

    fn from_str(text: &str) -> Result<DimensionChange, ChangeError> {
        let shape = || ChangeError::Shape(text.to_owned());
        let (left, right) = text.split_once('=').ok_or_else(shape)?;
        let left = left.trim_end();
        let (name, how) = if let Some(name) = left.strip_suffix('+') {
            (name, How::By(1.0))
        } else if let Some(name) = left.strip_suffix('-') {
            (name, How::By(-1.0))
        } else {
            (left, How::To)
        };
        let name = name.trim();
        let unknown = || ChangeError::What(name.to_owned());
        let (bare, cylinder) = match name.rsplit_once('/') {
            Some((bare, number)) if number.bytes().all(|b| b.is_ascii_digit()) => {
                (bare, Some(number.parse().map_err(|_| unknown())?))
            }
            _ => (name, None),
        };
        // A slash counts as a blank: gasket/thickness.
        let words = bare
            .replace('/', " ")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        let (_, what, kind) = NAMES
            .into_iter()
            .find(|(known, ..)| *known == words)
            .ok_or_else(unknown)?;
        let stated =
            StatedValue::parse(right.trim(), kind).map_err(|error| ChangeError::Value {
                text: text.to_owned(),
                error,
            })?;
        Ok(DimensionChange {
            what,
            cylinder,
            stated,
            how,
        })
    }
}

impl DimensionChange {
    fn name(&self) -> &'static str {
        NAMES
            .iter()
            .find(|(_, what, _)| *what == self.what)
            .map_or("", |(name, ..)| name)
    }

    /// The value that was typed; without a ± it is exact.
    fn value(&self) -> Estimate {
        if self.stated.u.is_none() {
            return Estimate::exact(self.stated.value);
        }
        let of = self.cylinder.map_or(String::new(), |one| format!("/{one}"));
        let name = format!("change of {}{of}: {}", self.name(), self.stated.written);
        self.stated.estimate(&name)
    }

    /// The difference and the new value of a dimension that moves the piston.
    fn moved(
        &self,
        cylinder: u32,
        now: &Option<Estimate>,
    ) -> Result<(Estimate, Option<Estimate>), ChangeError> {
        match (self.how, now) {
            (How::By(sign), now) => {
                let by = self.value().scale(sign);
                let then = now.clone().map(|now| now + &by);
                Ok((by, then))
            }
            (How::To, Some(now)) => Ok((self.value() - now, Some(self.value()))),
            (How::To, None) => Err(ChangeError::Unknown {
                cylinder,
                what: self.name(),
            }),
        }
    }

    /// Changes one cylinder. Returns what to look at.
    pub(super) fn apply(
        &self,
        known: &mut CylinderFigures,
    ) -> Result<Option<&'static str>, ChangeError> {
        let before = known.crown.clone();
        let changed = |now: &Estimate| match self.how {
            How::To => self.value(),
            How::By(sign) => now + self.value().scale(sign),
        };
        // A value that is not known stays unknown if it is added to, and is known if it is set.
        let optional = |now: &mut Option<Estimate>| {
            *now = match (&now, self.how) {
                (Some(now), _) => Some(changed(now)),
                (None, How::To) => Some(self.value()),
                (None, How::By(_)) => None,
            };
        };
        // The piston stands higher by `rise`, so its deck clearance is less by `rise`, measured or
        // not.
        let rise = match self.what {
            What::Stroke => {
                let (by, then) = self.moved(known.number, &known.stroke)?;
                known.stroke = then;
                Some(by.scale(0.5))
            }
            What::Rod => {
                let (by, then) = self.moved(known.number, &known.rod)?;
                known.rod = then;
                Some(by)
            }
            What::CompressionHeight => {
                let (by, then) = self.moved(known.number, &known.compression_height)?;
                known.compression_height = then;
                Some(by)
            }
            What::BlockHeight => {
                let (by, then) = self.moved(known.number, &known.block_height)?;
                known.block_height = then;
                Some(-by)
            }
            _ => None,
        };
        if let Some(rise) = rise {
            known.deck = known.deck.clone().map(|deck| deck - rise);
        }
        match self.what {
            What::Bore => optional(&mut known.bore),
            What::Chamber => optional(&mut known.chamber),
            What::Deck => optional(&mut known.deck),
            What::Crown => optional(&mut known.crown),
            What::GasketBore => optional(&mut known.gasket_bore),
            What::GasketThickness => optional(&mut known.gasket_thickness),
            What::Crevice => optional(&mut known.crevice),
            What::Stroke | What::Rod | What::BlockHeight | What::CompressionHeight => {}
        }
        let larger = match (&before, &known.crown) {
            (Some(before), Some(after)) => after.value() > before.value(),
            _ => true,
        };
        Ok(self.warning(larger))
    }

    /// A sentence: what to look at after the change. `larger`: the crown's volume has become
    /// larger.
    fn warning(&self, larger: bool) -> Option<&'static str> {
        Some(match self.what {
            What::Deck
            | What::GasketThickness
            | What::Rod
            | What::BlockHeight
            | What::CompressionHeight => "quench and piston-to-valve clearance change with it",
            What::Chamber => {
                "if the head is milled for it, piston-to-valve clearance shrinks by the depth"
            }
            What::Stroke => {
                "the piston stands higher by half of a longer stroke; rod and compression height are taken as they are"
            }
            What::Crown if larger => {
                "a larger dome or a shallower dish comes nearer to the valves and the chamber's roof"
            }
            What::Crown => {
                "a deeper dish or a smaller dome leaves less metal in the crown: its maker knows how much it may be"
            }
            What::Bore => "the gasket's opening must not be smaller than the bore",
            What::GasketBore | What::Crevice => return None,
        })
    }

    /// Why measured piston-to-valve clearances no longer hold. `None` unless the change is to crown
    /// or chamber: their volume does not tell the distance.
    pub fn hides_gaps(&self) -> Option<&'static str> {
        match self.what {
            What::Crown => Some("another crown has other pockets"),
            What::Chamber => Some(
                "how deep the head is milled for the chambers, if it is, is not known here; `decide mill` reckons it",
            ),
            _ => None,
        }
    }

    /// Whether the change applies to this cylinder.
    pub fn concerns(&self, cylinder: u32) -> bool {
        self.cylinder.is_none_or(|number| number == cylinder)
    }
}
