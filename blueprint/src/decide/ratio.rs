//! What the compression answers to, and what separates it from a target.
//!
//! Source: `docs/formulas.md`, sections 1.7, 1.8 and 5.

use serde::Serialize;

use crate::engine_figures::EngineFigures;
use crate::figure::{ErrorSource, Estimate, Figure, Scalar};
use crate::formula::compression::{CylinderVolumes, clearance_for};
use crate::formula::crank::{Crank, effective_ratio};
use crate::units::Unit;

/// How the ratio of one cylinder answers to one input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sensitivity {
    /// The input.
    pub input: &'static str,
    /// A step of the input.
    pub step: Figure,
    /// What the step changes the ratio by, signed.
    pub change: f64,
    /// What the input contributes to the uncertainty of the ratio; `None` if it is unknown.
    pub contribution: Option<f64>,
}

/// The inputs of a cylinder as lengths (step 0.001 in or 0.01 mm) and volumes (step 1 cc).
const INPUTS: [(&str, bool); 8] = [
    ("bore", true),
    ("stroke", true),
    ("chamber", false),
    ("gasket bore", true),
    ("gasket thickness", true),
    ("deck", true),
    ("crown", false),
    ("crevice", false),
];

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
    // Each input on its own, whatever it shares with the others.
    let plain = |at: usize| {
        let (name, _) = INPUTS[at];
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
    let mut all: Vec<Sensitivity> = INPUTS
        .iter()
        .zip(parts)
        .map(|((name, is_length), part)| {
            let slope = slopes.slope(*name);
            let step = match is_length {
                true => Figure::new(step, Some(0.0), length),
                false => Figure::new(1.0, Some(0.0), Unit::CubicCentimetre),
            };
            Sensitivity {
                input: name,
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

/// What separates one cylinder from a target ratio.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DistanceToTarget {
    /// The cylinder.
    pub cylinder: u32,
    /// Its ratio.
    pub ratio: Figure,
    /// The clearance volume that gives the target, cc.
    pub clearance_wanted: Figure,
    /// How much clearance volume is to be taken away, cc; negative: to be added.
    pub remove: Figure,
}

/// What removes the difference to a target ratio, for each cylinder whose compression is known.
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
