//! The page on which a route is begun: shown, and carried out as the requests that it stands for.

use std::collections::HashMap;
use std::sync::Arc;

use axum::extract::{Extension, Form as Sent, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use benchhand_pages::form::FilledFields;
use benchhand_pages::{Page, PageSection, RouteToBegin, address, begin, route_asked};
use benchhand_wire::{
    Ask, GaugeState, Gauges, Reason, Refusal, RouteInfo, RouteProgress, Routes, SetCondition,
    ShowJob, StartRoute,
};
use serde_json::json;

use super::sent::{has_key, may_ask};
use super::{Visit, html, status_of};
use crate::api::passes::Guest;
use crate::api::{Shared, new_key};

/// What the page is made of.
struct Known {
    route: RouteInfo,
    gauges: Vec<GaugeState>,
    standing: Option<RouteProgress>,
}

/// Shows a route that can be begun, with what the address fills in.
pub(super) fn show(visit: &Visit) -> Result<Page, Refusal> {
    let known = known(visit)?;
    let filled = visit.query.clone().into_iter().collect();
    Ok(page(visit, &known, &filled, &new_key()?, None))
}

fn known(visit: &Visit) -> Result<Known, Refusal> {
    let (job, name) = (visit.part("job").to_owned(), visit.part("route"));
    let routes = visit.desk.ask(Routes {
        job: Some(job.clone()),
    })?;
    let mut routes = routes.routes.into_iter();
    let route = routes.find(|one| one.name == name).ok_or_else(|| {
        Refusal::new(Reason::NotFound, format!("there is no route {name:?}"))
            .todo("the page of the job lists those that there are")
    })?;
    Ok(Known {
        route,
        gauges: visit.desk.ask(Gauges {})?.gauges,
        standing: visit.desk.ask(ShowJob { job })?.route,
    })
}

fn page(
    visit: &Visit,
    known: &Known,
    filled: &FilledFields,
    key: &str,
    refusal: Option<&Refusal>,
) -> Page {
    let job = visit.part("job");
    let title = format!("Begin {} on {job}", known.route.name);
    let of = RouteToBegin {
        job,
        route: &known.route,
        gauges: &known.gauges,
        standing: known.standing.as_ref(),
    };
    let frame = visit.frame(title, PageSection::Job);
    begin(&frame, of, filled, key, refusal)
}

/// Says the conditions and begins the route, or shows what was filled in.
pub(super) async fn send(
    State(shared): State<Shared>,
    Extension(guest): Extension<Guest>,
    Path(path): Path<HashMap<String, String>>,
    Sent(filled): Sent<FilledFields>,
) -> Response {
    let work = move || sent(&shared, guest, path, &filled);
    match tokio::task::spawn_blocking(work).await {
        Ok(response) => response,
        Err(error) => {
            tracing::error!(%error, "the page of a route panicked");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

fn sent(
    shared: &Shared,
    guest: Guest,
    path: HashMap<String, String>,
    filled: &FilledFields,
) -> Response {
    let visit = Visit {
        desk: Arc::clone(&shared.desk),
        path,
        query: filled.iter().cloned().collect(),
        guest,
        told: None,
    };
    let known = match known(&visit) {
        Ok(known) => known,
        Err(refusal) => {
            let (status, page) = super::refused(&visit, &refusal);
            return html(status, page);
        }
    };
    let key = visit.field("key").unwrap_or_default();
    match carried_out(shared, &visit, &known.route, filled, key) {
        Ok(()) => Redirect::to(&address::measure(visit.part("job"))).into_response(),
        // The conditions may be kept already; saying them again changes nothing. The next sending is
        // another request.
        Err(refusal) => match new_key() {
            Ok(key) => {
                let shown = page(&visit, &known, filled, &key, Some(&refusal));
                html(status_of(&refusal), shown)
            }
            Err(refusal) => crate::api::refuse(&refusal),
        },
    }
}

fn carried_out(
    shared: &Shared,
    visit: &Visit,
    route: &RouteInfo,
    filled: &FilledFields,
    key: &str,
) -> Result<(), Refusal> {
    has_key(key)?;
    for request in [StartRoute::PATH, SetCondition::PATH] {
        may_ask(visit.guest, request, "this")?;
    }
    let asked = route_asked(route, filled)
        .map_err(|(found, expected)| Refusal::new(Reason::BadInput, found).expected(expected))?;
    let job = visit.part("job");
    for one in &asked.conditions {
        let mut body = json!({ "job": job, "name": one.name, "value": one.value });
        if let Some(since) = &one.since {
            body["since_number"] = json!(since);
        }
        let own = format!("{key}/{}", one.name);
        shared.desk.dispatch(SetCondition::PATH, body, Some(&own))?;
    }
    let lists: serde_json::Map<_, _> = asked
        .lists
        .into_iter()
        .map(|(name, values)| (name, json!(values)))
        .collect();
    let gauges: serde_json::Map<_, _> = asked
        .gauges
        .into_iter()
        .map(|(kind, gauge)| (kind, json!(gauge)))
        .collect();
    let mut body = json!({
        "job": job,
        "route": route.name,
        "gauges": gauges,
        "cylinders": asked.cylinders,
        "lists": lists,
        "afresh": asked.afresh,
    });
    if let Some(rounds) = asked.rounds {
        body["rounds"] = json!(rounds);
    }
    if let Some(by) = asked.by {
        body["by"] = json!(by);
    }
    shared.desk.dispatch(StartRoute::PATH, body, Some(key))?;
    Ok(())
}
