//! Forms: shown, sent, and carried out as the requests that they stand for.

use axum::extract::{Extension, Form as Sent, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use benchhand_pages::form::{FilledFields, OfferedNames, RequestForm, form, form_of, request_of};
use benchhand_pages::{FormOutcome, Page, PageSection, address};
use benchhand_wire::{Ask, ConditionKept, Gauges, Jobs, Reason, Refusal, SetCondition};
use benchhand_words::conditions::left_out;

use super::sent::{has_key, may_ask};
use super::{Visit, html, status_of};
use crate::api::passes::Guest;
use crate::api::{Shared, new_key};
use crate::desk::Desk;

/// Shows a form, with what the address fills in.
pub(super) fn show(visit: &Visit) -> Result<Page, Refusal> {
    let form = wanted(visit.part("request"), visit.guest)?;
    let filled = visit.query.clone().into_iter().collect();
    let back = visit.field("back").unwrap_or(address::JOBS);
    Ok(page(visit, form, &filled, (&new_key()?, back), None))
}

/// The form of a request, for a guest who may ask for it.
fn wanted(request: &str, guest: Guest) -> Result<&'static RequestForm, Refusal> {
    let form = form_of(request)
        .ok_or_else(|| Refusal::new(Reason::NotFound, format!("no form is called {request:?}")))?;
    may_ask(guest, form.request, &format!("{:?}", form.title))?;
    Ok(form)
}

fn page(
    visit: &Visit,
    wanted: &RequestForm,
    filled: &FilledFields,
    (key, back): (&str, &str),
    refusal: Option<&Refusal>,
) -> Page {
    let back = if address::is_ours(back) {
        back
    } else {
        address::JOBS
    };
    let frame = visit.frame(wanted.title, PageSection::Elsewhere);
    form(
        &frame,
        wanted,
        filled,
        &offers(&visit.desk),
        (key, back),
        refusal,
    )
}

/// The names that are there. What cannot be asked for is not offered.
fn offers(desk: &Desk) -> OfferedNames {
    let jobs = desk
        .ask(Jobs::default())
        .map(|list| list.jobs)
        .unwrap_or_default();
    let jobs: Vec<String> = jobs.into_iter().map(|job| job.name).collect();
    let mut names = vec![("job", jobs)];
    if let Ok(list) = desk.ask(Gauges {}) {
        let gauges: Vec<String> = list.gauges.into_iter().map(|g| g.setup.name).collect();
        names.extend([
            ("name", gauges.clone()),
            ("gauge", gauges.clone()),
            ("with", gauges),
            ("setup.profile", list.profiles),
        ]);
    }
    OfferedNames { names }
}

/// Carries a form out: once for each key, however often it is sent.
pub(super) async fn send(
    State(shared): State<Shared>,
    Extension(guest): Extension<Guest>,
    Path(request): Path<String>,
    Sent(filled): Sent<FilledFields>,
) -> Response {
    let work = move || sent(&shared, guest, &request, filled);
    match tokio::task::spawn_blocking(work).await {
        Ok(response) => response,
        Err(error) => {
            tracing::error!(%error, "a form panicked");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

fn sent(shared: &Shared, guest: Guest, request: &str, filled: FilledFields) -> Response {
    let visit = Visit {
        desk: std::sync::Arc::clone(&shared.desk),
        path: std::collections::HashMap::new(),
        query: filled.iter().cloned().collect(),
        guest,
        told: None,
    };
    let key = visit.field("key").unwrap_or_default();
    let back = visit.field("back").unwrap_or(address::JOBS);
    let form = match wanted(request, guest) {
        Ok(form) => form,
        Err(refusal) => {
            let (status, page) = super::refused(&visit, &refusal);
            return html(status, page);
        }
    };
    match carried_out(shared, form, &filled, key) {
        Ok(more) => {
            let text = format!("{} {more}", form.done).trim_end().to_owned();
            shared.told.put(key, FormOutcome { text });
            Redirect::to(&after(back, key)).into_response()
        }
        // What was refused was not done, so that the next sending is another request.
        Err(refusal) => match new_key() {
            Ok(key) => html(
                status_of(&refusal),
                page(&visit, form, &filled, (&key, back), Some(&refusal)),
            ),
            Err(refusal) => super::super::refuse(&refusal),
        },
    }
}

/// Carries a form out. Returns what else is to be told of it; empty where nothing is.
fn carried_out(
    shared: &Shared,
    form: &RequestForm,
    filled: &FilledFields,
    key: &str,
) -> Result<String, Refusal> {
    has_key(key)?;
    let body = request_of(form, filled).map_err(|fault| {
        Refusal::new(
            Reason::BadInput,
            format!("{}: {:?}", fault.label, fault.found),
        )
        .expected(fault.expected)
    })?;
    let answer = shared.desk.dispatch(form.request, body, Some(key))?;
    let kept = (form.request == SetCondition::PATH)
        .then(|| serde_json::from_value::<ConditionKept>(answer).ok());
    Ok(kept.flatten().as_ref().map(left_out).unwrap_or_default())
}

/// The page after a form.
fn after(back: &str, key: &str) -> String {
    let back = if address::is_ours(back) {
        back
    } else {
        address::JOBS
    };
    let joined = if back.contains('?') { '&' } else { '?' };
    format!("{back}{joined}told={}", address::part(key))
}

#[cfg(test)]
mod tests {
    use benchhand_pages::form::{FORMS, FieldKind, NO_FORM};
    use benchhand_wire::Carry;
    use serde_json::Value;

    use super::*;

    #[test]
    fn every_request_that_does_something_has_a_form_or_another_way() {
        for (path, carry) in Desk::requests() {
            let other_way = NO_FORM.iter().any(|(request, _)| *request == path);
            let has_form = form_of(path).is_some();
            match carry {
                Carry::Question => assert!(!has_form, "{path} only asks"),
                Carry::Change | Carry::Inquiry => {
                    assert!(
                        has_form != other_way,
                        "{path}: form {has_form}, other {other_way}"
                    );
                }
            }
        }
        for form in FORMS {
            assert!(
                Desk::carry_of(form.request).is_some(),
                "{} is no request",
                form.request
            );
        }
    }

    /// The description of a request's fields.
    fn described<'a>(document: &'a Value, schema: &'a Value) -> &'a Value {
        let mut schema = schema;
        while let Some(reference) = schema["$ref"].as_str() {
            schema =
                &document["components"]["schemas"][reference.rsplit('/').next().expect("a name")];
        }
        schema
    }

    #[test]
    fn every_field_of_a_form_is_a_field_of_its_request() {
        let document: Value = serde_json::from_str(include_str!("../openapi.json")).expect("JSON");
        for form in FORMS {
            let body = &document["paths"][format!("/v1/{}", form.request)]["post"]["requestBody"]["content"]
                ["application/json"]["schema"];
            let request = described(&document, body);
            for field in form.fields {
                let mut at = request;
                for part in field.name.split('.') {
                    at = described(&document, &at["properties"][part]);
                    // An object that may be absent stands beside `null`.
                    if let Some(first) = at["anyOf"].get(0) {
                        at = described(&document, first);
                    }
                }
                assert!(at.is_object(), "{}: no field {}", form.request, field.name);
                let long = matches!(field.kind, FieldKind::Rows(_));
                assert_eq!(
                    long,
                    at["type"] == "array"
                        && at["items"].is_object()
                        && at["items"]["$ref"].is_string(),
                    "{}: {}",
                    form.request,
                    field.name
                );
            }
            let needed = request["required"].as_array().cloned().unwrap_or_default();
            for name in needed.iter().filter_map(Value::as_str) {
                let asked = form
                    .fields
                    .iter()
                    .find(|field| field.name.split('.').next() == Some(name));
                assert!(asked.is_some(), "{}: {name} is not asked for", form.request);
            }
        }
    }
}
