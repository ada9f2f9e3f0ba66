//! What is to be done about readings in doubt. Why they are in doubt, the report says.

use benchhand_blueprint::report::{Finding, FindingKind, Report};

use super::document::{DoneAt, NextStep};
use super::steps::{self, CUT_NOTHING, again, begun_over, first};
use crate::spots;

/// What was measured with a gauge that failed its check: the gauge is set right and everything that
/// rests on it taken again.
pub(super) fn step(report: &Report, job: &str) -> Option<NextStep> {
    let found = first(report, FindingKind::Marked)?;
    let part = spots::part(&found.spot);
    let same = report.findings_of(FindingKind::Marked);
    let same = same.filter(|one| one.text == found.text && spots::part(&one.spot) == part);
    let cylinders: Vec<u32> = same.filter_map(|one| spots::cylinder(&one.spot)).collect();
    if let Some(void) = replaced(report, found, job) {
        return Some(void);
    }
    let mut words = found.text.split(' ');
    let what = match (words.next(), words.next()) {
        (Some("gauge"), Some(gauge)) if part == "deck" || part == "bore" => {
            format!("Zero {gauge}, then measure ")
        }
        (Some(kind @ ("gauge" | "orifice")), Some(name)) => {
            format!("Set {kind} {name} right and check it, then measure ")
        }
        _ => "Measure ".to_owned(),
    };
    let what = format!("{what}{} again", spots::of_cylinders(part, &cylinders));
    let gauge = found.text.strip_prefix("gauge ");
    let gauge = gauge.and_then(|text| text.split(' ').next());
    let place = again(report, &found.spot).map(|place| all_of(place, &cylinders));
    let over = begun_over(place.as_ref(), job);
    let command = match (gauge, job) {
        (Some(gauge), job) if !job.is_empty() && part == "deck" => {
            let over = match over.is_empty() {
                true => over,
                false => format!(", then {over}"),
            };
            format!("benchhand gauge zero {gauge} --job {job}{over}")
        }
        _ => over,
    };
    Some(NextStep {
        command,
        more: format!("They are in doubt: {}. {CUT_NOTHING}", found.text),
        ..steps::step(what, place)
    })
}

/// What is in doubt and was measured again since: the old readings count beside the new ones until they
/// are void.
fn replaced(report: &Report, found: &Finding, job: &str) -> Option<NextStep> {
    let same = report.findings_of(FindingKind::Marked);
    let same = same.filter(|one| one.text == found.text);
    let numbers: Vec<&str> = same
        .flat_map(|one| one.replaced.iter().map(String::as_str))
        .collect();
    let (what, doubt) = match numbers[..] {
        [] => return None,
        [one] => (
            format!("Void reading {one}: its spot was measured again since"),
            "It is in doubt",
        ),
        _ => (
            format!(
                "Void readings {}: their spots were measured again since",
                numbers.join(", ")
            ),
            "They are in doubt",
        ),
    };
    let command = match job {
        "" => String::new(),
        job => format!(
            "benchhand void {job} {} --reason \"in doubt\"",
            numbers.join(" ")
        ),
    };
    Some(NextStep {
        command,
        more: format!("{doubt}: {}. {CUT_NOTHING}", found.text),
        ..steps::step(what, Some(DoneAt::Readings(found.spot.clone())))
    })
}

/// The same place with all these cylinders.
fn all_of(place: DoneAt, all: &[u32]) -> DoneAt {
    match place {
        DoneAt::Route {
            route,
            rounds,
            afresh,
            ..
        } => {
            let mut cylinders = all.to_vec();
            cylinders.sort_unstable();
            cylinders.dedup();
            DoneAt::Route {
                route,
                cylinders,
                rounds,
                afresh,
            }
        }
        other => other,
    }
}
