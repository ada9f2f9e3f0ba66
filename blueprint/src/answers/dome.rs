//! The dome or dish to order for a target ratio.

use serde::{Deserialize, Serialize};

use super::asked::DomeAsked;
use super::context::{Context, chosen};
use super::error::AskError;
use super::gaps::Gaps;
use crate::decide::dome_to_order;
use crate::figure::Figure;
use crate::units::Unit;

/// The crown to order. Volumes in cc, dome positive.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DomeAnswer {
    /// The target ratio.
    pub target: Figure,
    /// One crown for all cylinders.
    pub crown: Figure,
    /// The same by the sign that many catalogues use: dish positive, dome negative.
    pub crown_dish_positive: Figure,
    /// By how much a ratio may be off; `None`: nobody said.
    pub ratio_tolerance: Option<Figure>,
    /// How far the crown may be off so that the mean of the ratios keeps to `ratio_tolerance`.
    pub allowed: Option<Figure>,
    /// The tolerance to write on the order so that the mean of the ratios keeps to
    /// `ratio_tolerance`: what is left of `allowed` after twice the uncertainty of the volumes that
    /// the order rests on. `None`: nothing is left, or it is not known.
    pub tolerance: Option<Figure>,
    /// The tolerance with which each cylinder by itself keeps to `ratio_tolerance`.
    pub tolerance_each: Option<Figure>,
    /// The cylinders that a perfect crown leaves off by more than `ratio_tolerance`.
    pub beyond: Vec<u32>,
    /// What cannot be built, and what is to be looked at anew.
    pub warnings: Vec<String>,
    /// Cylinder by cylinder.
    pub cylinders: Vec<CrownAt>,
}

/// The crown that one cylinder needs, and the ratio that it gets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CrownAt {
    /// The cylinder.
    pub cylinder: u32,
    /// The crown that gives it the target exactly.
    pub crown: Figure,
    /// Ratio with the one crown for all.
    pub compression: Figure,
    /// Ratio less the target.
    pub off_target: Figure,
}

pub(super) fn answer(context: &mut Context<'_>, asked: &DomeAsked) -> Result<DomeAnswer, AskError> {
    let target = context.ratio(asked.ratio)?;
    let tolerance = ratio_tolerance(context, asked.ratio_tolerance)?;
    let order = dome_to_order(&context.state, target, tolerance)
        .ok_or_else(|| context.nothing_known("an order for a dome or dish", true))?;
    let unknown = crate::decide::crowns_wanted(&context.state, target);
    context.say_unknown("the dome or dish", unknown.iter().map(|(_, crown)| crown));
    context.remark(match context.state.cylinders.iter().any(|one| one.crevice.is_some()) {
        true => "The volume above the top ring is counted apart from the dome or dish.",
        false => "The volume above the top ring is not counted; a maker may count it as part of the piston.",
    });
    context.caution(
        "Confirm the volume, its sign and its tolerance with the piston's maker in writing before the order stands.",
    );
    context.caution(
        "A dome or a shallower dish comes nearer to valves and chamber: clearances are to be checked with the real parts.",
    );
    context.remark(
        "The one dome or dish for all is that with which the mean of the cylinders' ratios is the target.",
    );
    let mut warnings = warnings(context, order.all.value)?;
    warnings.extend(left_out(context, &order.each));
    let cc = Unit::CubicCentimetre;
    let cylinders = order
        .each
        .iter()
        .zip(&order.ratios)
        .map(|((cylinder, crown), (_, compression))| CrownAt {
            cylinder: *cylinder,
            crown: crown.clone(),
            compression: compression.clone(),
            off_target: Figure {
                value: compression.value - target,
                ..compression.clone()
            },
        })
        .collect();
    Ok(DomeAnswer {
        target: chosen(target, Unit::One),
        crown: order.all,
        crown_dish_positive: order.all_opposite_sign,
        ratio_tolerance: tolerance.map(|ratio| chosen(ratio, Unit::One)),
        allowed: order.allowed.map(|allowed| chosen(allowed, cc)),
        tolerance: order.tolerance.map(|left| chosen(left, cc)),
        tolerance_each: order.tolerance_each.map(|left| chosen(left, cc)),
        beyond: order.beyond,
        warnings,
        cylinders,
    })
}

/// Warnings about a crown of this volume, cc: one that cannot be built, and measured distances that
/// no longer hold.
fn warnings(context: &mut Context<'_>, crown: f64) -> Result<Vec<String>, AskError> {
    let mut warnings = Vec::new();
    let chambers = context.state.cylinders.iter().filter_map(|one| {
        let chamber = one.chamber.as_ref()?.value();
        Some((one.number, chamber))
    });
    if let Some((number, least)) = chambers.min_by(|(_, a), (_, b)| a.total_cmp(b))
        && crown >= least
    {
        warnings.push(format!(
            "a dome of {crown:.2} cc is larger than the chamber of cylinder {number}, {least:.2} cc, into which it would have to go: it cannot be built; aim at a lower ratio"
        ));
    }
    let all: Vec<u32> = context
        .state
        .cylinders
        .iter()
        .map(|one| one.number)
        .collect();
    let gaps = Gaps::measured(context)?;
    warnings.extend(gaps.not_reckoned(&all, "another dome has other pockets"));
    Ok(warnings)
}

/// A piston for all that rests on some of the cylinders.
fn left_out(context: &Context<'_>, each: &[(u32, Figure)]) -> Option<String> {
    let known = |number: u32| each.iter().any(|(cylinder, _)| *cylinder == number);
    let all = context.state.cylinders.iter().map(|one| one.number);
    let missing: Vec<String> = all
        .filter(|number| !known(*number))
        .map(|number| number.to_string())
        .collect();
    let of = each.len() + missing.len();
    (!missing.is_empty()).then(|| {
        format!(
            "{} of {of} cylinders are left out ({}), because their chamber, deck or gasket is not known: nobody knows yet whether the same dome or dish suits them",
            missing.len(),
            missing.join(", ")
        )
    })
}

/// By how much a ratio may be off the target.
fn ratio_tolerance(context: &mut Context<'_>, asked: Option<f64>) -> Result<Option<f64>, AskError> {
    if let Some(asked) = asked {
        if !(asked > 0.0 && asked.is_finite()) {
            return Err(AskError::bad(
                format!("the ratio's tolerance is {asked}"),
                "a number above 0, such as 0.05",
                "correct --ratio-tolerance",
            ));
        }
        return Ok(Some(asked));
    }
    let half = context
        .engine
        .tolerances
        .compression_spread
        .map(|spread| spread.value / 2.0);
    if let Some(half) = half {
        context.remark(format!(
            "A ratio may be off by {half}: half of the engine file's compression_spread."
        ));
    }
    Ok(half)
}
