//! The second round of what was measured once.

use benchhand_blueprint::report::{FindingKind, Report};

use super::document::{DoneAt, NextStep};
use super::steps::{routes, step};
use crate::spots;

/// A second round, or the rest of one that stands half-way.
pub(super) fn second(report: &Report, job: &str) -> Option<NextStep> {
    let once = report.findings_of(FindingKind::Unrepeated);
    let once: Vec<&str> = once.flat_map(|one| one.spot.split(", ")).collect();
    // The maker often states the dome or dish, so nobody is sent to pour one a second time.
    let mut routes = routes(report)
        .into_iter()
        .filter(|(part, _)| part != "crown");
    let (part, route) =
        routes.find(|(part, _)| once.iter().any(|spot| spots::part(spot) == part))?;
    let command = match job {
        "" => String::new(),
        job => format!("benchhand measure {job} {route} --rounds 2"),
    };
    let place = DoneAt::Route {
        route,
        cylinders: Vec::new(),
        rounds: Some(2),
        afresh: false,
    };
    let left: Vec<u32> = once
        .iter()
        .filter(|spot| spots::part(spot) == part)
        .filter_map(|spot| spots::cylinder(spot))
        .collect();
    // A second round that stands half-way is taken up where it stood.
    let half_way = report
        .measured_times
        .iter()
        .any(|one| one.family == part && one.most > 1);
    let what = match half_way && !left.is_empty() {
        true => format!(
            "Finish the second round: {}",
            spots::of_cylinders(&part, &left)
        ),
        false => format!(
            "Measure the {} a second time, set up anew",
            spots::several(&part)
        ),
    };
    Some(NextStep {
        command,
        ..step(what, Some(place))
    })
}
