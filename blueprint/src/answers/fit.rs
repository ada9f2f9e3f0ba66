//! The piston and the rod for each bore, with the least spread of the compression.

use serde::{Deserialize, Serialize};

use super::asked::FitAsked;
use super::context::{Context, typed};
use super::error::AskError;
use crate::decide::{
    Assignment, BoreToFill, PartSide, PistonPart, RodPart, assign, assign_by_sorting,
};
use crate::engine::StatedValue;
use crate::figure::{Estimate, Figure, Scalar};
use crate::units::QuantityKind;

/// The parts in their bores.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FitAnswer {
    /// Bore by bore, with mean and spread.
    pub assignment: Assignment,
    /// The spread that sorting by hand would reach (largest crown into the largest clearance, rods
    /// as they come); `None` where sides or fitted parts forbid it.
    pub spread_by_sorting: Option<Figure>,
}

pub(super) fn answer(context: &mut Context<'_>, asked: &FitAsked) -> Result<FitAnswer, AskError> {
    // Like rods are not sorted: their length stands in the engine file.
    let like_rods = context.engine.rod.filter(|_| asked.rods.is_empty());
    if asked.pistons.is_empty() || asked.rods.is_empty() && like_rods.is_none() {
        return Err(AskError::bad(
            format!(
                "found {} pistons and {} rods",
                asked.pistons.len(),
                asked.rods.len()
            ),
            "as many of each as there are cylinders",
            "give --parts FILE.csv with a line for each piston and rod (part,id,crown,height,pin_offset,length,side,fitted), or state `rod` in the engine file where all rods are alike",
        ));
    }
    let mut unstated: Vec<&str> = Vec::new();
    let mut pistons = Vec::new();
    for one in &asked.pistons {
        let about = |what: &str| format!("the {what} of piston {}", one.id);
        let crown = typed(
            &one.crown,
            QuantityKind::Volume,
            &about("crown"),
            "the parts",
        )?;
        let height = typed(
            &one.height,
            QuantityKind::Length,
            &about("compression height"),
            "the parts",
        )?;
        positive(&height, &about("compression height"))?;
        unstated.extend(crown.u.is_none().then_some("domes or dishes"));
        unstated.extend(height.u.is_none().then_some("compression heights"));
        let offset = match &one.pin_offset {
            Some(text) => {
                let offset = typed(
                    text,
                    QuantityKind::Length,
                    &about("pin offset"),
                    "the parts",
                )?;
                offset.measured(about("pin offset"))
            }
            None => Estimate::exact(0.0),
        };
        pistons.push(PistonPart {
            name: one.id.clone(),
            crown: crown.measured(about("crown")),
            height: height.measured(about("compression height")),
            pin_offset: offset,
            side: side(context, one.side.as_deref(), &one.id)?,
        });
    }
    let mut rods = Vec::new();
    for one in &asked.rods {
        let about = format!("the length of rod {}", one.id);
        let length = typed(&one.length, QuantityKind::Length, &about, "the parts")?;
        positive(&length, &about)?;
        unstated.extend(length.u.is_none().then_some("rod lengths"));
        rods.push(RodPart {
            name: one.id.clone(),
            length: length.measured(&about),
            side: side(context, one.side.as_deref(), &one.id)?,
        });
    }
    if let Some(rod) = like_rods {
        unstated.extend(rod.u.is_none().then_some("rod lengths"));
        // One length, one error: it is the same in every cylinder.
        rods = (1..=context.state.cylinders.len())
            .map(|number| RodPart {
                name: format!("like the others ({number})"),
                length: rod.measured("the length of the rods"),
                side: PartSide::Any,
            })
            .collect();
        context.remark("No rods are listed: all are taken to be as long as the engine file says.");
    }
    unlike(
        "piston",
        asked
            .pistons
            .iter()
            .map(|one| (one.id.as_str(), one.fitted)),
    )?;
    unlike(
        "rod",
        asked.rods.iter().map(|one| (one.id.as_str(), one.fitted)),
    )?;
    let fitted_pistons: Vec<Option<u32>> = asked.pistons.iter().map(|one| one.fitted).collect();
    let fitted_rods: Vec<Option<u32>> = match like_rods {
        // Like rods need no sorting.
        Some(_) => {
            let all = context.state.cylinders.iter();
            all.map(|known| Some(known.number)).collect()
        }
        None => asked.rods.iter().map(|one| one.fitted).collect(),
    };
    for number in fitted_pistons.iter().chain(&fitted_rods).flatten() {
        context.cylinder(*number)?;
    }
    let bores = bores(context, &fitted_pistons, &fitted_rods)?;
    unstated.sort_unstable();
    unstated.dedup();
    if !unstated.is_empty() {
        context.remark(format!(
            "No uncertainty is stated of {}: the ± takes the last written digit alone, and may be too small; of a size that is written without decimals it takes nothing. State it beside each size, such as \"1.203 in +- 0.0005 in\".",
            unstated.join(" and ")
        ));
    }
    let length = context.length();
    let assignment = assign(&bores, &pistons, &rods, length)
        .map_err(|error| AskError::bad(error.to_string(), "", "correct the list of parts"))?;
    let free = |side: &PartSide| *side == PartSide::Any;
    let sorted = pistons.iter().all(|one| free(&one.side))
        && rods.iter().all(|one| free(&one.side))
        && fitted_pistons
            .iter()
            .chain(&fitted_rods)
            .all(Option::is_none);
    let spread_by_sorting = match sorted {
        true => assign_by_sorting(&bores, &pistons, &rods, length)
            .ok()
            .map(|sorted| sorted.spread),
        false => None,
    };
    match assignment.proven {
        true => context.remark(format!(
            "No other way of building them in has a smaller spread. The rule between answers that are equally good: {}.",
            assignment.ties
        )),
        false => context.remark(format!(
            "With {} bores there are too many ways to try them all: this is the best that was found, and a smaller spread may exist. Fix some parts in their cylinders with `fitted`, or say the `side` that they fit, and ask again: what is left is then tried in full.",
            bores.len()
        )),
    }
    context.remark("The deck clearance here follows from block height, throw, rod and compression height; a mock-up is the check of it.");
    if context
        .state
        .cylinders
        .iter()
        .any(|known| known.deck.is_some())
    {
        context.remark("The measured decks do not enter: they were read with the parts that sat in the bores then, and here each bore is filled anew. Where these are the same parts in the same bores, the report has what was measured.");
    }
    context.caution("Weights, pin fits and which way round a part goes are not looked at here; the makers of the parts have the last word.");
    context
        .caution("Check deck and valve clearances in every bore with the parts that are built in.");
    Ok(FitAnswer {
        assignment,
        spread_by_sorting,
    })
}

/// A length of a part must be one.
fn positive(length: &StatedValue, about: &str) -> Result<(), AskError> {
    if length.value > 0.0 {
        return Ok(());
    }
    Err(AskError::bad(
        format!("{about} is {}", length.written),
        "a length above 0",
        "correct the list of parts",
    ))
}

/// No two parts may have one name, or be fitted in one cylinder.
fn unlike<'a>(
    part: &str,
    all: impl Iterator<Item = (&'a str, Option<u32>)>,
) -> Result<(), AskError> {
    let (mut ids, mut places) = (Vec::new(), Vec::new());
    for (id, fitted) in all {
        if ids.contains(&id) {
            return Err(AskError::bad(
                format!("{part} {id} is listed twice"),
                "a name of its own for each part",
                "name each part once",
            ));
        }
        ids.push(id);
        let Some(number) = fitted else { continue };
        if let Some((other, _)) = places.iter().find(|(_, place)| *place == number) {
            return Err(AskError::bad(
                format!("{part}s {other} and {id} are both fitted in cylinder {number}"),
                "one of each in a cylinder",
                "correct `fitted`, or leave it out where the part is not built in yet",
            ));
        }
        places.push((id, number));
    }
    Ok(())
}

fn side(context: &Context<'_>, named: Option<&str>, part: &str) -> Result<PartSide, AskError> {
    let Some(named) = named else {
        return Ok(PartSide::Any);
    };
    let banks = &context.engine.banks;
    match banks.iter().position(|bank| bank.name == named) {
        Some(at) => Ok(PartSide::Only(at)),
        None => {
            let known: Vec<&str> = banks.iter().map(|bank| bank.name.as_str()).collect();
            Err(AskError::bad(
                format!("part {part} fits the side {named:?}, which is no bank of this engine"),
                format!("one of {}", known.join(", ")),
                "correct its side, or leave it out where the part fits any",
            ))
        }
    }
}

/// The bores with all that does not depend on piston and rod.
fn bores(
    context: &Context<'_>,
    pistons: &[Option<u32>],
    rods: &[Option<u32>],
) -> Result<Vec<BoreToFill>, AskError> {
    let bore = |known: &crate::engine_figures::CylinderFigures| {
        let number = known.number;
        let lacking = |what: &str| {
            AskError::missing(
                format!("cylinder {number} has no {what}"),
                "chamber, gasket and block height of every cylinder",
                "measure or import it, or state the gasket and `block_height` in the engine file",
            )
        };
        let side = context
            .engine
            .banks
            .iter()
            .position(|bank| bank.cylinders.contains(&number));
        let at = |fitted: &[Option<u32>]| fitted.iter().position(|one| *one == Some(number));
        let stroke = known.stroke.clone().ok_or_else(|| lacking("stroke"))?;
        Ok(BoreToFill {
            cylinder: number,
            side: side.unwrap_or(0),
            bore: known.bore.clone().ok_or_else(|| lacking("bore"))?,
            throw: stroke.scale(0.5),
            stroke,
            block_height: known
                .block_height
                .clone()
                .ok_or_else(|| lacking("block height"))?,
            chamber: known.chamber.clone().ok_or_else(|| lacking("chamber"))?,
            gasket_bore: known
                .gasket_bore
                .clone()
                .ok_or_else(|| lacking("gasket bore"))?,
            gasket_thickness: known
                .gasket_thickness
                .clone()
                .ok_or_else(|| lacking("gasket thickness"))?,
            crevice: known
                .crevice
                .clone()
                .unwrap_or_else(|| Estimate::exact(0.0)),
            fitted_piston: at(pistons),
            fitted_rod: at(rods),
        })
    };
    context.state.cylinders.iter().map(bore).collect()
}
