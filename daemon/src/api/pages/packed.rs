//! Files made of a job: all of it as one file, for whoever sits at the machine, and its workbook.

use std::collections::HashMap;
use std::io::{self, BufWriter, Write};
use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::extract::{Extension, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodRouter, get};
use benchhand_wire::{JobReport, PackJob, Reason, Refusal, ShowJob};
use benchhand_workbook::WorkbookContent;

use super::shown::report_in;
use super::{Visit, html, refused};
use crate::api::Shared;
use crate::api::passes::Guest;
use crate::store::archive::pack::Packing;

/// A file's name, and its bytes.
type MadeFile = (String, Vec<u8>);

/// A route that answers the archive as a file to be kept, piece by piece: it is never held as a whole.
pub(super) fn archives() -> MethodRouter<Shared> {
    get(
        |State(shared): State<Shared>,
         Extension(guest): Extension<Guest>,
         Path(path): Path<HashMap<String, String>>,
         Query(query): Query<HashMap<String, String>>| async move {
            let visit = visit_of(shared, guest, path, query);
            match tokio::task::spawn_blocking(move || archive(&visit)).await {
                Ok(response) => response,
                Err(error) => panicked(&error),
            }
        },
    )
}

/// A route that answers the workbook as a file to be kept.
pub(super) fn workbooks() -> MethodRouter<Shared> {
    attaches(WORKBOOK, of_workbook)
}

fn attaches(
    media: &'static str,
    make: fn(&Visit) -> Result<MadeFile, Refusal>,
) -> MethodRouter<Shared> {
    get(
        move |State(shared): State<Shared>,
              Extension(guest): Extension<Guest>,
              Path(path): Path<HashMap<String, String>>,
              Query(query): Query<HashMap<String, String>>| async move {
            let visit = visit_of(shared, guest, path, query);
            attached(visit, media, make).await
        },
    )
}

fn visit_of(
    shared: Shared,
    guest: Guest,
    path: HashMap<String, String>,
    query: HashMap<String, String>,
) -> Visit {
    Visit {
        desk: shared.desk,
        path,
        query,
        guest,
        told: None,
    }
}

/// The media type of a workbook (ISO/IEC 29500).
const WORKBOOK: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// Makes a file where blocking on the disk is allowed; a refusal is a page.
async fn attached(
    visit: Visit,
    media: &'static str,
    make: fn(&Visit) -> Result<MadeFile, Refusal>,
) -> Response {
    let made = move || make(&visit).map_err(|refusal| refused(&visit, &refusal));
    match tokio::task::spawn_blocking(made).await {
        Ok(Ok((name, bytes))) => (StatusCode::OK, headers(media, &name), bytes).into_response(),
        Ok(Err((status, page))) => html(status, page),
        Err(error) => panicked(&error),
    }
}

fn headers(media: &str, name: &str) -> [(header::HeaderName, String); 4] {
    [
        (header::CONTENT_TYPE, media.to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("attachment; filename=\"{name}\""),
        ),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff".to_owned()),
        (header::CACHE_CONTROL, "no-store".to_owned()),
    ]
}

fn panicked(error: &tokio::task::JoinError) -> Response {
    tracing::error!(%error, "making a file panicked");
    StatusCode::INTERNAL_SERVER_ERROR.into_response()
}

fn of_workbook(visit: &Visit) -> Result<MadeFile, Refusal> {
    let job = visit.part("job").to_owned();
    let answer = visit.desk.ask(JobReport {
        job: job.clone(),
        stage: visit.field("stage").map(str::to_owned),
    })?;
    let report = report_in(answer.document)?;
    let readings = visit.desk.ask(ShowJob { job: job.clone() })?.readings;
    let content = WorkbookContent {
        job: &job,
        report: &report,
        kept: answer.kept.as_deref(),
        readings: &readings,
    };
    let bytes = benchhand_workbook::workbook(&content).map_err(|error| {
        let found = format!("no workbook can be made of this job: {error}");
        Refusal::new(Reason::BadInput, found)
    })?;
    Ok((format!("{job}.xlsx"), bytes))
}

/// The archive. A refusal is a page; what goes wrong once the first bytes are under way breaks the
/// answer off, short of the length that was said.
fn archive(visit: &Visit) -> Response {
    let packing = match packing(visit) {
        Ok(packing) => packing,
        Err(refusal) => {
            let (status, page) = refused(visit, &refusal);
            return html(status, page);
        }
    };
    // A job's name is plain: it stands between quotation marks as it is.
    let name = format!("{}.tar", packing.manifest.job);
    let length = [(header::CONTENT_LENGTH, packing.length())];
    let (pieces, taken) = tokio::sync::mpsc::channel(2);
    let desk = Arc::clone(&visit.desk);
    tokio::task::spawn_blocking(move || {
        let piece = |pieces: &Pieces| BufWriter::with_capacity(PIECE, pieces.clone());
        let pieces = Pieces(pieces);
        if let Err(refusal) = desk.write_packed(&packing, piece(&pieces)) {
            tracing::warn!(%refusal, "an archive broke off");
            let broken = io::Error::other(refusal.found);
            // Nobody may be there any more to whom it matters.
            let _ = pieces.0.blocking_send(Err(broken));
        }
    });
    let body = Body::from_stream(tokio_stream::wrappers::ReceiverStream::new(taken));
    let headers = headers("application/x-tar", &name);
    (StatusCode::OK, headers, length, body).into_response()
}

/// How many bytes are sent at a time.
const PIECE: usize = 1 << 18;

/// Writes by sending on what is written.
#[derive(Clone)]
struct Pieces(tokio::sync::mpsc::Sender<io::Result<Bytes>>);

impl Write for Pieces {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let sent = self.0.blocking_send(Ok(Bytes::copy_from_slice(bytes)));
        sent.map_err(|_| io::Error::from(io::ErrorKind::BrokenPipe))?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn packing(visit: &Visit) -> Result<Packing, Refusal> {
    if visit.guest != Guest::Page {
        let found = "a paired device may not pack a job";
        return Err(Refusal::new(Reason::Unauthorised, found)
            .todo("do this on the machine that the gauges are plugged into"));
    }
    visit.desk.packing(&PackJob {
        job: visit.part("job").to_owned(),
        without_streams: visit.field("without_streams") == Some("yes"),
        path: None,
        work: None,
    })
}
