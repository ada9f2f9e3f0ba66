//! How the compression ratio moves with its inputs, and how far it is from a target.
//!
//! Source: `docs/formulas.md`, sections 1.7, 1.8 and 5.

use serde::Serialize;

use crate::engine_figures::EngineFigures;
use crate::figure::{ErrorSource, Estimate, Figure, Scalar};
use crate::formula::compression::{CylinderVolumes, clearance_for};
use crate::formula::crank::{Crank, effective_ratio};
use crate::named::named_enum;
use crate::units::Unit;

/// How the ratio of one cylinder answers to one input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sensitivity {
    /// The input.
    pub input: CompressionInput,
    /// A step of the input.
    pub step: Figure,
    /// What the step changes the ratio by, signed.
    pub change: f64,
    /// What the input contributes to the uncertainty of the ratio; `None` if it is unknown.
    pub contribution: Option<f64>,
}

named_enum! {
    /// What the compression of a cylinder is calculated from.
    CompressionInput {
        /// Bore.
        Bore = "bore",
        /// Piston travel.
        Stroke = "stroke",
        /// Chamber volume.
        Chamber = "chamber",
        /// Diameter of the gasket's opening.
        GasketBore = "gasket bore",
        /// Compressed thickness of the gasket.
        GasketThickness = "gasket thickness",
        /// Deck clearance.
        Deck = "deck",
        /// Crown volume.
        Crown = "crown",
        /// Volume above the top ring.
        Crevice = "crevice",
    }
}

impl CompressionInput {
    /// Whether it is a volume, which steps by 1 cc; lengths step by 0.001 in or 0.01 mm.
    fn is_volume(self) -> bool {
        use CompressionInput::{Chamber, Crevice, Crown};
        matches!(self, Chamber | Crown | Crevice)
    }
}

/// The sensitivity of a cylinder's ratio to each of its inputs: what contributes most to the
/// uncertainty first, those of unknown uncertainty last; lengths
/// step by 0.001 in or 0.01 mm as `length` is inches or not, volumes by 1 cc.
///
/// The bore counts once, through the swept volume and the deck together.
pub fn sensitivities(cylinder: &CylinderVolumes<Estimate>, length: Unit) -> Vec<Sensitivity> {
    let parts = [
        &cylinder.bore,
        &cylinder.stroke,
        &cylinder.chamber,
        &cylinder.gasket_bore,
        &cylinder.gasket_thickness,
        &cylinder.deck,
        &cylinder.crown,
        &cylinder.crevice,
    ];
    // Each input alone, without the errors that it shares with others.
    let plain = |at: usize| {
        let name = CompressionInput::ALL[at].name();
        Estimate::new(
            parts[at].value(),
            ErrorSource::new(name, Some(1.0), f64::INFINITY),
        )
    };
    let slopes = CylinderVolumes {
        bore: plain(0),
        stroke: plain(1),
        chamber: plain(2),
        gasket_bore: plain(3),
        gasket_thickness: plain(4),
        deck: plain(5),
        crown: plain(6),
        crevice: plain(7),
    }
    .ratio();
    let step = if length == Unit::Inch { 0.001 } else { 0.01 };
    let mut all: Vec<Sensitivity> = CompressionInput::ALL
        .iter()
        .zip(parts)
        .map(|(input, part)| {
            let slope = slopes.slope(input.name());
            let step = match input.is_volume() {
                true => Figure::new(1.0, Some(0.0), Unit::CubicCentimetre),
                false => Figure::new(step, Some(0.0), length),
            };
            Sensitivity {
                input: *input,
                change: slope * step.unit.difference_to_base(step.value),
                step,
                contribution: part.u().map(|u| (slope * u).abs()),
            }
        })
        .collect();
    let size = |one: &Sensitivity| one.contribution.unwrap_or(-1.0);
    all.sort_by(|a, b| {
        size(b)
            .total_cmp(&size(a))
            .then(b.change.abs().total_cmp(&a.change.abs()))
    });
    all
}

/// How far one cylinder is from a target ratio.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DistanceToTarget {
    /// The cylinder.
    pub cylinder: u32,
    /// Ratio.
    pub ratio: Figure,
    /// The clearance volume that gives the target, cc.
    pub clearance_wanted: Figure,
    /// How much clearance volume is to be taken away, cc; negative: to be added.
    pub remove: Figure,
}

/// The clearance volume to remove for a target ratio, for each cylinder whose compression is known.
pub fn target(state: &EngineFigures, ratio: f64) -> Vec<DistanceToTarget> {
    let cc = Unit::CubicCentimetre;
    let at = |known: &crate::engine_figures::CylinderFigures| {
        let whole = known.whole()?;
        let wanted = clearance_for(&whole.swept(), &Estimate::exact(ratio));
        let remove = whole.clearance() - &wanted;
        Some(DistanceToTarget {
            cylinder: known.number,
            ratio: known.ratio()?.figure(Unit::One),
            clearance_wanted: wanted.figure(cc),
            remove: remove.figure(cc),
        })
    };
    state.cylinders.iter().filter_map(at).collect()
}

/// The effective compression ratio of each cylinder from the intake valve's closing, in degrees
/// after true bottom dead centre. State with it at which lift the closing is quoted. Each cylinder
/// has its own rod; `rod`, where it is given, stands for all of them. A cylinder without one is left
/// out.
pub fn effective_ratios(
    state: &EngineFigures,
    rod: Option<&Estimate>,
    offset: &Estimate,
    closing: &Estimate,
) -> Vec<(u32, Figure)> {
    let at = |known: &crate::engine_figures::CylinderFigures| {
        let whole = known.whole()?;
        let rod = rod.or(known.rod.as_ref())?;
        let crank = Crank::of_travel(&whole.stroke, rod, offset);
        let ratio = effective_ratio(&crank, &whole.bore, &whole.clearance(), closing);
        Some((known.number, ratio.figure(Unit::One)))
    };
    state.cylinders.iter().filter_map(at).collect()
}
