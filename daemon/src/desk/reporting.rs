//! The report of a stage, with findings from the journal and from the running route.

use std::collections::BTreeSet;

use benchhand_blueprint::{Report, ReportError};
use benchhand_wire::{Reason, Refusal, RouteProgress};
use benchhand_words::ordered::not_as_ordered;

use super::questions;
use crate::known::keeper::Keeper;
use crate::known::{orders, stations, surroundings, told, zero_checks};
use crate::store::view::JobView;

/// The report of one stage, with the question of the route that runs on the job now.
pub(crate) fn report(
    keeper: &Keeper,
    view: &JobView,
    stage: Option<&str>,
    running: Option<&RouteProgress>,
) -> Result<Report, Refusal> {
    let asked = told::asked(keeper, view, stage)?;
    let mut report = benchhand_blueprint::report(&asked.inputs()).map_err(|error| {
        let reason = match error {
            ReportError::Stage { .. } => Reason::NotFound,
            _ => Reason::BadInput,
        };
        Refusal::new(reason, error.to_string())
    })?;
    let holding = asked.holding();
    report.card.measured_by = measured_by(view, &holding, report.card.measured_by);
    let checks = zero_checks::findings(view, &asked.engine, &asked.stage, &holding);
    report.findings.extend(checks);
    report
        .findings
        .extend(stations::findings(&asked.engine, view));
    let set_up = surroundings::findings(view, &asked.stage, &holding);
    report.findings.extend(set_up);
    report.ordered = orders::beside(view, &asked)?;
    let not_so = report
        .ordered
        .iter()
        .filter_map(|one| one.finding(not_as_ordered));
    report.findings.extend(not_so.collect::<Vec<_>>());
    let of_questions = questions::findings(&asked.engine, view, (&asked.stage, &holding), running);
    report.findings.extend(of_questions);
    benchhand_blueprint::report::mark_from_before(&asked.inputs(), &mut report.findings);
    Ok(report)
}

/// Initials of those who took the readings on which a report rests, in their order; where none of
/// them says who took it, as the job card has it.
fn measured_by(view: &JobView, holding: &BTreeSet<u64>, card: Option<String>) -> Option<String> {
    let readings = holding.iter().filter_map(|id| view.reading(*id));
    let mut all: Vec<&str> = Vec::new();
    for by in readings.filter_map(|kept| kept.by.as_deref()) {
        if !all.contains(&by) {
            all.push(by);
        }
    }
    match all.is_empty() {
        true => card,
        false => Some(all.join(", ")),
    }
}
