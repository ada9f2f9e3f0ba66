//! What if: any dimension changed, before and after side by side; and two states compared.
//!
//! Before and after share their errors, so that what a change does is known far better than either
//! of them.

use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::engine::LengthUnits;
use crate::figure::{Estimate, Figure, Scalar};
use crate::known::{Known, State, spread};
use crate::report::words;
use crate::units::{Kind, Quantity, Unit};

/// A change of one dimension, such as `gasket thickness = 0.051 in` or `chamber/3 -= 2 cc`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    what: What,
    /// One cylinder; `None`: all.
    cylinder: Option<u32>,
    /// In base units.
    value: f64,
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
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum How {
    To,
    By,
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
        "found {0:?}; expected one of bore, stroke, chamber, deck, crown, gasket bore, gasket thickness or crevice, with /3 behind it for one cylinder"
    )]
    What(String),
    /// The value cannot be read.
    #[error("{text}: {error}")]
    Value {
        /// The change.
        text: String,
        /// What is wrong.
        error: crate::units::QuantityError,
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
        /// What it would be, with its unit.
        value: String,
    },
}

const NAMES: [(&str, What, Kind); 8] = [
    ("bore", What::Bore, Kind::Length),
    ("stroke", What::Stroke, Kind::Length),
    ("chamber", What::Chamber, Kind::Volume),
    ("deck", What::Deck, Kind::Length),
    ("crown", What::Crown, Kind::Volume),
    ("gasket bore", What::GasketBore, Kind::Length),
    ("gasket thickness", What::GasketThickness, Kind::Length),
    ("crevice", What::Crevice, Kind::Volume),
];

impl FromStr for Change {
    type Err = ChangeError;

    fn from_str(text: &str) -> Result<Change, ChangeError> {
        let shape = || ChangeError::Shape(text.to_owned());
        let (left, right) = text.split_once('=').ok_or_else(shape)?;
        let left = left.trim_end();
        let (name, how, sign) = if let Some(name) = left.strip_suffix('+') {
            (name, How::By, 1.0)
        } else if let Some(name) = left.strip_suffix('-') {
            (name, How::By, -1.0)
        } else {
            (left, How::To, 1.0)
        };
        let name = name.trim();
        let unknown = || ChangeError::What(name.to_owned());
        let (bare, cylinder) = match name.rsplit_once('/') {
            Some((bare, number)) if number.bytes().all(|b| b.is_ascii_digit()) => {
                (bare, Some(number.parse().map_err(|_| unknown())?))
            }
            _ => (name, None),
        };
        // The slash of a spot is as good as a blank: gasket/thickness.
        let words = bare
            .replace('/', " ")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        let (_, what, kind) = NAMES
            .into_iter()
            .find(|(known, ..)| *known == words)
            .ok_or_else(unknown)?;
        let quantity = right
            .parse::<Quantity>()
            .and_then(|quantity| quantity.expect(kind));
        let quantity = quantity.map_err(|error| ChangeError::Value {
            text: text.to_owned(),
            error,
        })?;
        Ok(Change {
            what,
            cylinder,
            value: sign * quantity.base(),
            how,
        })
    }
}

/// A figure before and after, and by how much it changes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pair {
    /// Before.
    pub before: Figure,
    /// After.
    pub after: Figure,
    /// After less before; what both share has cancelled in its uncertainty.
    pub difference: Figure,
    /// Whether the difference is more than twice its uncertainty; `None` if that is unknown.
    pub real: Option<bool>,
}

/// Two states side by side; a pair is `None` where either side is not known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Compression ratio of each cylinder.
    pub compression: Vec<(u32, Option<Pair>)>,
    /// Chamber volume of each cylinder, cc.
    pub chamber: Vec<(u32, Option<Pair>)>,
    /// Deck clearance of each cylinder.
    pub deck: Vec<(u32, Option<Pair>)>,
    /// Crown volume of each cylinder, cc.
    pub crown: Vec<(u32, Option<Pair>)>,
    /// Clearance volume of each cylinder, cc.
    pub clearance: Vec<(u32, Option<Pair>)>,
    /// Quench distance of each cylinder.
    pub quench: Vec<(u32, Option<Pair>)>,
    /// Mean compression.
    pub compression_mean: Option<Pair>,
    /// Spread of the compression.
    pub compression_spread: Option<Pair>,
    /// What to look at.
    pub warnings: Vec<String>,
}

fn difference_in(estimate: &Estimate, unit: Unit) -> Figure {
    Figure {
        value: unit.difference_from_base(estimate.value()),
        u: estimate.u().map(|u| unit.difference_from_base(u)),
        unit,
    }
}

fn pair(before: Option<Estimate>, after: Option<Estimate>, unit: Unit) -> Option<Pair> {
    let (before, after) = (before?, after?);
    let difference = after.clone() - before.clone();
    let real = difference.u().map(|u| difference.value().abs() > 2.0 * u);
    Some(Pair {
        before: before.figure(unit),
        after: after.figure(unit),
        difference: difference_in(&difference, unit),
        real,
    })
}

/// Two states side by side, such as one job before and after a cut. For two jobs, give the second
/// as [`State::of_job`]. Cylinders are compared by their numbers.
pub fn compare(before: &State, after: &State) -> Comparison {
    let length = before.units.length();
    let cc = Unit::CubicCentimetre;
    let of = |get: &dyn Fn(&Known) -> Option<Estimate>, unit: Unit| {
        before
            .cylinders
            .iter()
            .map(|known| {
                let other = after
                    .cylinders
                    .iter()
                    .find(|other| other.number == known.number);
                (known.number, pair(get(known), other.and_then(get), unit))
            })
            .collect::<Vec<_>>()
    };
    let ratios = |state: &State| -> Vec<Estimate> {
        state.ratios().into_iter().map(|(_, ratio)| ratio).collect()
    };
    let (ratios_before, ratios_after) = (ratios(before), ratios(after));
    Comparison {
        compression: of(&Known::ratio, Unit::One),
        chamber: of(&|known| known.chamber.clone(), cc),
        deck: of(&|known| known.deck.clone(), length),
        crown: of(&|known| known.crown.clone(), cc),
        clearance: of(&Known::clearance, cc),
        quench: of(&Known::quench, length),
        compression_mean: pair(
            Estimate::mean(&ratios_before),
            Estimate::mean(&ratios_after),
            Unit::One,
        ),
        compression_spread: pair(spread(&ratios_before), spread(&ratios_after), Unit::One),
        warnings: Vec::new(),
    }
}

/// What changes if dimensions are changed. A value that is set is exact; one that is added to keeps
/// its uncertainty.
pub fn what_if(state: &State, changes: &[Change]) -> Result<(State, Comparison), ChangeError> {
    let mut after = state.clone();
    let mut warnings = Vec::new();
    for change in changes {
        if let Some(number) = change.cylinder
            && after.cylinders.iter().all(|known| known.number != number)
        {
            return Err(ChangeError::Cylinder(number));
        }
        for known in &mut after.cylinders {
            if change.cylinder.is_none_or(|number| number == known.number) {
                change.apply(known);
            }
        }
        warnings.extend(change.warning());
    }
    for known in &after.cylinders {
        possible(known, state.units)?;
    }
    warnings.sort();
    warnings.dedup();
    let mut comparison = compare(state, &after);
    comparison.warnings = warnings.into_iter().map(str::to_owned).collect();
    Ok((after, comparison))
}

impl Change {
    fn apply(&self, known: &mut Known) {
        let changed = |now: &Estimate| match self.how {
            How::To => Estimate::exact(self.value),
            How::By => now.offset(self.value),
        };
        // A value that is not known stays unknown if it is added to, and is known if it is set.
        let optional = |now: &mut Option<Estimate>| {
            *now = match (&now, self.how) {
                (Some(now), _) => Some(changed(now)),
                (None, How::To) => Some(Estimate::exact(self.value)),
                (None, How::By) => None,
            };
        };
        match self.what {
            What::Bore => known.bore = changed(&known.bore),
            What::Stroke => {
                // With a longer stroke the piston stands higher by half of the difference.
                let stroke = changed(&known.stroke);
                let rise = (stroke.clone() - known.stroke.clone()).scale(0.5);
                known.deck = known.deck.clone().map(|deck| deck - rise);
                known.stroke = stroke;
            }
            What::Chamber => optional(&mut known.chamber),
            What::Deck => optional(&mut known.deck),
            What::Crown => optional(&mut known.crown),
            What::GasketBore => optional(&mut known.gasket_bore),
            What::GasketThickness => optional(&mut known.gasket_thickness),
            What::Crevice => optional(&mut known.crevice),
        }
    }

    fn warning(&self) -> Option<&'static str> {
        Some(match self.what {
            What::Deck | What::GasketThickness => {
                "quench and valve-to-piston clearance change with it"
            }
            What::Chamber => {
                "if the head is milled for it, valve-to-piston clearance shrinks by the depth"
            }
            What::Stroke => {
                "the piston stands higher by half of a longer stroke; rod and compression height are taken as they are"
            }
            What::Crown => "a larger dome comes nearer to the valves and the chamber's roof",
            What::Bore => "the gasket's opening must not be smaller than the bore",
            What::GasketBore | What::Crevice => return None,
        })
    }
}

fn possible(known: &Known, units: LengthUnits) -> Result<(), ChangeError> {
    let cylinder = known.number;
    let length = |mm: f64| words::length(mm, units);
    let cc = |cc: f64| words::volume(cc);
    let positive =
        |what: &'static str, value: Option<&Estimate>, shown: &dyn Fn(f64) -> String| match value {
            Some(value) if value.value() <= 0.0 => Err(ChangeError::Absurd {
                cylinder,
                what,
                value: shown(value.value()),
            }),
            _ => Ok(()),
        };
    positive("bore", Some(&known.bore), &length)?;
    positive("stroke", Some(&known.stroke), &length)?;
    positive("chamber", known.chamber.as_ref(), &cc)?;
    positive("gasket thickness", known.gasket_thickness.as_ref(), &length)?;
    positive("clearance volume", known.clearance().as_ref(), &cc)?;
    if let Some(gasket) = &known.gasket_bore
        && gasket.value() < known.bore.value()
    {
        let value = length(gasket.value());
        let what = "gasket bore smaller than its bore";
        return Err(ChangeError::Absurd {
            cylinder,
            what,
            value,
        });
    }
    Ok(())
}
