//! From a port to a gauge of the shop: listening, what was found, and taking it into the register.

use std::collections::HashMap;
use std::sync::Arc;

use axum::extract::{Extension, Form as Sent, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use benchhand_pages::form::{FilledFields, points};
use benchhand_pages::{FormOutcome, NewGauge, Page, PageSection, address};
use benchhand_wire::{
    Ask as _, BuretteCounts, FindGauge, GaugeSetup, Gauges, Ports, Reason, Refusal, SetGauge,
};

use super::sent::{has_key, may_ask};
use super::{Visit, html, status_of};
use crate::api::passes::Guest;
use crate::api::{Shared, new_key};
use crate::desk::Desk;

/// What finding calls the profile that it writes.
const FOUND_NAME: &str = "name = \"found-gauge\"";
/// The line of a found profile whose unit the bytes do not tell.
const UNTOLD_UNIT: &str = "unit = \"1\"";

/// What a tablet is told that it may not do.
pub(super) const SETTING_UP: &str = "setting a gauge up";

/// A finished page, or why there is none.
type Made = Result<(StatusCode, Page), Refusal>;

/// The form of a gauge that is read by eye.
pub(super) fn by_eye(visit: &Visit) -> Result<Page, Refusal> {
    may_set_up(visit.guest)?;
    let new = NewGauge::by_eye(&names(&visit.desk)?);
    let frame = visit.frame("A gauge that is read by eye", PageSection::Gauges);
    Ok(benchhand_pages::new_gauge(
        &frame,
        &new,
        &[],
        &new_key()?,
        None,
    ))
}

/// Listens at a port and shows what was found.
pub(super) async fn listen(
    State(shared): State<Shared>,
    Extension(guest): Extension<Guest>,
    Sent(filled): Sent<FilledFields>,
) -> Response {
    aside(move || {
        let visit = visit(&shared, guest, &filled);
        shown(&visit, heard(&visit))
    })
    .await
}

/// Takes the gauge that was found into the register.
pub(super) async fn keep(
    State(shared): State<Shared>,
    Extension(guest): Extension<Guest>,
    Sent(filled): Sent<FilledFields>,
) -> Response {
    aside(move || {
        let visit = visit(&shared, guest, &filled);
        kept(&shared, &visit)
    })
    .await
}

/// Works where blocking on a port and the disk is allowed.
async fn aside(work: impl FnOnce() -> Response + Send + 'static) -> Response {
    match tokio::task::spawn_blocking(work).await {
        Ok(response) => response,
        Err(error) => {
            tracing::error!(%error, "a page panicked");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

fn visit(shared: &Shared, guest: Guest, filled: &FilledFields) -> Visit {
    Visit {
        desk: Arc::clone(&shared.desk),
        path: HashMap::new(),
        query: filled.iter().cloned().collect(),
        guest,
        told: None,
    }
}

fn shown(visit: &Visit, made: Made) -> Response {
    let (status, page) = made.unwrap_or_else(|refusal| super::refused(visit, &refusal));
    html(status, page)
}

fn may_set_up(guest: Guest) -> Result<(), Refusal> {
    may_ask(guest, SetGauge::PATH, SETTING_UP)
}

/// The names that the register has.
fn names(desk: &Desk) -> Result<Vec<String>, Refusal> {
    let list = desk.ask(Gauges {})?;
    Ok(list.gauges.into_iter().map(|g| g.setup.name).collect())
}

fn heard(visit: &Visit) -> Made {
    may_set_up(visit.guest)?;
    let port = visit.field("port").map(str::trim).unwrap_or_default();
    let allow_queries = visit.field("allow_queries").is_some();
    let frame = visit.frame("Set a gauge up", PageSection::Gauges);
    let asked = visit.desk.ask(FindGauge {
        port: port.to_owned(),
        allow_queries,
        questions: Vec::new(),
    });
    match asked {
        Ok(found) => {
            let names = names(&visit.desk)?;
            let adapter = adapter(&visit.desk, port);
            let new = NewGauge::found(&found, port, adapter.as_deref(), &names);
            let key = new_key()?;
            let page = benchhand_pages::new_gauge(&frame, &new, &found.others, &key, None);
            Ok((StatusCode::OK, page))
        }
        Err(refusal) => Ok((
            status_of(&refusal),
            benchhand_pages::nothing_found(&frame, port, allow_queries, &refusal),
        )),
    }
}

/// The identity of the adapter at a port, where no other adapter has the same: by it the gauge is
/// found again under another path.
fn adapter(desk: &Desk, port: &str) -> Option<String> {
    let only = Some("usb".to_owned());
    let ports = desk.ask(Ports { path: None, only }).ok()?.ports;
    let identity = ports.iter().find(|p| p.path == port)?.identity.clone()?;
    let same = ports
        .iter()
        .filter(|p| p.identity.as_ref() == Some(&identity));
    (same.count() == 1).then_some(identity)
}

fn kept(shared: &Shared, visit: &Visit) -> Response {
    if let Err(refusal) = may_set_up(visit.guest) {
        return shown(visit, Err(refusal));
    }
    let key = visit.field("key").unwrap_or_default();
    let new = as_filled(visit);
    match set_up(&visit.desk, &new, key) {
        Ok(()) => {
            let text = if new.by_eye {
                "The gauge is in the register. Its values are typed where a route stands."
            } else {
                "The gauge is in the register. Move it: its value is seen here."
            };
            let told = FormOutcome {
                text: text.to_owned(),
            };
            shared.told.put(key, told);
            let page = address::gauge(&new.name);
            Redirect::to(&format!("{page}?told={}", address::part(key))).into_response()
        }
        Err(refusal) => shown(visit, again(visit, &new, &refusal)),
    }
}

/// The form once more, with what was filled in and why it was refused.
fn again(visit: &Visit, new: &NewGauge, refusal: &Refusal) -> Made {
    let frame = visit.frame("Set a gauge up", PageSection::Gauges);
    let page = benchhand_pages::new_gauge(&frame, new, &[], &new_key()?, Some(refusal));
    Ok((status_of(refusal), page))
}

fn as_filled(visit: &Visit) -> NewGauge {
    let text = |name: &str| visit.field(name).unwrap_or_default().trim().to_owned();
    NewGauge {
        by_eye: visit.field("by_eye").is_some(),
        heard: text("heard"),
        shown: text("shown"),
        reasons: Vec::new(),
        port: text("port"),
        adapter: text("adapter"),
        profile_text: visit.field("profile_text").unwrap_or_default().to_owned(),
        unit_told: visit.field("unit_told").is_some(),
        kind: text("kind"),
        name: text("name"),
        unit: text("unit"),
        capacity: points(&text("capacity")),
        counts: text("counts"),
        resolution: points(&text("resolution")),
        u: points(&text("u")),
        calibrated: text("calibrated"),
    }
}

fn set_up(desk: &Desk, new: &NewGauge, key: &str) -> Result<(), Refusal> {
    has_key(key)?;
    let profile_text = (!new.by_eye).then(|| profile_text(new)).transpose()?;
    let profile = match &profile_text {
        Some(text) => profile_name(text).unwrap_or_else(|| new.name.clone()),
        None => new.profile_text.clone(),
    };
    let said = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    let setup = GaugeSetup {
        name: new.name.clone(),
        profile,
        // The adapter's identity wins over its place; without one the place is all there is.
        port: said(&new.port).filter(|_| new.adapter.is_empty()),
        adapter: said(&new.adapter),
        sense: 1,
        u: said(&new.u),
        scale_u: None,
        repeatability: None,
        repeatability_dof: None,
        resolution: said(&new.resolution),
        capacity: said(&new.capacity),
        counts: match new.counts.as_str() {
            "up" => Some(BuretteCounts::Up),
            "down" => Some(BuretteCounts::Down),
            _ => None,
        },
        calibrated: said(&new.calibrated),
    };
    let ask = SetGauge {
        setup,
        profile_text,
    };
    let body = serde_json::to_value(ask)
        .map_err(|error| Refusal::new(Reason::BadInput, error.to_string()))?;
    desk.dispatch("gauges/set", body, Some(key))?;
    Ok(())
}

/// The profile as it is kept: with the gauge's own name, so that a second gauge's profile does not
/// take its place, and with the unit that a person said.
fn profile_text(new: &NewGauge) -> Result<String, Refusal> {
    let text = new.profile_text.replace("\r\n", "\n");
    let name = format!("name = \"{}\"", new.name.replace(['"', '\\'], ""));
    let text = text.replacen(FOUND_NAME, &name, 1);
    if new.unit_told {
        return Ok(text);
    }
    let unit: benchhand_blueprint::Unit = new.unit.parse().map_err(|_| {
        Refusal::new(Reason::BadInput, format!("the unit {:?}", new.unit))
            .expected("the unit that the gauge shows; it does not send it")
    })?;
    Ok(text.replace(UNTOLD_UNIT, &format!("unit = \"{unit}\"")))
}

/// The name that a profile gives itself.
fn profile_name(text: &str) -> Option<String> {
    let table: toml::Table = text.parse().ok()?;
    Some(table.get("name")?.as_str()?.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(unit_told: bool, unit: &str) -> NewGauge {
        NewGauge {
            name: "burette-1".into(),
            profile_text:
                "profile = 1\r\nname = \"found-gauge\"\r\n\r\n[[channel]]\r\nunit = \"1\"\r\n"
                    .into(),
            unit_told,
            unit: unit.into(),
            ..NewGauge::default()
        }
    }

    #[test]
    fn a_found_profile_takes_the_gauges_name_and_the_unit_that_was_said() {
        let text = profile_text(&found(false, "ml")).expect("a unit");
        assert_eq!(profile_name(&text).as_deref(), Some("burette-1"));
        assert!(text.contains("unit = \"cc\""), "{text}");
    }

    #[test]
    fn a_unit_that_nobody_said_is_not_guessed() {
        let refusal = profile_text(&found(false, "")).expect_err("no unit");
        assert!(
            refusal.to_string().contains("does not send it"),
            "{refusal}"
        );
    }
}
