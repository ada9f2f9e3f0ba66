//! The page on which an engine is stated: begins a job, or changes a job's engine.

use axum::extract::{Extension, Form as Sent, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use benchhand_blueprint::engine::{EngineText, EngineValue, template};
use benchhand_pages::form::FilledFields;
use benchhand_pages::{
    EngineOf, EngineSheet, FormOutcome, Page, PageSection, address, sheet_filled, sheet_of,
};
use benchhand_wire::{Ask, NewJob, ReadEngine, Reason, Refusal, SetEngine};
use serde_json::json;

use super::sent::{has_key, may_ask};
use super::{Visit, html, status_of};
use crate::api::passes::Guest;
use crate::api::{Shared, new_key};
use crate::known::shop_name::ShopUsual;

/// The name of the file in messages about what was typed here.
const FILE: &str = "the engine file";

/// The page that begins a job.
pub(super) fn begin(visit: &Visit) -> Result<Page, Refusal> {
    let usual = visit.desk.usual();
    let text = template(None, "", usual.metric);
    let sheet = sheet_of(&with_units(&text, &usual));
    let of = EngineOf::NewJob(String::new());
    Ok(page(visit, &of, &sheet, &new_key()?, None))
}

/// An engine file that states the units in which the shop thinks, where they are not those that go
/// with its lengths.
fn with_units(text: &str, usual: &ShopUsual) -> String {
    let Ok(mut text) = EngineText::new(text) else {
        return text.to_owned();
    };
    let units = [
        ("flow.pressure_unit", usual.pressure_unit),
        ("flow.flow_unit", usual.flow_unit),
    ];
    for (key, unit) in units {
        if let Some(unit) = unit {
            text.set(key, Some(&EngineValue::Text(unit.symbol().to_owned())));
        }
    }
    text.as_str().to_owned()
}

/// The page of a job's engine.
pub(super) fn change(visit: &Visit) -> Result<Page, Refusal> {
    let job = visit.part("job").to_owned();
    let found = visit.desk.ask(ReadEngine { job: job.clone() })?;
    let sheet = sheet_of(&found.text);
    let edited = found.edited.then(|| {
        Refusal::new(
            Reason::Conflict,
            "engine.toml was edited in the job's folder, and the edit is not loaded yet",
        )
        .todo("the edit is shown here; keep it to load it")
    });
    let of = EngineOf::Job(job, found.hash);
    Ok(page(visit, &of, &sheet, &new_key()?, edited.as_ref()))
}

fn page(
    visit: &Visit,
    of: &EngineOf,
    sheet: &EngineSheet,
    key: &str,
    refusal: Option<&Refusal>,
) -> Page {
    let (title, section) = match of {
        EngineOf::NewJob(_) => ("Begin a job".to_owned(), PageSection::Jobs),
        EngineOf::Job(job, _) => (format!("Engine of {job}"), PageSection::Engine),
    };
    let mut frame = visit.frame(title, section);
    if matches!(of, EngineOf::NewJob(_)) {
        frame.job = None;
    }
    benchhand_pages::engine(&frame, of, sheet, key, refusal)
}

/// Begins a job, or shows what was filled in.
pub(super) async fn send_new(
    state: State<Shared>,
    guest: Extension<Guest>,
    Sent(filled): Sent<FilledFields>,
) -> Response {
    send(state, guest, None, filled).await
}

/// Replaces a job's engine, or shows what was filled in.
pub(super) async fn send_change(
    state: State<Shared>,
    guest: Extension<Guest>,
    Path(job): Path<String>,
    Sent(filled): Sent<FilledFields>,
) -> Response {
    send(state, guest, Some(job), filled).await
}

async fn send(
    State(shared): State<Shared>,
    Extension(guest): Extension<Guest>,
    job: Option<String>,
    filled: FilledFields,
) -> Response {
    let work = move || sent(&shared, guest, job, &filled);
    match tokio::task::spawn_blocking(work).await {
        Ok(response) => response,
        Err(error) => {
            tracing::error!(%error, "the page of an engine panicked");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

fn sent(shared: &Shared, guest: Guest, job: Option<String>, filled: &FilledFields) -> Response {
    let visit = Visit {
        desk: std::sync::Arc::clone(&shared.desk),
        path: job
            .iter()
            .map(|job| ("job".to_owned(), job.clone()))
            .collect(),
        query: filled.iter().cloned().collect(),
        guest,
        told: None,
    };
    let field = |name: &str| visit.field(name).unwrap_or_default().to_owned();
    let of = match job {
        Some(job) => EngineOf::Job(job, field("hash")),
        None => EngineOf::NewJob(folder_name(&field("job"))),
    };
    let sheet = sheet_filled(filled);
    let key = field("key");
    if visit.field("do") != Some("keep") {
        return html(StatusCode::OK, page(&visit, &of, &sheet, &key, None));
    }
    let sure = visit.field("sure") == Some("yes");
    match keep(shared, guest, &of, &sheet, (&key, sure)) {
        Ok((job, text)) => {
            shared.told.put(&key, FormOutcome { text });
            let back = format!("{}?told={}", address::job(&job), address::part(&key));
            Redirect::to(&back).into_response()
        }
        // What was refused was not done, so that the next sending is another request.
        Err(refusal) => match new_key() {
            Ok(key) => {
                let shown = page(&visit, &of, &sheet, &key, Some(&refusal));
                html(status_of(&refusal), shown)
            }
            Err(refusal) => crate::api::refuse(&refusal),
        },
    }
}

/// The name of a job as its folder can have it: each run of blanks becomes a hyphen.
fn folder_name(typed: &str) -> String {
    typed.split_whitespace().collect::<Vec<_>>().join("-")
}

/// Refuses sizes that look like a slip until a person says that they are right. What was odd about a
/// job's engine before is not asked about again.
fn doubted(shared: &Shared, of: &EngineOf, sheet: &EngineSheet, sure: bool) -> Result<(), Refusal> {
    let before = match of {
        EngineOf::NewJob(_) => Vec::new(),
        EngineOf::Job(job, _) => {
            let found = shared.desk.ask(ReadEngine { job: job.clone() })?;
            sheet_of(&found.text).doubts
        }
    };
    let mut new = sheet.doubts.iter().filter(|doubt| !before.contains(doubt));
    match new.next().filter(|_| !sure) {
        None => Ok(()),
        Some(doubt) => Err(Refusal::new(Reason::BadInput, doubt.clone())
            .expected("a second look: a slip here is in every figure")
            .todo("correct it, or tick “The sizes are right” and press again; nothing was kept")),
    }
}

/// Carries the page out. Returns the job, and what was done in one sentence.
fn keep(
    shared: &Shared,
    guest: Guest,
    of: &EngineOf,
    sheet: &EngineSheet,
    (key, sure): (&str, bool),
) -> Result<(String, String), Refusal> {
    has_key(key)?;
    if let Some(field) = sheet.fields.iter().find(|field| field.unwritten) {
        let found = format!("{}: {}", field.asked.label, field.fault);
        return Err(Refusal::new(Reason::BadInput, found).todo("correct it; nothing was kept"));
    }
    let request = match of {
        EngineOf::NewJob(_) => NewJob::PATH,
        EngineOf::Job(..) => SetEngine::PATH,
    };
    may_ask(guest, request, "this")?;
    doubted(shared, of, sheet, sure)?;
    match of {
        EngineOf::NewJob(name) => {
            if name.is_empty() {
                return Err(Refusal::new(Reason::BadInput, "the job has no name")
                    .expected("a name, which becomes that of its folder"));
            }
            let body = json!({ "name": name, "engine": sheet.text_for(name), "file": FILE });
            shared.desk.dispatch(request, body, Some(key))?;
            Ok((name.clone(), format!("The job is begun as {name}.")))
        }
        EngineOf::Job(job, hash) => {
            let mut body = json!({ "job": job, "engine": sheet.text_for(job), "file": FILE });
            if !hash.is_empty() {
                body["base"] = hash.as_str().into();
            }
            shared.desk.dispatch(request, body, Some(key))?;
            Ok((job.clone(), "The engine is kept.".to_owned()))
        }
    }
}
