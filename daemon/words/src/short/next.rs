//! The one thing to do now, and what it brings.
//!
//! The order: a contact, an open question, what looks like a slip, what is in doubt, what is missing, what disagrees, what is out of line,
//! what is too close to call, what is outside, the target. Metal never comes off what was read once or is in doubt.

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{FindingKind, Report, ToleranceName, ToleranceVerdict};

use super::document::{DoneAt, NextStep};
use super::steps::{CUT_NOTHING, again, begun_over, decided, first, route_of, routes, step};
use super::{check, doubted, free, metal, rounds};
use crate::rows::numbers;
use crate::spots;
use crate::stated::plain;

/// What to do now, and what comes after it: one step or two.
pub(super) fn steps(report: &Report, job: &str) -> Vec<NextStep> {
    let steps = [
        contact(report),
        open(report, job),
        unusual(report, job),
        doubted::step(report, job),
        missing(report, job),
        disagrees(report, job),
        out_of_line(report, job),
        metal::least(report, job),
        too_close(report, job),
        rounds::second(report, job),
        outside(report, job),
        target(report, job),
    ];
    let mut all: Vec<NextStep> = steps.into_iter().flatten().collect();
    // What is measured again for one reason is not measured again for the next.
    if let [first, rest @ ..] = &mut all[..]
        && let Some(at) = rest.iter().position(|one| !is_same(first, one))
    {
        rest.swap(0, at);
    } else {
        all.truncate(1);
    }
    let mut steps: Vec<NextStep> = all.into_iter().take(2).collect();
    if steps.is_empty() {
        steps.push(nothing_is_open(report));
    }
    steps
}

/// Whether two steps are done by the same command.
fn is_same(one: &NextStep, other: &NextStep) -> bool {
    !one.command.is_empty() && one.command == other.command
}

/// What is left to say where there is nothing to do.
fn nothing_is_open(report: &Report) -> NextStep {
    let all_within = report
        .verdicts
        .iter()
        .all(|one| one.answer == VerdictAnswer::Within);
    match (report.verdicts.is_empty(), all_within) {
        (true, _) => NextStep {
            more: "The engine file states no tolerance: nothing was judged.".to_owned(),
            ..step("Nothing is open", None)
        },
        (false, true) => step(
            "Nothing is open: what the engine file allows is kept to",
            None,
        ),
        (false, false) => step(
            "Nothing more to measure: see above what is too close to call",
            None,
        ),
    }
}

fn contact(report: &Report) -> Option<NextStep> {
    let found = first(report, FindingKind::Contact)?;
    let spot = spots::said(&found.spot);
    Some(NextStep {
        more: "Check it with the real parts first.".to_owned(),
        ..step(
            format!("Stop: {spot}: {}", found.text),
            Some(DoneAt::Readings(found.spot.clone())),
        )
    })
}

fn open(report: &Report, job: &str) -> Option<NextStep> {
    let found = first(report, FindingKind::Open)?;
    let spot = spots::said(&found.spot);
    let what = format!("Answer the question about {spot}");
    // A question that outlived its route is asked again when the route is begun.
    let more = match again(report, &found.spot) {
        Some(DoneAt::Route {
            route, cylinders, ..
        }) => {
            let only: Vec<String> = cylinders.iter().map(u32::to_string).collect();
            format!(
                "Where no route runs any more, begin it: `benchhand measure {job} {route} --cylinders {}` asks again.",
                only.join(",")
            )
        }
        _ => String::new(),
    };
    Some(NextStep {
        command: format!("benchhand steer {job} help"),
        more,
        ..step(what, Some(DoneAt::Board))
    })
}

/// A dimension that no usual engine has: every figure may rest on a slip of the pen.
fn unusual(report: &Report, job: &str) -> Option<NextStep> {
    let found = first(report, FindingKind::Unusual)?;
    let spot = spots::said(&found.spot);
    let command = match job {
        "" => String::new(),
        job => format!("benchhand job engine {job} FILE"),
    };
    Some(NextStep {
        command,
        more: CUT_NOTHING.to_owned(),
        ..step(
            format!("Look at the {spot} again: {}", found.text),
            Some(DoneAt::Engine),
        )
    })
}

/// Cylinders whose `part` was not measured.
fn missing(report: &Report, job: &str) -> Option<NextStep> {
    let found = report.findings_of(FindingKind::Missing);
    let spots_missing: Vec<&str> = found.flat_map(|one| one.spot.split(", ")).collect();
    let part = spots::part(spots_missing.first()?);
    let of = |part: &str| -> Vec<u32> {
        let same = spots_missing
            .iter()
            .filter(|spot| spots::part(spot) == part);
        same.filter_map(|spot| spots::cylinder(spot)).collect()
    };
    // A route that was begun is finished first.
    let all_parts = routes(report);
    let begun = all_parts
        .iter()
        .map(|(part, _)| part.as_str())
        .find(|part| {
            let left = of(part).len();
            let mut free = report
                .free
                .iter()
                .filter(|one| one.name.as_str() == *part)
                .peekable();
            left > 0
                && match free.peek() {
                    Some(_) => free.any(|one| !one.measured.is_empty()),
                    None => left < report.cylinders.len(),
                }
        });
    let part = begun.unwrap_or(part);
    let route = route_of(report, part);
    let command = match (&route, job) {
        (Some(route), job) if !job.is_empty() => format!("benchhand measure {job} {route}"),
        _ => String::new(),
    };
    let all = of(part);
    let place = match route {
        Some(route) => DoneAt::Route {
            route,
            // All of them, where none was measured.
            cylinders: match all.len() < report.cylinders.len() {
                true => all.clone(),
                false => Vec::new(),
            },
            rounds: None,
            afresh: false,
        },
        None => DoneAt::Readings(part.to_owned()),
    };
    let what = format!("Measure {}", spots::of_cylinders(part, &all));
    // A dial has a zero of its own in each job.
    let more = match part {
        "deck" => "The dial is zeroed first.",
        _ => "",
    };
    Some(NextStep {
        command,
        more: more.to_owned(),
        ..step(what, Some(place))
    })
}

fn disagrees(report: &Report, job: &str) -> Option<NextStep> {
    let found = first(report, FindingKind::Disagrees)?;
    let spot = spots::said(&found.spot);
    let place = again(report, &found.spot);
    Some(NextStep {
        command: begun_over(place.as_ref(), job),
        more: CUT_NOTHING.to_owned(),
        ..step(
            format!("Measure {spot} again: its readings disagree"),
            place,
        )
    })
}

/// What is out of line and was read once, or is no chamber: it is measured again before anything is
/// cut.
fn out_of_line(report: &Report, job: &str) -> Option<NextStep> {
    let mut found = report.findings_of(FindingKind::Outlier);
    let once = |spot: &str| {
        let mut once = report.findings_of(FindingKind::Unrepeated);
        once.any(|one| one.spot.split(", ").any(|other| other == spot))
    };
    let found = found.find(|one| spots::part(&one.spot) != "chamber" || once(&one.spot))?;
    let spot = spots::said(&found.spot);
    let why = check::off_middle(report, found).map(|off| format!("it is {off}"));
    let why = why.unwrap_or("it is out of line with the others".to_owned());
    let place = again(report, &found.spot);
    Some(NextStep {
        command: begun_over(place.as_ref(), job),
        more: CUT_NOTHING.to_owned(),
        ..step(format!("Measure {spot} again: {why}"), place)
    })
}

/// What was set up once only is measured a second time as a whole, by the step after this one.
fn too_close(report: &Report, job: &str) -> Option<NextStep> {
    let mut open = report.verdicts.iter();
    let found = open.find(|one| {
        one.answer == VerdictAnswer::CannotTell
            && !one.not_repeated
            && !one.measure_again.is_empty()
    })?;
    let best = found.measure_again.first()?;
    let what = format!(
        "Measure {} once more: that tells most about the {}",
        spots::said(best),
        found.about.name().replace('_', " ")
    );
    let place = again(report, best);
    Some(NextStep {
        command: begun_over(place.as_ref(), job),
        ..step(what, place)
    })
}

/// What is proven to be outside of its limits, and that no step before this one mends.
fn outside(report: &Report, job: &str) -> Option<NextStep> {
    let cut = metal::least(report, job).is_some();
    let mended = |one: &ToleranceVerdict| cut && one.about == ToleranceName::ChamberSpread;
    let mut all = report.verdicts.iter();
    let found = all.find(|one| one.answer == VerdictAnswer::Outside && !mended(one))?;
    // Of a free spot the cylinder is left to what follows.
    let about = match &found.spot {
        Some(spot) => free::about(spot, found.about),
        None => found.about.name().replace('_', " "),
    };
    let of = |one: &ToleranceVerdict| one.spot.as_ref().map(|spot| free::about(spot, one.about));
    let alike = report.verdicts.iter();
    let alike = alike.filter(|one| {
        one.about == found.about && of(one) == of(found) && one.answer == found.answer
    });
    let cylinders: Vec<u32> = alike.filter_map(|one| one.cylinder).collect();
    let at = match (cylinders.len(), &cylinders[..]) {
        (0, _) => String::new(),
        (all, _) if all > 1 && all == report.cylinders.len() => " of all cylinders".to_owned(),
        (_, [one]) => format!(" of cylinder {one}"),
        _ => format!(" of cylinders {}", numbers(&cylinders)),
    };
    Some(NextStep {
        command: format!(
            "`{}` tries a change before metal is cut",
            decided("what-if", job, "--set \"NAME = VALUE\"")
        ),
        ..step(
            format!("The {about}{at} is NOT OK"),
            Some(DoneAt::Decide("what-if", &[])),
        )
    })
}

/// How far the compression is from the target, where that is more than all that may be off. Where
/// chambers are to be opened first, it is told of the compression that they leave: a cut for the
/// present one would be too shallow.
fn target(report: &Report, job: &str) -> Option<NextStep> {
    let target = report.limits.compression_target.as_ref()?;
    let opened = metal::compression_after(report);
    let mean = opened.or(report.summary.compression_mean.as_ref())?;
    if !metal::beyond(mean, target) {
        return None;
    }
    let (by, side) = metal::against(mean, target);
    let first = match opened {
        Some(_) => "With the chambers opened, compression",
        None => "Compression",
    };
    let (question, filled, brings): (_, &[_], _) = match (side == metal::UNDER, opened) {
        (true, Some(_)) => (
            "mill",
            &[("opened", "allowed")],
            format!("`{}` tells the cut", metal::mill_opened(job)),
        ),
        (true, None) => (
            "mill",
            &[],
            format!("`{}` tells the cut", decided("mill", job, "")),
        ),
        (false, _) => (
            "gasket",
            &[],
            format!(
                "`{}` tells what a thicker one brings",
                decided("gasket", job, "")
            ),
        ),
    };
    Some(NextStep {
        command: brings,
        ..step(
            format!("{first} is {by} {side} the target of {}", plain(target)),
            Some(DoneAt::Decide(question, filled)),
        )
    })
}
