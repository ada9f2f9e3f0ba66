//! Which dome or dish to order for a target ratio.

use serde::{Deserialize, Serialize};

use super::asked::DomeAsked;
use super::context::{Context, chosen};
use super::error::AskError;
use crate::decide::dome_to_order;
use crate::figure::Figure;
use crate::units::Unit;

/// The crown to order. Volumes in cc, dome positive.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DomeAnswer {
    /// The target ratio.
    pub target: Figure,
    /// One crown for all cylinders.
    pub crown: Figure,
    /// The same by the sign that many catalogues use: dish positive, dome negative.
    pub crown_dish_positive: Figure,
    /// By how much a ratio may be off; `None`: nobody said.
    pub ratio_tolerance: Option<Figure>,
    /// What that allows the crown to be off by.
    pub allowed: Option<Figure>,
    /// The tolerance to write on the order: what is left of `allowed` after twice the uncertainty
    /// of the volumes that the order rests on. `None`: nothing is left, or it is not known.
    pub tolerance: Option<Figure>,
    /// Cylinder by cylinder.
    pub cylinders: Vec<CrownAt>,
}

/// What one cylinder wants and gets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CrownAt {
    /// The cylinder.
    pub cylinder: u32,
    /// The crown that gives it the target exactly.
    pub crown: Figure,
    /// Its ratio with the one crown for all.
    pub compression: Figure,
}

pub(super) fn answer(context: &mut Context<'_>, asked: &DomeAsked) -> Result<DomeAnswer, AskError> {
    let target = context.ratio(asked.ratio)?;
    let tolerance = ratio_tolerance(context, asked.ratio_tolerance)?;
    let order = dome_to_order(&context.state, target, tolerance)
        .ok_or_else(|| context.nothing_known("an order for a crown", true))?;
    let unknown = crate::decide::crowns_wanted(&context.state, target);
    context.say_unknown("the crown", unknown.iter().map(|(_, crown)| crown));
    let lacking = context.state.cylinders.len() - order.each.len();
    if lacking > 0 {
        context.remark(format!(
            "{lacking} of {} cylinders are left out, because their chamber, deck or gasket is not known.",
            context.state.cylinders.len()
        ));
    }
    context.remark(match context.state.cylinders.iter().any(|one| one.crevice.is_some()) {
        true => "The volume above the top ring is counted apart from the crown.",
        false => "The volume above the top ring is not counted; a maker may count it as part of the piston.",
    });
    context.caution(
        "Confirm the volume, its sign and its tolerance with the piston's maker in writing before the order stands.",
    );
    context.caution(
        "A dome or a shallower dish comes nearer to valves and chamber: clearances are to be checked with the real parts.",
    );
    let cc = Unit::CubicCentimetre;
    let cylinders = order
        .each
        .iter()
        .zip(&order.ratios)
        .map(|((cylinder, crown), (_, compression))| CrownAt {
            cylinder: *cylinder,
            crown: *crown,
            compression: *compression,
        })
        .collect();
    Ok(DomeAnswer {
        target: chosen(target, Unit::One),
        crown: order.all,
        crown_dish_positive: order.all_opposite_sign,
        ratio_tolerance: tolerance.map(|ratio| chosen(ratio, Unit::One)),
        allowed: order.allowed.map(|allowed| chosen(allowed, cc)),
        tolerance: order.tolerance.map(|left| chosen(left, cc)),
        cylinders,
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
