//! The volume to grind out of each chamber: metal can only be removed.

use super::asked::ChambersAsked;
use super::context::Context;
use super::error::AskError;
use crate::decide::{ChamberWork, MadeEqual, chamber_work, least_chamber_work};

pub(super) fn answer(
    context: &mut Context<'_>,
    asked: &ChambersAsked,
) -> Result<ChamberWork, AskError> {
    let equal = asked.equal.unwrap_or(MadeEqual::Chambers);
    let work = work(context, equal).ok_or_else(|| match equal {
        MadeEqual::Compression => {
            context.nothing_known("chamber work for equal compression", false)
        }
        MadeEqual::Chambers | MadeEqual::Allowed => AskError::missing(
            "fewer than two chambers are known",
            "at least two",
            "measure or import more chambers",
        ),
    })?;
    let chambers: Vec<_> = context
        .state
        .cylinders
        .iter()
        .filter_map(|one| one.chamber.clone())
        .collect();
    context.say_unknown("a chamber's volume", &chambers);
    context.remark(match work.equal {
        MadeEqual::Allowed => "Metal can only be taken out, and each cubic centimetre lowers the compression: only chambers that are too small for the largest are opened, and no further than they must.",
        MadeEqual::Chambers | MadeEqual::Compression => "Metal can only be taken out, so every chamber is brought to the one that needs no work. What is less than its own expanded uncertainty may be nothing: leave it.",
    });
    context.caution(
        "Mind the walls: chambers have water behind them. Take part of it and measure again.",
    );
    Ok(work)
}

/// The work for what is to become of the chambers. Where the engine file allows no spread, the
/// least metal is what makes all of them equal.
pub(super) fn work(context: &Context<'_>, equal: MadeEqual) -> Option<ChamberWork> {
    let allowed = context.engine.tolerances.chamber_spread;
    match (equal, allowed) {
        (MadeEqual::Allowed, Some(allowed)) => least_chamber_work(&context.state, allowed.value),
        (equal, _) => chamber_work(&context.state, equal),
    }
}
