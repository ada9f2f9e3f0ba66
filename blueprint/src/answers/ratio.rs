//! How the compression ratio moves with its inputs, how far it is from a target, and the effective
//! ratio.

use serde::{Deserialize, Serialize};

use super::asked::{EffectiveAsked, SensitivitiesAsked, TargetAsked};
use super::context::{Context, chosen, typed};
use super::error::AskError;
use crate::decide::{CompressionInput, effective_ratios, sensitivities, target};
use crate::figure::{Estimate, Figure, Scalar};
use crate::units::{QuantityKind, Unit};

/// How the ratio of one cylinder answers to each of its inputs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SensitivitiesAnswer {
    /// The cylinder.
    pub cylinder: u32,
    /// Ratio.
    pub compression: Figure,
    /// The inputs, what contributes most to the uncertainty first; those of unknown uncertainty
    /// last.
    pub inputs: Vec<InputAnswer>,
}

/// How the ratio answers to one input.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct InputAnswer {
    /// The input.
    pub input: CompressionInput,
    /// A step of the input.
    pub step: Figure,
    /// What the step changes the ratio by.
    pub change: Figure,
    /// What the input contributes to the uncertainty of the ratio; `None` if it is unknown.
    pub contribution: Option<Figure>,
}

/// What separates each cylinder from a target.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TargetAnswer {
    /// The target ratio.
    pub target: Figure,
    /// Cylinder by cylinder.
    pub cylinders: Vec<TargetCylinder>,
}

/// What separates one cylinder from the target. Volumes in cc.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TargetCylinder {
    /// The cylinder.
    pub cylinder: u32,
    /// Ratio.
    pub compression: Figure,
    /// The clearance volume that gives the target.
    pub clearance_wanted: Figure,
    /// Clearance volume to be taken away; negative: to be added.
    pub remove: Figure,
}

/// Effective ratios.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct EffectiveAnswer {
    /// Closing of the intake valve, degrees after bottom dead centre.
    pub closing: Figure,
    /// The lift at which that is quoted.
    pub at_lift: Figure,
    /// Cylinder by cylinder.
    pub cylinders: Vec<EffectiveCylinder>,
}

/// The effective ratio of one cylinder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct EffectiveCylinder {
    /// The cylinder.
    pub cylinder: u32,
    /// The ratio of the whole stroke.
    pub compression: Figure,
    /// The ratio from the valve's closing on.
    pub effective: Figure,
}

pub(super) fn answers_to(
    context: &mut Context<'_>,
    asked: &SensitivitiesAsked,
) -> Result<SensitivitiesAnswer, AskError> {
    if let Some(number) = asked.cylinder {
        context.cylinder(number)?;
    }
    let found = context.state.cylinders.iter().find_map(|known| {
        let wanted = asked.cylinder.is_none_or(|number| number == known.number);
        Some((
            known.number,
            known.whole().filter(|_| wanted)?,
            known.ratio()?,
        ))
    });
    let (cylinder, whole, ratio) =
        found.ok_or_else(|| context.nothing_known("what the compression answers to", false))?;
    context.say_unknown("the compression", std::iter::once(&ratio));
    context.remark("The bore counts through the swept volume and the deck together. Each input moves by its step alone.");
    let inputs = sensitivities(&whole, context.length())
        .into_iter()
        .map(|one| InputAnswer {
            input: one.input,
            step: chosen(one.step.value, one.step.unit),
            change: chosen(one.change, Unit::One),
            contribution: one.contribution.map(|u| chosen(u, Unit::One)),
        })
        .collect();
    Ok(SensitivitiesAnswer {
        cylinder,
        compression: ratio.figure(Unit::One),
        inputs,
    })
}

pub(super) fn from_target(
    context: &mut Context<'_>,
    asked: &TargetAsked,
) -> Result<TargetAnswer, AskError> {
    let ratio = context.ratio(asked.ratio)?;
    let cylinders: Vec<TargetCylinder> = target(&context.state, ratio)
        .into_iter()
        .map(|one| TargetCylinder {
            cylinder: one.cylinder,
            compression: one.ratio,
            clearance_wanted: one.clearance_wanted,
            remove: one.remove,
        })
        .collect();
    if cylinders.is_empty() {
        return Err(context.nothing_known("the way to a target", false));
    }
    let ratios: Vec<_> = context
        .state
        .ratios()
        .into_iter()
        .map(|(_, one)| one)
        .collect();
    context.say_unknown("the volume", &ratios);
    context.remark("The volume may go by milling, a gasket, a dome or dish, or deck height: `decide mill`, `decide gasket` and `decide dome` say how much of each.");
    Ok(TargetAnswer {
        target: chosen(ratio, Unit::One),
        cylinders,
    })
}

pub(super) fn effective(
    context: &mut Context<'_>,
    asked: &EffectiveAsked,
) -> Result<EffectiveAnswer, AskError> {
    let closing = typed(
        &asked.closing,
        QuantityKind::Angle,
        "the closing",
        "--closing",
    )?;
    if !(0.0..180.0).contains(&closing.value) {
        return Err(AskError::bad(
            format!(
                "the intake valve closes {} after bottom dead centre",
                closing.written
            ),
            "0 deg or more and below 180 deg",
            "correct --closing",
        ));
    }
    let at_lift = typed(
        &asked.at_lift,
        QuantityKind::Length,
        "the lift",
        "--at-lift",
    )?;
    let offset = match &asked.offset {
        Some(text) => Some(typed(text, QuantityKind::Length, "the offset", "--offset")?),
        None => context.engine.piston.pin_offset,
    };
    if offset.is_none() {
        context.remark("No offset of pin or bore is stated; none is reckoned with.");
    }
    let offset = offset.map_or_else(|| Estimate::exact(0.0), |one| one.estimate("pin offset"));
    let rod = match &asked.rod {
        Some(text) => Some(typed(text, QuantityKind::Length, "the rod", "--rod")?.estimate("rod")),
        None => None,
    };
    // Each cylinder's own rod, unless one is given for all.
    let rods: Vec<&Estimate> = match &rod {
        Some(rod) => vec![rod],
        None => context
            .state
            .cylinders
            .iter()
            .filter_map(|one| one.rod.as_ref())
            .collect(),
    };
    if rods.is_empty() {
        return Err(AskError::missing(
            "the rod's length is not known",
            "a length, such as \"6.000 in\"",
            "give --rod, or state `rod` in the engine file",
        ));
    }
    let rods_known = rods.iter().all(|rod| rod.u().is_some());
    let ratios = effective_ratios(
        &context.state,
        rod.as_ref(),
        &offset,
        &closing.estimate("closing"),
    );
    if ratios.is_empty() {
        return Err(context.nothing_known("an effective ratio", false));
    }
    let length = context.length();
    let all: Vec<_> = context.state.ratios();
    if closing.u.is_none() || !rods_known {
        context.remark("The uncertainty of the effective ratio is not known where that of the closing or the rod is not: give it, such as --closing \"62 deg +- 1 deg\".");
    }
    context.remark(format!(
        "There is no standard for it, and the lift at which the closing is quoted moves it by a whole ratio: these hold for a closing quoted at {} of lift, and are to be compared with such only.",
        at_lift.written
    ));
    context.caution("What compression an engine stands depends on its fuel and its tune; this ratio alone does not tell.");
    let cylinders = ratios
        .into_iter()
        .filter_map(|(cylinder, effective)| {
            let (_, ratio) = all.iter().find(|(number, _)| *number == cylinder)?;
            Some(EffectiveCylinder {
                cylinder,
                compression: ratio.figure(Unit::One),
                effective,
            })
        })
        .collect();
    Ok(EffectiveAnswer {
        closing: Figure::new(closing.value, closing.u, Unit::Degree),
        at_lift: chosen(length.from_base(at_lift.value), length),
        cylinders,
    })
}
