//! Where a route stands, as it is shown.

use benchhand_wire::{RouteProgress, StopDone, StopState};

use super::run::{Arranged, Run};
use crate::route::{Became, Route};
use crate::store::view::JobView;

/// Where a route stands.
pub(crate) fn progress(job: &str, route: &Route, run: &Run, view: &JobView) -> RouteProgress {
    let at = run.walk().at();
    let prompt = match at {
        _ if run.on_hold() => "on hold; resume to go on".to_owned(),
        Some(stop) => run.stops()[stop].stop.prompt.clone(),
        None if run.finished() => "done".to_owned(),
        None => "all stops taken; the last reading may still be revised".to_owned(),
    };
    let became = run.walk().became();
    RouteProgress {
        job: job.to_owned(),
        route: route.name.clone(),
        title: route.title.clone(),
        running: !run.finished(),
        done: run.walk().done(),
        at,
        prompt,
        stops: run
            .stops()
            .iter()
            .zip(became)
            .map(|(arranged, &became)| stop_done(arranged, became, view))
            .collect(),
        cautions: route.cautions.clone(),
    }
}

fn stop_done(arranged: &Arranged, became: Became, view: &JobView) -> StopDone {
    let (state, reading) = match became {
        Became::Left => (StopState::Left, None),
        Became::Held(id) => (StopState::Held, Some(id)),
        Became::Taken(id) => (StopState::Taken, Some(id)),
        Became::Skipped => (StopState::Skipped, None),
    };
    let shown = reading
        .and_then(|id| view.reading(id))
        .map(super::words::shown);
    StopDone {
        spot: arranged.stop.spot.to_string(),
        round: arranged.stop.round,
        state,
        gauge: arranged.gauge.clone(),
        reading,
        shown: shown.unwrap_or_default(),
    }
}
