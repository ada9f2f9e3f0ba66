//! Which piston and which rod into which bore, with the least spread of the compression.

use serde::{Deserialize, Serialize};

use super::asked::FitAsked;
use super::context::{Context, typed};
use super::error::AskError;
use crate::decide::{Assignment, Bore, PistonPart, RodPart, Side, assign, assign_by_sorting};
use crate::figure::{Estimate, Figure, Scalar};
use crate::units::Kind;

/// The parts in their bores.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FitAnswer {
    /// Bore by bore, with mean and spread.
    pub assignment: Assignment,
    /// The spread that sorting by hand would reach (largest crown into the largest clearance, rods
    /// as they come); `None` where sides or fitted parts forbid it.
    pub spread_by_sorting: Option<Figure>,
}

pub(super) fn answer(context: &mut Context<'_>, asked: &FitAsked) -> Result<FitAnswer, AskError> {
    if asked.pistons.is_empty() || asked.rods.is_empty() {
        return Err(AskError::bad(
            format!(
                "found {} pistons and {} rods",
                asked.pistons.len(),
                asked.rods.len()
            ),
            "as many of each as there are cylinders",
            "give --parts FILE.csv with part,id,crown,height,pin_offset,length,side,fitted",
        ));
    }
    let mut pistons = Vec::new();
    for one in &asked.pistons {
        let about = |what: &str| format!("the {what} of piston {}", one.id);
        let crown = typed(&one.crown, Kind::Volume, &about("crown"), "the parts")?;
        let height = typed(
            &one.height,
            Kind::Length,
            &about("compression height"),
            "the parts",
        )?;
        let offset = match &one.pin_offset {
            Some(text) => {
                let offset = typed(text, Kind::Length, &about("pin offset"), "the parts")?;
                offset.estimate(&about("pin offset"))
            }
            None => Estimate::exact(0.0),
        };
        pistons.push(PistonPart {
            name: one.id.clone(),
            crown: crown.estimate(&about("crown")),
            height: height.estimate(&about("compression height")),
            pin_offset: offset,
            side: side(context, one.side.as_deref(), &one.id)?,
        });
    }
    let mut rods = Vec::new();
    for one in &asked.rods {
        let about = format!("the length of rod {}", one.id);
        let length = typed(&one.length, Kind::Length, &about, "the parts")?;
        rods.push(RodPart {
            name: one.id.clone(),
            length: length.estimate(&about),
            side: side(context, one.side.as_deref(), &one.id)?,
        });
    }
    let fitted_pistons: Vec<Option<u32>> = asked.pistons.iter().map(|one| one.fitted).collect();
    let fitted_rods: Vec<Option<u32>> = asked.rods.iter().map(|one| one.fitted).collect();
    for number in fitted_pistons.iter().chain(&fitted_rods).flatten() {
        context.cylinder(*number)?;
    }
    let bores = bores(context, &fitted_pistons, &fitted_rods)?;
    let length = context.length();
    let assignment = assign(&bores, &pistons, &rods, length)
        .map_err(|error| AskError::bad(error.to_string(), "", "correct the list of parts"))?;
    let free = |side: &Side| *side == Side::Any;
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
    context.remark(format!(
        "The rule between answers that are equally good: {}.",
        assignment.ties
    ));
    context.remark("The deck clearance here follows from block height, throw, rod and compression height; a mock-up is the check of it.");
    context.caution("Weights, pin fits and which way round a part goes are not looked at here; the makers of the parts have the last word.");
    context
        .caution("Check deck and valve clearances in every bore with the parts that are built in.");
    Ok(FitAnswer {
        assignment,
        spread_by_sorting,
    })
}

fn side(context: &Context<'_>, named: Option<&str>, part: &str) -> Result<Side, AskError> {
    let Some(named) = named else {
        return Ok(Side::Any);
    };
    let banks = &context.engine.banks;
    match banks.iter().position(|bank| bank.name == named) {
        Some(at) => Ok(Side::Only(at)),
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
) -> Result<Vec<Bore>, AskError> {
    let bore = |known: &crate::known::Known| {
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
        Ok(Bore {
            cylinder: number,
            side: side.unwrap_or(0),
            bore: known.bore.clone(),
            stroke: known.stroke.clone(),
            block_height: known
                .block_height
                .clone()
                .ok_or_else(|| lacking("block height"))?,
            throw: known.stroke.scale(0.5),
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
