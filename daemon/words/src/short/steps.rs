//! A step of work, and the routes by which parts are measured.

use benchhand_blueprint::report::Report;

use super::document::{DoneAt, NextStep};

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
