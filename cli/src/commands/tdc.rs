//! `tdc` and `gauge study`: from typed or listed readings alone, without daemon and store.

use benchhand_blueprint::answers::{TdcAsked, gauge_study, true_tdc};
use benchhand_blueprint::{Quantity, Unit};
use benchhand_wire::{Reason, Refusal};
use benchhand_words::decide as decided;

use super::decide::refused;
use crate::args::{GaugeStudyArgs, TdcArgs};
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::files::{csv_refused, engine_of};
use crate::show;

/// True top dead centre.
///
/// # Errors
/// The mistake in the readings.
pub(super) fn run(context: &mut Context, args: TdcArgs) -> Result<Exit, Failure> {
    let engine = match &args.engine {
        Some(file) => Some(engine_of(&read_text(file)?, &shown(file))?),
        None => None,
    };
    let asked = TdcAsked {
        pairs: args.pairs,
        u: args.u,
        stroke: args.stroke,
        rod: args.rod,
        offset: args.offset,
    };
    let answer = true_tdc(&asked, engine.as_ref()).map_err(|error| refused(&error))?;
    context.answer(&answer, |answer| show::told(&decided::tdc(answer)))?;
    Ok(Exit::Done)
}

/// A study of a gauge.
///
/// # Errors
/// The mistake in the file.
pub(super) fn study(context: &mut Context, args: &GaugeStudyArgs) -> Result<Exit, Failure> {
    let tolerance = match &args.tolerance {
        Some(text) => Some(width(text)?),
        None => None,
    };
    let text = read_text(&args.file)?;
    let answer = gauge_study(&text, tolerance).map_err(|faults| {
        csv_refused("study", &shown(&args.file), &faults).todo(
            "correct the file and ask again; every operator measures every part equally often",
        )
    })?;
    context.answer(&answer, |answer| show::told(&decided::study(answer)))?;
    Ok(Exit::Done)
}

fn width(text: &str) -> Result<(f64, Unit), Refusal> {
    let bad = |found: String| {
        Refusal::new(Reason::BadInput, found)
            .expected("the width of the tolerance with its unit, above 0, such as \"0.5 cc\"")
            .todo("correct --tolerance")
    };
    let width: Quantity = text
        .parse()
        .map_err(|error| bad(format!("the tolerance is {text:?}: {error}")))?;
    if width.value > 0.0 {
        Ok((width.value, width.unit))
    } else {
        Err(bad(format!("the tolerance is {text:?}")))
    }
}
