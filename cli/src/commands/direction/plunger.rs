//! Which way a dial's number runs, seen while its plunger is pushed in.
//!
//! One movement has two ends, and either may be the one with the plunger pushed in. At a terminal
//! the person says which it was. Without one the movement must be the one that was asked for.

use benchhand_blueprint::units::Unit;
use benchhand_wire::{GaugeState, Reason, Refusal};

use super::super::watched::{RestOrLine, TypedLines, WatchedGauge, say};
use super::{change, unit_of};
use crate::client::Http;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::show::direction::{self, SeenSense};

/// A movement below this is a hand that trembles, mm.
const LEAST_MM: f64 = 0.5;

/// Watches a dial while its plunger is pushed in, and keeps which way its number runs.
///
/// # Errors
/// The dial cannot be watched, or the register says otherwise and nobody decided.
pub(super) fn learn(
    context: &mut Context,
    http: &Http,
    gauge: GaugeState,
    replace: bool,
) -> Result<SeenSense, Failure> {
    let lines = TypedLines::hear();
    let name = gauge.setup.name;
    let mut watched = WatchedGauge::new(http, name.clone(), None);
    let mut from = watched.rest(false)?;
    say(
        context,
        &format!(
            "Let the plunger of {name} hang free. Then push it in by a millimetre or more, and hold it there."
        ),
    )?;
    let (to, pushed_in) = loop {
        let to = match watched.rest_or_line(&lines)? {
            RestOrLine::Rest(to) => to,
            RestOrLine::Typed(_) => continue,
        };
        let far = unit_of(&to.unit)?.difference_to_base((to.value - from.value).abs());
        if to.unit != from.unit {
            from = to;
        } else if far < Unit::Millimetre.difference_to_base(LEAST_MM) {
            continue;
        } else if !lines.heard() {
            break (to, true);
        } else {
            match which(context, &lines, &direction::moved(&name, from.value, &to))? {
                Some(pushed_in) => break (to, pushed_in),
                None => from = to,
            }
        }
    };
    let sense = match (to.value > from.value) == pushed_in {
        true => 1,
        false => -1,
    };
    let mut found = SeenSense {
        gauge: name.clone(),
        sense,
        from: from.value,
        to: to.value,
        unit: to.unit,
        pushed_in,
        before: gauge.setup.sense,
        changed: false,
    };
    if found.before == found.sense {
        return Ok(found);
    }
    let contrary = format!(
        "{}, but the register says otherwise",
        direction::ran(&found)
    );
    if !replace && !lines.heard() {
        return Err(Refusal::new(Reason::Conflict, contrary)
            .todo("try again with --replace if the movement was seen rightly")
            .into());
    }
    change(http, &name, |setup| setup.sense = sense)?;
    found.changed = true;
    Ok(found)
}

/// Asks which end of a movement had the plunger pushed in; `None` for another try.
fn which(context: &mut Context, lines: &TypedLines, moved: &str) -> Result<Option<bool>, Failure> {
    say(
        context,
        &format!(
            "? {moved}. Was the plunger pushed in, or did it come out? Type in, or out; or again."
        ),
    )?;
    loop {
        match lines
            .wait()
            .map(|line| line.trim().to_lowercase())
            .as_deref()
        {
            Some("in") => return Ok(Some(true)),
            Some("out") => return Ok(Some(false)),
            Some("again") => return Ok(None),
            None => return Ok(Some(true)),
            Some(_) => say(context, "! in, or out, or again")?,
        }
    }
}

/// Tells what was seen.
///
/// # Errors
/// Standard output cannot be written.
pub(super) fn told(context: &mut Context, seen: &SeenSense) -> Result<Exit, Failure> {
    context.answer(seen, direction::sense_told)?;
    Ok(Exit::Done)
}
