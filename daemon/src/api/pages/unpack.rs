//! Takes a job in from a file that a form carries.

use axum::body::Bytes;
use axum::extract::{Extension, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use benchhand_pages::{FormOutcome, Page, PageSection, address};
use benchhand_wire::{Ask, Reason, Refusal, UnpackJob};

use super::multipart::{self, SentPart};
use super::sent::{has_key, may_ask};
use super::{Visit, html, status_of};
use crate::api::passes::Guest;
use crate::api::{Shared, new_key};

/// The page that takes a job in.
pub(super) fn show(visit: &Visit) -> Result<Page, Refusal> {
    Ok(page(visit, &new_key()?, "", None))
}

fn page(visit: &Visit, key: &str, name: &str, refusal: Option<&Refusal>) -> Page {
    let frame = visit.frame("Take a job in", PageSection::Jobs);
    benchhand_pages::unpack(&frame, key, name, refusal)
}

/// Takes the job in, once for each key.
pub(super) async fn send(
    State(shared): State<Shared>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    let kind = headers.get(header::CONTENT_TYPE);
    let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    let parts = multipart::parts(kind, &body);
    let work = move || sent(&shared, guest, &parts);
    match tokio::task::spawn_blocking(work).await {
        Ok(response) => response,
        Err(error) => {
            tracing::error!(%error, "taking a job in panicked");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

fn sent(shared: &Shared, guest: Guest, parts: &[SentPart]) -> Response {
    let visit = Visit {
        desk: std::sync::Arc::clone(&shared.desk),
        path: std::collections::HashMap::new(),
        query: std::collections::HashMap::new(),
        guest,
        told: None,
    };
    let part = |name: &str| parts.iter().find(|part| part.name == name);
    let text = |name: &str| {
        let part = part(name).map(|part| String::from_utf8_lossy(&part.bytes));
        part.map_or_else(String::new, |text| text.trim().to_owned())
    };
    let (key, name) = (text("key"), text("name"));
    match taken_in(shared, guest, part("archive"), &key, &name) {
        Ok(job) => {
            let text = format!("{job} is taken in.");
            shared.told.put(&key, FormOutcome { text });
            let back = format!("{}?told={}", address::job(&job), address::part(&key));
            Redirect::to(&back).into_response()
        }
        // What was refused was not done, so that the next sending is another request.
        Err(refusal) => match new_key() {
            Ok(key) => html(
                status_of(&refusal),
                page(&visit, &key, &name, Some(&refusal)),
            ),
            Err(refusal) => crate::api::refuse(&refusal),
        },
    }
}

/// The job's name, once it is here.
fn taken_in(
    shared: &Shared,
    guest: Guest,
    archive: Option<&SentPart>,
    key: &str,
    name: &str,
) -> Result<String, Refusal> {
    may_ask(guest, UnpackJob::PATH, "this")?;
    has_key(key)?;
    let archive = archive
        .filter(|part| !part.bytes.is_empty())
        .ok_or_else(|| {
            Refusal::new(Reason::BadInput, "no file came with the form")
                .expected("the file that “Pack this job” wrote")
        })?;
    let name = (!name.is_empty()).then_some(name);
    let sent = (&*archive.file, &*archive.bytes);
    shared.desk.take_in_sent(sent, name, key)
}
