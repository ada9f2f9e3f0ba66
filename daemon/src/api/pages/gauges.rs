//! The pages of the gauges, and the documents that they are made of.

use benchhand_pages::{LearningDirection, Page, PageFrame, PageSection};
use benchhand_wire::{Examine, GaugeHistory, GaugeState, Gauges, Jobs, Ports, Reason, Refusal};

use super::Visit;
use super::listen::SETTING_UP;
use super::sent::not_for_tablets;
use crate::api::new_key;

pub(super) fn all(visit: &Visit) -> Result<Page, Refusal> {
    let list = visit.desk.ask(Gauges {})?;
    let frame = visit.frame("Gauges", PageSection::Gauges);
    // A tablet may not set gauges up, and has no use for this machine's ports.
    let ports = if frame.at_the_machine {
        visit.desk.ask(Ports::default())?.ports
    } else {
        Vec::new()
    };
    Ok(benchhand_pages::gauges(&frame, &list, &ports))
}

/// What was found at this machine, for whoever sits at it.
pub(super) fn machine(visit: &Visit) -> Result<Page, Refusal> {
    let frame = visit.frame("This machine", PageSection::Gauges);
    if !frame.at_the_machine {
        let found = "what was found at this machine is not for a tablet";
        return Err(Refusal::new(Reason::Unauthorised, found)
            .todo("look at it on the machine that the gauges are plugged into"));
    }
    Ok(benchhand_pages::machine(
        &frame,
        &visit.desk.ask(Examine {})?,
    ))
}

pub(super) fn one(visit: &Visit) -> Result<Page, Refusal> {
    let (frame, gauge) = found(visit)?;
    let name = gauge.setup.name.clone();
    // The gauge is shown even where the jobs cannot be read.
    let history = visit.desk.ask(GaugeHistory { name });
    let jobs = visit.desk.ask(Jobs::default()).map_or_else(
        |_| Vec::new(),
        |list| list.jobs.into_iter().map(|job| job.name).collect(),
    );
    Ok(benchhand_pages::gauge(
        &frame,
        &gauge,
        history.ok().as_ref(),
        &jobs,
    ))
}

pub(super) fn direction(visit: &Visit) -> Result<Page, Refusal> {
    let (frame, gauge) = found(visit)?;
    if !frame.at_the_machine {
        return Err(not_for_tablets(SETTING_UP));
    }
    let from = visit.field("from").and_then(|text| text.parse().ok());
    let learning = LearningDirection {
        from: from.filter(|value: &f64| value.is_finite()),
        key: new_key()?,
    };
    Ok(benchhand_pages::direction(&frame, &gauge, &learning))
}

/// The gauge that the address names.
fn found(visit: &Visit) -> Result<(PageFrame, GaugeState), Refusal> {
    let name = visit.part("name");
    let list = visit.desk.ask(Gauges {})?;
    let gauge = list.gauges.into_iter().find(|g| g.setup.name == name);
    let gauge = gauge.ok_or_else(|| {
        Refusal::new(Reason::NotFound, format!("no gauge is called {name:?}"))
            .todo("the page of the gauges lists them")
    })?;
    Ok((
        visit.frame(format!("Gauge {name}"), PageSection::Gauges),
        gauge,
    ))
}
