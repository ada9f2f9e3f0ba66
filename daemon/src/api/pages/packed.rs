//! A job as one file, for whoever sits at the machine.

use std::collections::HashMap;

use axum::extract::{Extension, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use benchhand_wire::{PackJob, Reason, Refusal};

use super::{Visit, html, refused};
use crate::api::Shared;
use crate::api::passes::Guest;

/// Answers the archive as a file to be kept.
pub(super) async fn file(
    State(shared): State<Shared>,
    Extension(guest): Extension<Guest>,
    Path(path): Path<HashMap<String, String>>,
    Query(query): Query<HashMap<String, String>>,
) -> Response {
    let visit = Visit {
        desk: shared.desk,
        path,
        query,
        guest,
        told: None,
    };
    let made = move || made(&visit).map_err(|refusal| refused(&visit, &refusal));
    match tokio::task::spawn_blocking(made).await {
        Ok(Ok((name, bytes))) => {
            let headers = [
                (header::CONTENT_TYPE, "application/x-tar".to_owned()),
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
            tracing::error!(%error, "packing a job panicked");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

fn made(visit: &Visit) -> Result<(String, Vec<u8>), Refusal> {
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
