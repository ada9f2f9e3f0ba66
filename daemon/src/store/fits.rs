//! Which facts may follow on what is known of a job.
//!
//! A fact is refused here when its own words contradict the job: a number that no reading has, a
//! stage that was never opened, a value that is no number. Whether a spot exists in this engine is
//! not known here.

use crate::store::fact::{
    Fact, ImportedReadings, JobInput, OrderedParts, PartsCut, Reading, ReadingId, ReadingPart,
    RouteAt, RouteStarted, WithdrawnCut, content_hash,
};
use crate::store::misfit::Misfit;
use crate::store::reading::are_initials;
use crate::store::view::{JobView, KeptReading, ReadingState};

/// Whether `fact` may follow on what `view` knows.
pub(crate) fn fits(view: &JobView, fact: &Fact) -> Result<(), Misfit> {
    match (view.opened, fact) {
        (None, Fact::Opened(opened)) => return text("the name of the first stage", &opened.stage),
        (None, _) => return Err(Misfit::NotOpened),
        (Some(_), Fact::Opened(_)) => return Err(Misfit::OpenedTwice(view.name.clone())),
        (Some(_), _) => {}
    }
    match fact {
        Fact::Opened(_) | Fact::Joined(_) | Fact::Stop {} => Ok(()),
        Fact::Input(input) => fits_input(input),
        Fact::Zero(zero) => {
            text("the gauge's name", &zero.gauge)?;
            text("the zero's unit", &zero.unit)?;
            finite("the gauge at zero", zero.raw)?;
            finite_if("the master's size", zero.nominal)?;
            finite_if("the hanging value", zero.hanging)?;
            above_zero("the zero's uncertainty", zero.u)?;
            not_negative("the zero's spread", zero.sd)
        }
        Fact::Check(check) => {
            text("the gauge's name", &check.gauge)?;
            text("the check's unit", &check.unit)?;
            finite("the check's result", check.result)?;
            finite_if("what the check expects", check.expected)?;
            finite_if("the correction", check.correction)?;
            finite_if("the correction's scale", check.scale)?;
            finite_if("what was allowed", check.allow)?;
            for point in &check.points {
                finite("what a master is", point.truth)?;
                finite("what the gauge showed", point.shown)?;
                above_zero("a master's uncertainty", point.u)?;
            }
            above_zero("the check's uncertainty", check.u)
        }
        Fact::Plate(plate) => {
            text("the orifice's name", &plate.orifice)?;
            text("the plate", &plate.against)?;
            text("the flow's unit", &plate.unit)?;
            text("the pressure's unit", &plate.pressure_unit)?;
            above_zero("the plate's flow", Some(plate.flow))?;
            above_zero("the metering pressure", Some(plate.pressure))?;
            finite_if("what the bench would have said", plate.said)?;
            above_zero("the flow's uncertainty", plate.u)
        }
        Fact::Leak(leak) => {
            text("the leak's unit", &leak.unit)?;
            text("the pressure's unit", &leak.pressure_unit)?;
            not_negative("the leak", Some(leak.flow))?;
            above_zero("the test pressure", Some(leak.pressure))?;
            above_zero("the leak's uncertainty", leak.u)
        }
        Fact::Cut(cut) => fits_cut(view, cut),
        Fact::CutWithdrawn(said) => fits_withdrawn(view, said),
        Fact::Condition(condition) => {
            text("the condition's name", &condition.name)?;
            finite_if("the condition", condition.value)?;
            above_zero("the condition's uncertainty", condition.u)
        }
        Fact::Held(reading) | Fact::Final(reading) | Fact::Asked(reading) => {
            fits_reading(view, reading)
        }
        Fact::Revised(reading) if reading.supersedes.is_none() => Err(Misfit::RevisesNothing),
        Fact::Revised(reading) => fits_reading(view, reading),
        Fact::Finalised { of } => held(view, *of),
        Fact::Voided { of, reason, by } => {
            text("the reason", reason)?;
            initials(by.as_deref())?;
            standing(view, *of).map(drop)
        }
        Fact::Restored { of } => match view.readings.get(*of) {
            Some(kept) if matches!(kept.state, ReadingState::Voided { .. }) => Ok(()),
            Some(kept) => Err(Misfit::NotVoided(kept.said_number())),
            None => Err(Misfit::NoReading(*of)),
        },
        Fact::Kept { of, asked } => {
            text("what was asked", asked)?;
            standing(view, *of).map(drop)
        }
        Fact::Moved {
            of,
            from,
            to,
            reason,
            by,
        } => {
            initials(by.as_deref())?;
            // A wrong spot needs no reason; one may be given all the same.
            if !reason.is_empty() {
                text("the reason", reason)?;
            }
            text("the spot", to)?;
            fits_move(standing(view, *of)?, from, to)
        }
        Fact::Fitted(fitted) => text("the position", &fitted.position),
        Fact::Ordered(ordered) => fits_order(view, ordered),
        Fact::Import(import) => fits_import(view, import),
        Fact::DamageKnown { reason, .. } => text("the reason", reason),
        Fact::RouteStarted(started) => text("the route's name", &started.route),
        Fact::Steered(steered) => text("the gauge", &steered.gauge),
        Fact::RouteAt(at) => fits_route(view, at),
        Fact::SoFar(so_far) => text("the spot", &so_far.spot),
        Fact::RouteEnded { route, .. } => running_route(view, route).map(drop),
    }
}

fn fits_input(input: &JobInput) -> Result<(), Misfit> {
    text("the input's name", &input.name)?;
    let computed = content_hash(input.content.as_bytes());
    if computed == input.hash {
        return Ok(());
    }
    Err(Misfit::WrongHash {
        name: input.name.clone(),
        found: input.hash.clone(),
        computed,
    })
}

fn fits_cut(view: &JobView, cut: &PartsCut) -> Result<(), Misfit> {
    text("the stage's name", &cut.stage)?;
    text("what was cut", &cut.what)?;
    for depth in &cut.depths {
        finite("the depth of the cut", depth.depth)?;
    }
    if view.stages.iter().any(|stage| stage.name == cut.stage) {
        return Err(Misfit::StageTwice(cut.stage.clone()));
    }
    Ok(())
}

fn fits_withdrawn(view: &JobView, said: &WithdrawnCut) -> Result<(), Misfit> {
    initials(said.by.as_deref())?;
    text("the reason", &said.reason)?;
    let stage = view.opened_by(said.of).ok_or(Misfit::NoCut(said.of))?;
    if stage.cut.is_none() {
        return Err(Misfit::NotOpenedByACut(stage.name.clone()));
    }
    let Some(truly) = &said.instead else {
        return match stage.stands() {
            true => Ok(()),
            false => Err(Misfit::CutGone(stage.name.clone())),
        };
    };
    text("what was cut", &truly.what)?;
    for depth in &truly.depths {
        finite("the depth of the cut", depth.depth)?;
    }
    match stage.stands() || view.stages.iter().all(|one| one.name != stage.name) {
        true => Ok(()),
        false => Err(Misfit::StageTwice(stage.name.clone())),
    }
}

fn fits_order(view: &JobView, ordered: &OrderedParts) -> Result<(), Misfit> {
    initials(ordered.by.as_deref())?;
    if ordered.parts.is_empty() && ordered.taken_back.is_empty() {
        return Err(Misfit::OrdersNothing);
    }
    let mut named: Vec<&str> = Vec::new();
    for part in &ordered.parts {
        text("what is ordered", &part.part)?;
        text("the order's unit", &part.unit)?;
        finite("the size", part.value)?;
        above_zero("the tolerance", part.tolerance)?;
        named.push(&part.part);
    }
    for name in &ordered.taken_back {
        if !view.order_stands(name) {
            return Err(Misfit::NotOrdered(name.clone()));
        }
        named.push(name);
    }
    let twice = |(at, name): (usize, &&str)| named[..at].contains(name).then(|| (*name).to_owned());
    if let Some(name) = named.iter().enumerate().find_map(twice) {
        return Err(Misfit::OrderedTwice(name));
    }
    let said = [
        ("from whom it is ordered", &ordered.from),
        ("the sheet's hash", &ordered.sheet),
        ("the remark", &ordered.note),
    ];
    let said = said
        .into_iter()
        .filter_map(|(what, said)| Some((what, said.as_ref()?)));
    said.into_iter()
        .try_for_each(|(what, said)| text(what, said))
}

fn fits_import(view: &JobView, import: &ImportedReadings) -> Result<(), Misfit> {
    if import.rows.is_empty() {
        return Err(Misfit::EmptyImport(import.file.clone()));
    }
    for (index, row) in import.rows.iter().enumerate() {
        if row.supersedes.is_some() {
            return Err(Misfit::ImportSupersedes(index + 1));
        }
        fits_reading(view, row)?;
    }
    Ok(())
}

/// Initials say who did something: a few letters or digits.
fn initials(by: Option<&str>) -> Result<(), Misfit> {
    match by.is_none_or(are_initials) {
        true => Ok(()),
        false => Err(Misfit::Initials),
    }
}

fn fits_reading(view: &JobView, reading: &Reading) -> Result<(), Misfit> {
    initials(reading.by.as_deref())?;
    text("the spot", &reading.spot)?;
    text("the unit", &reading.unit)?;
    finite("the value", reading.value)?;
    finite_if("what the gauge showed", reading.raw)?;
    above_zero("the uncertainty", reading.u)?;
    not_negative("the spread", reading.sd)?;
    for (_, sample) in &reading.window {
        finite("a sample", *sample)?;
    }
    for part in &reading.parts {
        fits_part(part)?;
    }
    if let Some(stage) = &reading.stage {
        known_stage(view, stage)?;
    }
    reading.supersedes.map_or(Ok(()), |old| open(view, old))
}

fn fits_part(part: &ReadingPart) -> Result<(), Misfit> {
    text("the part's role", &part.role)?;
    text("the part's unit", &part.unit)?;
    finite("a part of the reading", part.value)?;
    finite_if("what the part's gauge showed", part.raw)?;
    above_zero("the part's uncertainty", part.u)?;
    not_negative("the part's spread", part.sd)?;
    not_negative("the part's error", part.se)?;
    part.window
        .iter()
        .try_for_each(|(_, sample)| finite("a sample", *sample))
}

fn known_stage(view: &JobView, found: &str) -> Result<(), Misfit> {
    if view.stages.iter().any(|stage| stage.name == found) {
        return Ok(());
    }
    let known: Vec<_> = view
        .stages
        .iter()
        .map(|stage| format!("{:?}", stage.name))
        .collect();
    Err(Misfit::NoStage {
        found: found.to_owned(),
        known: known.join(", "),
    })
}

fn fits_move(reading: &KeptReading, from: &str, to: &str) -> Result<(), Misfit> {
    let (number, spot) = (reading.said_number(), &reading.spot);
    if spot != from {
        let (actual, said) = (spot.clone(), from.to_owned());
        return Err(Misfit::Elsewhere {
            number,
            actual,
            said,
        });
    }
    if spot == to {
        return Err(Misfit::AlreadyThere {
            number,
            spot: spot.clone(),
        });
    }
    Ok(())
}

fn fits_route(view: &JobView, at: &RouteAt) -> Result<(), Misfit> {
    let (stop, round) = (at.stop, at.round);
    let started = running_route(view, &at.route)?;
    let (stops, rounds) = (started.stops.len(), started.rounds);
    let off = |what: String| Misfit::OffRoute {
        route: at.route.clone(),
        stops,
        rounds,
        what,
    };
    // A route that has visited all stops stands one past the last stop.
    let beyond = |stop: u32| off(format!("stop {} (counted from 1)", u64::from(stop) + 1));
    if stop as usize > stops {
        return Err(beyond(stop));
    }
    if let Some(&passed) = at.skipped.iter().find(|&&stop| stop as usize >= stops) {
        return Err(beyond(passed));
    }
    if round == 0 || round > rounds.max(1) {
        return Err(off(format!("round {round}")));
    }
    Ok(())
}

fn running_route<'a>(view: &'a JobView, said: &str) -> Result<&'a RouteStarted, Misfit> {
    match &view.part.route {
        Some(route) if route.started.route == said => Ok(&route.started),
        other => Err(Misfit::NotRunning {
            said: said.to_owned(),
            actual: other.as_ref().map(|route| route.started.route.clone()),
        }),
    }
}

fn standing(view: &JobView, id: ReadingId) -> Result<&KeptReading, Misfit> {
    let reading = view.readings.get(id).ok_or(Misfit::NoReading(id))?;
    match &reading.state {
        ReadingState::Held | ReadingState::Final | ReadingState::Asked => Ok(reading),
        ReadingState::Voided { reason, .. } => Err(Misfit::Voided {
            number: reading.said_number(),
            reason: reason.clone(),
        }),
        ReadingState::Superseded { by } => Err(Misfit::Superseded {
            number: reading.said_number(),
            by: view.successor(id).unwrap_or(*by),
        }),
    }
}

/// Whether another reading may replace this one.
fn open(view: &JobView, id: ReadingId) -> Result<(), Misfit> {
    let reading = standing(view, id)?;
    match reading.state {
        ReadingState::Held | ReadingState::Asked => Ok(()),
        _ => Err(Misfit::NotHeld(reading.said_number())),
    }
}

fn held(view: &JobView, id: ReadingId) -> Result<(), Misfit> {
    let reading = standing(view, id)?;
    match reading.state {
        ReadingState::Held => Ok(()),
        _ => Err(Misfit::NotHeld(reading.said_number())),
    }
}

fn text(what: &'static str, found: &str) -> Result<(), Misfit> {
    if found.trim().is_empty() || found.chars().any(char::is_control) {
        return Err(Misfit::BadText {
            what,
            found: found.to_owned(),
        });
    }
    Ok(())
}

fn finite(what: &'static str, found: f64) -> Result<(), Misfit> {
    if found.is_finite() {
        Ok(())
    } else {
        Err(Misfit::NotFinite { what, found })
    }
}

fn finite_if(what: &'static str, found: Option<f64>) -> Result<(), Misfit> {
    found.map_or(Ok(()), |found| finite(what, found))
}

fn above_zero(what: &'static str, found: Option<f64>) -> Result<(), Misfit> {
    match found {
        Some(found) if !(found.is_finite() && found > 0.0) => {
            Err(Misfit::BadUncertainty { what, found })
        }
        _ => Ok(()),
    }
}

fn not_negative(what: &'static str, found: Option<f64>) -> Result<(), Misfit> {
    match found {
        Some(found) if !(found.is_finite() && found >= 0.0) => {
            Err(Misfit::BadUncertainty { what, found })
        }
        _ => Ok(()),
    }
}
