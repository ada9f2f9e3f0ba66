//! The guide and its pictures, as the executable holds them.

use std::collections::HashMap;

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use benchhand_pages::guide::{GuidePage, PAGES, PICTURES, guide};
use benchhand_pages::{Page, PageSection};
use benchhand_wire::{Reason, Refusal};

use super::Visit;

pub(super) fn front(visit: &Visit) -> Result<Page, Refusal> {
    named(visit, "")
}

pub(super) fn page(visit: &Visit) -> Result<Page, Refusal> {
    named(visit, visit.part("page"))
}

fn named(visit: &Visit, name: &str) -> Result<Page, Refusal> {
    let found = PAGES.iter().find(|page| page.name == name);
    let page: &GuidePage = found.ok_or_else(|| {
        Refusal::new(
            Reason::NotFound,
            format!("the guide has no page called {name:?}"),
        )
        .todo("`Guide` leads to all of them")
    })?;
    let frame = visit.frame(page.title, PageSection::Guide);
    Ok(guide(&frame, page))
}

/// Answers a picture.
pub(super) async fn picture(Path(path): Path<HashMap<String, String>>) -> Response {
    let name = path.get("picture").map_or("", String::as_str);
    match PICTURES.iter().find(|picture| picture.name == name) {
        Some(picture) => {
            let headers = [
                (header::CONTENT_TYPE, "image/png"),
                (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
                (header::CACHE_CONTROL, "no-store"),
            ];
            (StatusCode::OK, headers, picture.bytes).into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}
