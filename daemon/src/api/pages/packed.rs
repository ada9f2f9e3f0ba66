//! Files made of a job: all of it as one file, for whoever sits at the machine, and its workbook.

use std::collections::HashMap;

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

/// A file's name, and its bytes.
type MadeFile = (String, Vec<u8>);

/// A route that answers the archive as a file to be kept.
pub(super) fn archives() -> MethodRouter<Shared> {
    attaches("application/x-tar", archive)
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
            let visit = Visit {
                desk: shared.desk,
                path,
                query,
                guest,
                told: None,
            };
            attached(visit, media, make).await
        },
    )
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
        Ok(Ok((name, bytes))) => {
            let headers = [
                (header::CONTENT_TYPE, media.to_owned()),
                (
                    header::CONTENT_DISPOSITION,
                    format!("attachment; filename=\"{name}\""),
                ),
                (header::X_CONTENT_TYPE_OPTIONS, "nosniff".to_owned()),
                (header::CACHE_CONTROL, "no-store".to_owned()),
            ];
            (StatusCode::OK, headers, bytes).into_response()
        }
        Ok(Err((status, page))) => html(status, page),
        Err(error) => {
            tracing::error!(%error, "making a file panicked");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
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

fn archive(visit: &Visit) -> Result<MadeFile, Refusal> {
    if visit.guest != Guest::Page {
        let found = "a paired device may not pack a job";
        return Err(Refusal::new(Reason::Unauthorised, found)
            .todo("do this on the machine that the gauges are plugged into"));
    }
    let ask = PackJob {
        job: visit.part("job").to_owned(),
        without_streams: visit.field("without_streams") == Some("yes"),
    };
    let packed = visit.desk.packed(&ask)?;
    // A job's name is plain: it stands between quotation marks as it is.
    Ok((format!("{}.tar", packed.manifest.job), packed.bytes))
}
