//! The one thing to do now, and what it brings.
//!
//! The order: a contact, an open question, what is missing, what disagrees, what is out of line,
//! what is too close to call, what is outside, the target. Metal never comes off what was read once or is in doubt.

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{Finding, FindingKind, Report, ToleranceName, ToleranceVerdict};

use super::check;
use super::document::{DoneAt, NextStep};
use crate::digits::rounded;
use crate::rows::numbers;
use crate::spots;
use crate::stated::plain;

/// Parts that a route of this name measures.
const ROUTES: [(&str, &str); 4] = [
    ("chamber", "chambers"),
    ("deck", "deck"),
    ("flow", "flow"),
    ("crown", "crowns"),
];

/// What to do now, and what comes after it: one step or two.
pub(super) fn steps(report: &Report, job: &str) -> Vec<NextStep> {
    let steps = [
        contact(report),
        open(report, job),
        missing(report, job),
        disagrees(report),
        out_of_line(report),
        equal_chambers(report),
        too_close(report),
        unrepeated(report, job),
        outside(report),
        target(report),
    ];
    let mut steps: Vec<NextStep> = steps.into_iter().flatten().take(2).collect();
    if steps.is_empty() {
        steps.push(nothing_is_open(report));
    }
    steps
}

fn step(what: impl Into<String>, place: Option<DoneAt>) -> NextStep {
    NextStep {
        what: what.into(),
        command: String::new(),
        more: String::new(),
        place,
    }
}

/// Where a spot is measured again: on its route, at its cylinder alone, or typed among its readings.
fn again(spot: &str) -> Option<DoneAt> {
    let part = spots::part(spot);
    let route = ROUTES.iter().find(|(known, _)| *known == part);
    Some(match (route, spots::cylinder(spot)) {
        (Some((_, route)), Some(cylinder)) => DoneAt::Route {
            route,
            cylinders: vec![cylinder],
            rounds: None,
        },
        _ => DoneAt::Readings(spot.to_owned()),
    })
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

fn first(report: &Report, kind: FindingKind) -> Option<&Finding> {
    report.findings_of(kind).next()
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
    Some(NextStep {
        command: format!("benchhand steer {job} help"),
        ..step(what, Some(DoneAt::Board))
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
    let begun = ROUTES.iter().map(|(part, _)| *part).find(|part| {
        let left = of(part).len();
        left > 0 && left < report.cylinders.len()
    });
    let part = begun.unwrap_or(part);
    let route = ROUTES.iter().find(|(known, _)| *known == part);
    let command = match (route, job) {
        (Some((_, route)), job) if !job.is_empty() => format!("benchhand measure {job} {route}"),
        _ => String::new(),
    };
    let all = of(part);
    let place = match route {
        Some((_, route)) => DoneAt::Route {
            route,
            // All of them, where none was measured.
            cylinders: match all.len() < report.cylinders.len() {
                true => all.clone(),
                false => Vec::new(),
            },
            rounds: None,
        },
        None => DoneAt::Readings(part.to_owned()),
    };
    let what = format!("Measure {}", spots::of_cylinders(part, &all));
    Some(NextStep {
        command,
        ..step(what, Some(place))
    })
}

const CUT_NOTHING: &str = "Cut nothing before that.";

fn disagrees(report: &Report) -> Option<NextStep> {
    let found = first(report, FindingKind::Disagrees)?;
    let spot = spots::said(&found.spot);
    Some(NextStep {
        more: CUT_NOTHING.to_owned(),
        ..step(
            format!("Measure {spot} again: its readings disagree"),
            again(&found.spot),
        )
    })
}

/// What is out of line and was read once, or is no chamber: it is measured again before anything is
/// cut.
fn out_of_line(report: &Report) -> Option<NextStep> {
    let mut found = report.findings_of(FindingKind::Outlier);
    let once = |spot: &str| {
        let mut once = report.findings_of(FindingKind::Unrepeated);
        once.any(|one| one.spot.split(", ").any(|other| other == spot))
    };
    let found = found.find(|one| spots::part(&one.spot) != "chamber" || once(&one.spot))?;
    let spot = spots::said(&found.spot);
    let why = check::off_middle(report, found).map(|off| format!("it is {off}"));
    let why = why.unwrap_or("it is out of line with the others".to_owned());
    Some(NextStep {
        more: CUT_NOTHING.to_owned(),
        ..step(format!("Measure {spot} again: {why}"), again(&found.spot))
    })
}

/// Metal to take out where the chambers differ by more than is allowed.
fn equal_chambers(report: &Report) -> Option<NextStep> {
    let outside = report.verdicts.iter().any(|one| {
        one.about == ToleranceName::ChamberSpread && one.answer == VerdictAnswer::Outside
    });
    let doubted = report.findings.iter().any(|one| {
        let doubt = matches!(
            one.kind,
            FindingKind::Disagrees
                | FindingKind::Open
                | FindingKind::Marked
                | FindingKind::Unrepeated
                | FindingKind::Missing
        );
        doubt
            && one
                .spot
                .split(", ")
                .any(|spot| spots::part(spot) == "chamber")
    });
    let work = report.equal_chambers.as_ref()?;
    let worth: Vec<_> = work
        .work
        .iter()
        .filter(|one| one.worth_it == Some(true))
        .collect();
    if !outside || doubted || worth.is_empty() {
        return None;
    }
    let amounts = worth.iter().map(|one| one.remove.value);
    let (least, most) = amounts.fold((f64::MAX, 0.0_f64), |(least, most), cc| {
        (least.min(cc), most.max(cc))
    });
    let amount = match rounded(least, 2) == rounded(most, 2) {
        true => rounded(most, 2),
        false => format!("{} to {}", rounded(least, 2), rounded(most, 2)),
    };
    let cylinders: Vec<u32> = worth.iter().map(|one| one.cylinder).collect();
    let after = work
        .compression_after
        .as_ref()
        .map_or(String::new(), |one| {
            format!("Compression comes to {}.", rounded(one.value, 2))
        });
    let what = format!(
        "Chamber {} sets the size: take {amount} cc out of {}, then pour again",
        work.reference,
        numbers(&cylinders)
    );
    Some(NextStep {
        more: after,
        ..step(what, Some(DoneAt::Decide("chambers")))
    })
}

/// What was set up once only is measured a second time as a whole, by the step after this one.
fn too_close(report: &Report) -> Option<NextStep> {
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
    Some(step(what, again(best)))
}

fn unrepeated(report: &Report, job: &str) -> Option<NextStep> {
    let once = report.findings_of(FindingKind::Unrepeated);
    let once: Vec<&str> = once.flat_map(|one| one.spot.split(", ")).collect();
    // Domes and dishes are often told by their maker: nobody is sent to pour them twice.
    let mut routes = ROUTES.iter().filter(|(part, _)| *part != "crown");
    let (part, route) =
        routes.find(|(part, _)| once.iter().any(|spot| spots::part(spot) == *part))?;
    let command = match job {
        "" => String::new(),
        job => format!("benchhand measure {job} {route} --rounds 2"),
    };
    let place = DoneAt::Route {
        route,
        cylinders: Vec::new(),
        rounds: Some(2),
    };
    let what = format!(
        "Measure the {} a second time, set up anew",
        spots::several(part)
    );
    Some(NextStep {
        command,
        ..step(what, Some(place))
    })
}

/// What is proven to be outside of its limits, and that no step before this one mends.
fn outside(report: &Report) -> Option<NextStep> {
    let cut = equal_chambers(report).is_some();
    let mended = |one: &ToleranceVerdict| cut && one.about == ToleranceName::ChamberSpread;
    let mut all = report.verdicts.iter();
    let found = all.find(|one| one.answer == VerdictAnswer::Outside && !mended(one))?;
    let about = found.about.name().replace('_', " ");
    let at = found
        .cylinder
        .map_or(String::new(), |cylinder| format!(" of cylinder {cylinder}"));
    Some(NextStep {
        command: "`decide what-if` tries a change before metal is cut".to_owned(),
        ..step(
            format!("The {about}{at} is NOT OK"),
            Some(DoneAt::Decide("what-if")),
        )
    })
}

/// How far the compression is from the target, where that is more than all that may be off.
fn target(report: &Report) -> Option<NextStep> {
    let target = report.limits.compression_target.as_ref()?;
    let mean = report.summary.compression_mean.as_ref()?;
    let off = mean.value - target.value;
    if off.abs() <= mean.expanded_assumed()? {
        return None;
    }
    let (side, how, question) = match off < 0.0 {
        true => ("under", "`decide mill` tells the cut", "mill"),
        false => (
            "over",
            "`decide gasket` tells what a thicker one brings",
            "gasket",
        ),
    };
    let (by, aim) = (rounded(off.abs(), 2), plain(target));
    Some(NextStep {
        command: how.to_owned(),
        ..step(
            format!("Compression is {by} {side} the target of {aim}"),
            Some(DoneAt::Decide(question)),
        )
    })
}
