//! The report of a stage, with findings from the journal and from the running route.

use benchhand_blueprint::{Report, ReportError};
use benchhand_wire::{Reason, Refusal, RouteProgress};

use super::questions;
use crate::known::inputs::Asked;
use crate::known::{surroundings, zero_checks};
use crate::store::view::JobView;

/// The report of one stage, with the question of the route that runs on the job now.
pub(crate) fn report(
    view: &JobView,
    stage: Option<&str>,
    running: Option<&RouteProgress>,
) -> Result<Report, Refusal> {
    let asked = Asked::new(view, stage)?;
    let mut report = benchhand_blueprint::report(&asked.inputs()).map_err(|error| {
        let reason = match error {
            ReportError::Stage { .. } => Reason::NotFound,
            _ => Reason::BadInput,
        };
        Refusal::new(reason, error.to_string())
    })?;
    let holding = asked.holding();
    let checks = zero_checks::findings(view, &asked.engine, &asked.stage, &holding);
    report.findings.extend(checks);
    let set_up = surroundings::findings(view, &asked.stage);
    report.findings.extend(set_up);
    let asked = questions::findings(view, &asked.stage, running);
    report.findings.extend(asked);
    Ok(report)
}
