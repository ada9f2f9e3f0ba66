//! A step of work, its command, and the routes by which parts are measured.

use benchhand_blueprint::report::{Finding, FindingKind, Report};

use super::document::{DoneAt, NextStep};
use crate::spots;

/// Parts that a route of this name measures.
const ROUTES: [(&str, &str); 4] = [
    ("chamber", "chambers"),
    ("deck", "deck"),
    ("flow", "flow"),
    ("crown", "crowns"),
];

/// A step without a command.
pub(super) fn step(what: impl Into<String>, place: Option<DoneAt>) -> NextStep {
    NextStep {
        what: what.into(),
        command: String::new(),
        more: String::new(),
        place,
    }
}

/// Pairs of a part and the route that measures it. A free spot's route has the spot's name.
pub(super) fn routes(report: &Report) -> Vec<(String, String)> {
    let shipped = ROUTES.iter().map(|(part, route)| (*part, *route));
    let free = report
        .free
        .iter()
        .map(|one| (one.name.as_str(), one.name.as_str()));
    let all = shipped.chain(free);
    all.map(|(part, route)| (part.to_owned(), route.to_owned()))
        .collect()
}

/// The route that measures a part.
pub(super) fn route_of(report: &Report, part: &str) -> Option<String> {
    let mut all = routes(report).into_iter();
    all.find(|(known, _)| known == part).map(|(_, route)| route)
}

/// What a step about readings in doubt ends with.
pub(super) const CUT_NOTHING: &str = "Cut nothing before that.";

/// Where a spot is measured again: on its route, at its cylinder alone, or typed among its readings.
pub(super) fn again(report: &Report, spot: &str) -> Option<DoneAt> {
    let route = route_of(report, spots::part(spot));
    Some(match (route, spots::cylinder(spot)) {
        (Some(route), Some(cylinder)) => DoneAt::Route {
            route,
            cylinders: vec![cylinder],
            rounds: None,
            afresh: true,
        },
        _ => DoneAt::Readings(spot.to_owned()),
    })
}

/// The command that begins a route over: where each stop has its reading, no other does.
pub(super) fn begun_over(place: Option<&DoneAt>, job: &str) -> String {
    let Some(DoneAt::Route {
        route,
        cylinders,
        rounds,
        afresh: true,
    }) = place.filter(|_| !job.is_empty())
    else {
        return String::new();
    };
    let cylinders: Vec<String> = cylinders.iter().map(u32::to_string).collect();
    let only = match cylinders.is_empty() {
        true => String::new(),
        false => format!(" --cylinders {}", cylinders.join(",")),
    };
    let rounds = rounds.map_or(String::new(), |rounds| format!(" --rounds {rounds}"));
    format!("benchhand measure {job} {route}{only}{rounds} --start-over")
}

/// The command that asks for a decision about a job; without its name where nobody has said it.
pub(super) fn decided(question: &str, job: &str, options: &str) -> String {
    let all = ["benchhand decide", question, job, options];
    let all: Vec<&str> = all.into_iter().filter(|one| !one.is_empty()).collect();
    all.join(" ")
}

/// The first finding of a kind.
pub(super) fn first(report: &Report, kind: FindingKind) -> Option<&Finding> {
    report.findings_of(kind).next()
}
