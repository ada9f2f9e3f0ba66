//! The pages of the whole job, over HTTP: who may see one, which documents it is made of, and what
//! becomes of a form that is sent.
//!
//! A page is put together in `daemon/pages`, a document by the desk; neither knows HTTP.

mod begin;
mod decide;
mod engine;
mod enter;
mod forms;
mod gauges;
mod guide;
mod history;
mod listen;
mod multipart;
mod packed;
mod readings;
mod sent;
mod sheets;
mod shown;
mod told;
mod unpack;

use std::collections::HashMap;
use std::sync::Arc;

use axum::extract::{Extension, Path, Query, Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{MethodRouter, get, post};
use axum::{Router, middleware};
use benchhand_pages::{Page, PageFrame, PageSection, address};
use benchhand_wire::{Reason, Refusal};

use super::Shared;
use super::guard::Door;
use super::passes::Guest;
use crate::desk::Desk;
pub(super) use told::ToldLater;

/// A page loads nothing from elsewhere, has no script or style in its text, and sends its forms to
/// nobody else.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
    connect-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// A sheet is one file: its style stands in it and its pictures too. It runs nothing, and sends
/// nothing.
const SHEET_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; \
    base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// One visit of one page: what is asked for, and by whom.
struct Visit {
    desk: Arc<Desk>,
    /// The parts of the address that the route names.
    path: HashMap<String, String>,
    /// The fields behind `?`.
    query: HashMap<String, String>,
    guest: Guest,
    /// What became of the form that led here.
    told: Option<benchhand_pages::FormOutcome>,
}

/// Makes one page out of the desk's documents.
type Shows = fn(&Visit) -> Result<Page, Refusal>;

impl Visit {
    /// A part of the address.
    fn part(&self, name: &str) -> &str {
        self.path.get(name).map_or("", String::as_str)
    }

    /// A field behind `?`, where it is there and not empty.
    fn field(&self, name: &str) -> Option<&str> {
        let found = self.query.get(name).map(String::as_str);
        found.filter(|value| !value.is_empty())
    }

    fn frame(&self, title: impl Into<String>, section: PageSection) -> PageFrame {
        let job = self.path.get("job").or_else(|| self.query.get("job"));
        PageFrame {
            title: title.into(),
            section,
            job: job.filter(|name| !name.is_empty()).cloned(),
            told: self.told.clone(),
            at_the_machine: self.guest == Guest::Page,
        }
    }
}

/// The pages' routes, behind `door`.
pub(super) fn routes(door: Arc<Door>) -> Router<Shared> {
    Router::new()
        .route("/", get(|| async { Redirect::to(address::JOBS) }))
        .route(address::MEASURE, get(super::board::page))
        .route("/jobs", shows(shown::jobs))
        .route(
            address::NEW_JOB,
            shows(engine::begin).post(engine::send_new),
        )
        .route(address::UNPACK, shows(unpack::show).post(unpack::send))
        .route(address::SHOP, shows(shown::shop))
        .route("/jobs/{job}", shows(shown::job))
        .route(
            "/jobs/{job}/engine",
            shows(engine::change).post(engine::send_change),
        )
        .route("/jobs/{job}/report", shows(shown::report))
        .route("/gauges", shows(gauges::all))
        .route(address::MACHINE, shows(gauges::machine))
        .route("/gauges/{name}", shows(gauges::one))
        .route("/gauges/{name}/direction", shows(gauges::direction))
        .route(
            address::LISTEN,
            get(|| async { Redirect::to(address::GAUGES) }).post(listen::listen),
        )
        .route(address::BY_EYE, shows(listen::by_eye))
        .route(address::KEEP_FOUND, post(listen::keep))
        .route(
            "/jobs/{job}/begin/{route}",
            shows(begin::show).post(begin::send),
        )
        .route("/jobs/{job}/decide", shows(decide::all))
        .route("/jobs/{job}/decide/{question}", shows(decide::one))
        .route("/jobs/{job}/sheets", shows(sheets::all))
        .route("/jobs/{job}/sheets/{sheet}", opens(sheets::one))
        .route("/jobs/{job}/pack", packed::archives())
        .route("/jobs/{job}/workbook", packed::workbooks())
        .route("/jobs/{job}/record", shows(shown::record))
        .route(address::STUDY, shows(decide::study))
        .route("/jobs/{job}/history", shows(history::history))
        .route("/jobs/{job}/readings", shows(readings::all))
        .route("/jobs/{job}/readings/{id}", shows(readings::one))
        .route(address::GUIDE, shows(guide::front))
        .route("/guide/{page}", shows(guide::page))
        .route("/guide/pictures/{picture}", get(guide::picture))
        .route("/forms/{*request}", shows(forms::show).post(forms::send))
        .layer(axum::extract::DefaultBodyLimit::disable())
        .layer(middleware::from_fn(super::bodies::whole))
        .layer(middleware::from_fn_with_state(Arc::clone(&door), admit))
        .route("/enter", post(enter::enter).with_state(door))
}

/// Lets a visitor in, or shows where a code can be typed.
async fn admit(State(door): State<Arc<Door>>, mut request: Request, next: Next) -> Response {
    match door.visitor(request.method(), request.headers()) {
        Ok(guest) => {
            super::guard::is_known(&request);
            request.extensions_mut().insert(guest);
            next.run(request).await
        }
        Err(refusal) if refusal.reason == Reason::Unauthorised => {
            let back = request.uri().path_and_query().map_or("/", |at| at.as_str());
            let back = if request.method() == axum::http::Method::GET {
                back
            } else {
                "/"
            };
            html(
                StatusCode::UNAUTHORIZED,
                benchhand_pages::enter::enter("", back),
            )
        }
        Err(refusal) => super::refuse(&refusal),
    }
}

/// A route that shows a page.
fn shows(page: Shows) -> MethodRouter<Shared> {
    shows_under(page, POLICY)
}

/// A route that opens a sheet.
fn opens(sheet: Shows) -> MethodRouter<Shared> {
    shows_under(sheet, SHEET_POLICY)
}

fn shows_under(page: Shows, policy: &'static str) -> MethodRouter<Shared> {
    get(
        move |State(shared): State<Shared>,
              Extension(guest): Extension<Guest>,
              Path(path): Path<HashMap<String, String>>,
              Query(query): Query<HashMap<String, String>>| async move {
            let told = query.get("told").and_then(|key| shared.told.take(key));
            let visit = Visit {
                desk: shared.desk,
                path,
                query,
                guest,
                told,
            };
            answered(visit, page, policy).await
        },
    )
}

/// Makes a page where blocking on the disk is allowed.
async fn answered(visit: Visit, page: Shows, policy: &'static str) -> Response {
    let made = move || match page(&visit) {
        Ok(page) => (StatusCode::OK, page, policy),
        Err(refusal) => {
            let (status, page) = refused(&visit, &refusal);
            (status, page, POLICY)
        }
    };
    match tokio::task::spawn_blocking(made).await {
        Ok((status, page, policy)) => html_under(status, page, policy),
        Err(error) => {
            tracing::error!(%error, "a page panicked");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

/// A refusal as a page.
fn refused(visit: &Visit, refusal: &Refusal) -> (StatusCode, Page) {
    let frame = visit.frame("This cannot be shown", PageSection::Elsewhere);
    (
        status_of(refusal),
        benchhand_pages::refused(&frame, refusal),
    )
}

fn status_of(refusal: &Refusal) -> StatusCode {
    StatusCode::from_u16(refusal.reason.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
}

pub(super) fn html(status: StatusCode, page: Page) -> Response {
    html_under(status, page, POLICY)
}

fn html_under(status: StatusCode, page: Page, policy: &'static str) -> Response {
    let headers = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8"),
        (header::CONTENT_SECURITY_POLICY, policy),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::CACHE_CONTROL, "no-store"),
    ];
    match page {
        // What came from outside was escaped by the template; control characters are no markup.
        Ok(text) => {
            let text = benchhand_words::visible(&text).into_owned();
            (status, headers, text).into_response()
        }
        Err(error) => {
            tracing::error!(%error, "a page's template failed");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}
