//! The local API and the pages: HTTP and server-sent events on loopback.
//!
//! Nothing is decided here: a request is let in or refused, handed to the [`Desk`], and its answer
//! or refusal handed back. The meaning of requests is not known here.

mod board;
mod bodies;
pub(crate) mod connections;
mod events;
mod fields;
mod gate;
mod guard;
mod heads;
mod openapi;
mod pages;
mod passes;
mod prove;
mod proven;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use axum::Router;
use axum::body::Bytes;
use axum::extract::{Extension, Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use benchhand_wire::{API, Carry, EVENTS, KEY_HEADER, Reason, Refusal};
use serde_json::Value;

use crate::desk::Desk;
use crate::known::giving_up;
pub(crate) use gate::Gate;
pub(crate) use guard::Door;
pub(crate) use passes::{Guest, Passes};
pub(crate) use proven::Credentials;
use tokio::sync::watch;

/// What the handlers share.
#[derive(Clone)]
struct Shared {
    desk: Arc<Desk>,
    /// Becomes true when this door closes; event streams end with it.
    closed: watch::Receiver<bool>,
    /// What became of forms, for the pages that come after them.
    told: Arc<pages::ToldLater>,
}

/// A write key that nobody used before.
fn new_key() -> Result<String, Refusal> {
    passes::secret()
}

/// Resolves once the door is to close.
async fn closed(mut closed: watch::Receiver<bool>) {
    // If the sender is gone, the door closes as well.
    let _ = closed.wait_for(|closed| *closed).await;
}

/// The API's routes and the board page behind `door`, until `closed` becomes true.
pub(crate) fn router(desk: Arc<Desk>, door: Door, closed: watch::Receiver<bool>) -> Router {
    let told = Arc::default();
    let shared = Shared { desk, closed, told };
    let door = Arc::new(door);
    Router::new()
        .route(&format!("/{API}/{EVENTS}"), get(events::stream))
        .route(
            &format!("/{API}/{{*path}}"),
            get(question).post(change).fallback(no_method),
        )
        .route(
            "/openapi.json",
            get(|| async { json(StatusCode::OK, &openapi::document()) }),
        )
        .route("/schemas/{name}", get(openapi::schema))
        .layer(axum::extract::DefaultBodyLimit::disable())
        .layer(axum::middleware::from_fn(bodies::whole))
        .layer(axum::middleware::from_fn_with_state(
            Arc::clone(&door),
            guard::admit,
        ))
        .merge(prove::route(Arc::clone(&door)))
        .merge(pages::routes(Arc::clone(&door)))
        .merge(board::routes(door))
        .with_state(shared)
}

async fn question(
    State(shared): State<Shared>,
    Path(path): Path<String>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Response {
    match fields::of_query(pairs) {
        Ok(body) => answer(shared, path, Carry::Question, body, None).await,
        Err(refusal) => refuse(&refusal),
    }
}

/// A method that no request has.
async fn no_method(Path(path): Path<String>) -> Response {
    match Desk::carry_of(&path) {
        Some(carry) => not_allowed(&path, carry),
        None => refuse(&Desk::unknown(&path)),
    }
}

/// The refusal of a method; the header says which one is allowed.
fn not_allowed(path: &str, carry: Carry) -> Response {
    let method = match carry {
        Carry::Question => "GET",
        Carry::Inquiry | Carry::Change => "POST",
    };
    let found = format!("{path:?} asked by the wrong method");
    let refusal = Refusal::new(Reason::BadInput, found).expected(method);
    let allow = [(header::ALLOW, method)];
    (allow, json(StatusCode::METHOD_NOT_ALLOWED, &refusal)).into_response()
}

async fn change(
    State(shared): State<Shared>,
    Path(path): Path<String>,
    guest: Option<Extension<Guest>>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    if Desk::carry_of(&path) == Some(Carry::Question) {
        return not_allowed(&path, Carry::Question);
    }
    let key = headers
        .get(KEY_HEADER)
        .and_then(|v| v.to_str().ok())
        .map(str::to_owned);
    let carry = match Desk::carry_of(&path) {
        Some(Carry::Inquiry) => Carry::Inquiry,
        _ => Carry::Change,
    };
    let keyed = key
        .as_deref()
        .is_some_and(|k| !k.is_empty() && k.len() <= 200);
    if carry == Carry::Change && !keyed {
        return refuse(
            &Refusal::new(
                Reason::BadInput,
                format!("the request has no {KEY_HEADER} header"),
            )
            .expected("a key of 1 to 200 characters, new for each change")
            .todo("send the same key again only to repeat the same change"),
        );
    }
    match fields::of_body(&body) {
        Ok(body) => match Door::may_send(guest.map(|guest| guest.0), &path, &body) {
            Ok(()) => answer(shared, path, carry, body, key).await,
            Err(refusal) => refuse(&refusal),
        },
        Err(refusal) => refuse(&refusal),
    }
}

/// Requests read and write the disk, so they run where blocking is allowed.
async fn answer(
    shared: Shared,
    path: String,
    carry: Carry,
    body: Value,
    key: Option<String>,
) -> Response {
    if let Some(own) = Desk::carry_of(&path).filter(|own| *own != carry) {
        return not_allowed(&path, own);
    }
    // Dropped with this future when the client is gone.
    let asker = Asker::default();
    let gone = Arc::clone(&asker.gone);
    let work =
        move || giving_up::unless(gone, || shared.desk.dispatch(&path, body, key.as_deref()));
    match tokio::task::spawn_blocking(work).await {
        Ok(Ok(value)) => json(StatusCode::OK, &value),
        Ok(Err(refusal)) => refuse(&refusal),
        Err(e) => {
            tracing::error!(error = %e, "a request panicked");
            refuse(
                &Refusal::new(
                    Reason::Unavailable,
                    "the request ended in a fault of this program",
                )
                .todo("look at the daemon's log; what was acknowledged before is kept"),
            )
        }
    }
}

/// Whoever waits for an answer.
#[derive(Default)]
struct Asker {
    gone: Arc<AtomicBool>,
}

impl Drop for Asker {
    fn drop(&mut self) {
        self.gone.store(true, Ordering::Relaxed);
    }
}

fn refuse(refusal: &Refusal) -> Response {
    let status =
        StatusCode::from_u16(refusal.reason.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    json(status, refusal)
}

fn json(status: StatusCode, value: &impl serde::Serialize) -> Response {
    let headers = [
        (header::CONTENT_TYPE, "application/json"),
        (header::CACHE_CONTROL, "no-store"),
    ];
    match serde_json::to_vec(value) {
        Ok(bytes) => (status, headers, bytes).into_response(),
        Err(e) => (StatusCode::INTERNAL_SERVER_ERROR, e.to_string()).into_response(),
    }
}
