//! The volume to grind out of each chamber: metal can only be removed.

use super::asked::ChambersAsked;
use super::context::Context;
use super::error::AskError;
use crate::decide::{ChamberWork, MadeEqual, chamber_work};

pub(super) fn answer(
    context: &mut Context<'_>,
    asked: &ChambersAsked,
) -> Result<ChamberWork, AskError> {
    let equal = asked.equal.unwrap_or(MadeEqual::Chambers);
    let work = chamber_work(&context.state, equal).ok_or_else(|| match equal {
        MadeEqual::Chambers => AskError::missing(
            "fewer than two chambers are known",
            "at least two",
            "measure or import more chambers",
        ),
        MadeEqual::Compression => {
            context.nothing_known("chamber work for equal compression", false)
        }
    })?;
    let chambers: Vec<_> = context
        .state
        .cylinders
        .iter()
        .filter_map(|one| one.chamber.clone())
        .collect();
    context.say_unknown("a chamber's volume", &chambers);
    context.remark("Metal can only be taken out, so every chamber is brought to the one that needs no work. What is less than its own expanded uncertainty may be nothing: leave it.");
    context.caution(
        "Mind the walls: chambers have water behind them. Take part of it and measure again.",
    );
    Ok(work)
}
