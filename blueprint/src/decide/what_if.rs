//! What if: any dimension changed, before and after side by side; and two states compared.
//!
//! Before and after share their errors, so that what a change does is known far better than either
//! of them.

mod change;

use serde::{Deserialize, Serialize};

use crate::engine::LengthUnits;
use crate::engine_figures::{CylinderFigures, EngineFigures, spread};
use crate::figure::{Estimate, Figure};
use crate::report::words;
use crate::units::Unit;
pub use change::{ChangeError, DimensionChange};

/// A figure before and after, and by how much it changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BeforeAfter {
    /// Before.
    pub before: Figure,
    /// After.
    pub after: Figure,
    /// After less before; what both share has cancelled in its uncertainty.
    pub difference: Figure,
    /// Whether the difference is more than its expanded uncertainty; `None` if that is unknown.
    pub real: Option<bool>,
}

/// A figure that one side alone knows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OneSide {
    /// Before; `None` where only the other side knows it.
    pub before: Option<Figure>,
    /// After; `None` where only the other side knows it.
    pub after: Option<Figure>,
}

/// Two states side by side; a pair is `None` where either side is not known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FiguresComparison {
    /// Compression ratio of each cylinder.
    pub compression: Vec<(u32, Option<BeforeAfter>)>,
    /// Chamber volume of each cylinder, cc.
    pub chamber: Vec<(u32, Option<BeforeAfter>)>,
    /// Deck clearance of each cylinder.
    pub deck: Vec<(u32, Option<BeforeAfter>)>,
    /// Crown volume of each cylinder, cc.
    pub crown: Vec<(u32, Option<BeforeAfter>)>,
    /// Clearance volume of each cylinder, cc.
    pub clearance: Vec<(u32, Option<BeforeAfter>)>,
    /// Quench distance of each cylinder.
    pub quench: Vec<(u32, Option<BeforeAfter>)>,
    /// The figures that one side alone knows, by cylinder and by the names of the lists above.
    pub one_sided: Vec<(u32, &'static str, OneSide)>,
    /// The cylinders whose compression both sides know: mean and spread are over these alone.
    pub compared: Vec<u32>,
    /// Mean compression.
    pub compression_mean: Option<BeforeAfter>,
    /// Spread of the compression.
    pub compression_spread: Option<BeforeAfter>,
    /// What to look at, in a sentence each.
    pub warnings: Vec<String>,
}

impl BeforeAfter {
    /// A figure before and after. What both share cancels in the uncertainty of the difference.
    /// `None` where either side is not known.
    pub fn of(
        before: Option<Estimate>,
        after: Option<Estimate>,
        unit: Unit,
    ) -> Option<BeforeAfter> {
        let (before, after) = (before?, after?);
        let difference = (&after - &before).difference(unit);
        Some(BeforeAfter {
            before: before.figure(unit),
            after: after.figure(unit),
            real: difference.is_real(),
            difference,
        })
    }
}

/// Two states side by side, such as one job before and after a cut. For two jobs, give the second
/// as [`EngineFigures::of_job`]. Cylinders are compared by their numbers; mean and spread are over
/// those that both sides know, since an average over other cylinders is another average.
pub fn compare(before: &EngineFigures, after: &EngineFigures) -> FiguresComparison {
    let length = before.units.length();
    let cc = Unit::CubicCentimetre;
    let mut one_sided = Vec::new();
    let mut of = |name: &'static str,
                  get: &dyn Fn(&CylinderFigures) -> Option<Estimate>,
                  unit: Unit| {
        before
            .cylinders
            .iter()
            .map(|known| {
                let other = after
                    .cylinders
                    .iter()
                    .find(|other| other.number == known.number);
                let (old, new) = (get(known), other.and_then(get));
                if old.is_some() != new.is_some() {
                    let shown = |one: &Option<Estimate>| one.as_ref().map(|one| one.figure(unit));
                    let (before, after) = (shown(&old), shown(&new));
                    one_sided.push((known.number, name, OneSide { before, after }));
                }
                (known.number, BeforeAfter::of(old, new, unit))
            })
            .collect::<Vec<_>>()
    };
    let (old, new) = (before.ratios(), after.ratios());
    let both: Vec<(u32, Estimate, Estimate)> = old
        .into_iter()
        .filter_map(|(number, ratio)| {
            let (_, other) = new.iter().find(|(other, _)| *other == number)?;
            Some((number, ratio, other.clone()))
        })
        .collect();
    let ratios_before: Vec<Estimate> = both.iter().map(|(_, one, _)| one.clone()).collect();
    let ratios_after: Vec<Estimate> = both.iter().map(|(.., one)| one.clone()).collect();
    FiguresComparison {
        compression: of("compression", &CylinderFigures::ratio, Unit::One),
        chamber: of("chamber", &|known| known.chamber.clone(), cc),
        deck: of("deck", &|known| known.deck.clone(), length),
        crown: of("crown", &|known| known.crown.clone(), cc),
        clearance: of("clearance", &CylinderFigures::clearance, cc),
        quench: of("quench", &CylinderFigures::quench, length),
        one_sided,
        compared: both.iter().map(|(number, ..)| *number).collect(),
        compression_mean: BeforeAfter::of(
            Estimate::mean(&ratios_before),
            Estimate::mean(&ratios_after),
            Unit::One,
        ),
        compression_spread: BeforeAfter::of(
            spread(&ratios_before),
            spread(&ratios_after),
            Unit::One,
        ),
        warnings: Vec::new(),
    }
}

/// The figures after some dimensions are changed, and both side by side. A value that is set is
/// exact unless it has a ±. A value that is added to keeps its uncertainty.
pub fn what_if(
    state: &EngineFigures,
    changes: &[DimensionChange],
) -> Result<(EngineFigures, FiguresComparison), ChangeError> {
    let mut after = state.clone();
    let mut warnings = Vec::new();
    for change in changes {
        if let Some(number) = change.cylinder
            && after.cylinders.iter().all(|known| known.number != number)
        {
            return Err(ChangeError::Cylinder(number));
        }
        for known in &mut after.cylinders {
            if change.concerns(known.number) {
                warnings.extend(change.apply(known)?);
            }
        }
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

fn possible(known: &CylinderFigures, units: LengthUnits) -> Result<(), ChangeError> {
    let cylinder = known.number;
    let shown = |what: &str, value: f64| match what {
        "chamber" | "total volume at TDC" => words::volume(value),
        _ => words::length(value, units),
    };
    let positive = |what: &'static str, value: Option<&Estimate>| match value {
        Some(value) if value.value() <= 0.0 => Err(ChangeError::Absurd {
            cylinder,
            what,
            value: shown(what, value.value()),
        }),
        _ => Ok(()),
    };
    positive("bore", known.bore.as_ref())?;
    positive("stroke", known.stroke.as_ref())?;
    positive("chamber", known.chamber.as_ref())?;
    positive("rod", known.rod.as_ref())?;
    positive("block height", known.block_height.as_ref())?;
    positive("compression height", known.compression_height.as_ref())?;
    positive("gasket thickness", known.gasket_thickness.as_ref())?;
    // The clearance volume of the figures themselves is `None` where it cannot be.
    let total = known.whole().map(|whole| whole.clearance());
    positive("total volume at TDC", total.as_ref())?;
    if let (Some(gasket), Some(bore)) = (&known.gasket_bore, &known.bore)
        && gasket.value() < bore.value()
    {
        let what = "gasket bore smaller than its bore";
        let value = shown(what, gasket.value());
        return Err(ChangeError::Absurd {
            cylinder,
            what,
            value,
        });
    }
    Ok(())
}
