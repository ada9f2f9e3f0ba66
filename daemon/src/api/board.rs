//! The board and the files that every page names.
//!
//! They hold no secret and are served to anybody who asks under the right name. Everything that the
//! board shows comes from the API, which asks for the page's pass.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Request, State};
use axum::http::header;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use super::guard::Door;

const PAGE: &str = "text/html; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const DRAWING: &str = "image/svg+xml";

/// Path, media type and text of each file of the page.
const FILES: &[(&str, &str, &str)] = &[
    (
        "/board/board.css",
        STYLE,
        include_str!("../../board/board.css"),
    ),
    (
        "/board/asked.css",
        STYLE,
        include_str!("../../board/asked.css"),
    ),
    (
        "/board/panels.css",
        STYLE,
        include_str!("../../board/panels.css"),
    ),
    (
        "/board/icon.svg",
        DRAWING,
        include_str!("../../board/icon.svg"),
    ),
    (
        "/board/main.js",
        SCRIPT,
        include_str!("../../board/main.js"),
    ),
    ("/board/api.js", SCRIPT, include_str!("../../board/api.js")),
    (
        "/board/state.js",
        SCRIPT,
        include_str!("../../board/state.js"),
    ),
    (
        "/board/show.js",
        SCRIPT,
        include_str!("../../board/show.js"),
    ),
    (
        "/board/engine.js",
        SCRIPT,
        include_str!("../../board/engine.js"),
    ),
    (
        "/board/asked.js",
        SCRIPT,
        include_str!("../../board/asked.js"),
    ),
    (
        "/board/entry.js",
        SCRIPT,
        include_str!("../../board/entry.js"),
    ),
    (
        "/board/panels.js",
        SCRIPT,
        include_str!("../../board/panels.js"),
    ),
    (
        "/board/sound.js",
        SCRIPT,
        include_str!("../../board/sound.js"),
    ),
];

/// The page loads nothing from elsewhere, contains no inline script, and cannot be framed by
/// another page.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
    connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const BOARD: &str = include_str!("../../board/index.html");

/// The board. What it shows comes from the API.
pub(super) async fn page() -> Response {
    file(PAGE, BOARD)
}

/// The routes of the files.
pub(super) fn routes<S: Clone + Send + Sync + 'static>(door: Arc<Door>) -> Router<S> {
    let files = FILES.iter().copied().chain(of_pages());
    let files = files.fold(Router::new(), |router, (path, kind, text)| {
        router.route(path, get(move || async move { file(kind, text) }))
    });
    files.layer(axum::middleware::from_fn_with_state(door, in_place))
}

/// The files that the pages name.
fn of_pages() -> impl Iterator<Item = (&'static str, &'static str, &'static str)> {
    let files = benchhand_pages::files::FILES.iter();
    files.map(|file| (file.address, file.kind, file.text))
}

fn file(kind: &'static str, text: &'static str) -> Response {
    let headers = [
        (header::CONTENT_TYPE, kind),
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-cache"),
    ];
    (headers, text).into_response()
}

/// Refuses requests that name another host or come from another page.
async fn in_place(State(door): State<Arc<Door>>, request: Request, next: Next) -> Response {
    match door.place(request.headers()) {
        Ok(()) => next.run(request).await,
        Err(refusal) => super::refuse(&refusal),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_names_only_files_that_are_served() {
        let served: Vec<&str> = FILES.iter().map(|(path, ..)| *path).collect();
        for (path, _, text) in FILES.iter().chain(&[("/measure", PAGE, BOARD)]) {
            for quoted in text.split(['"', '\'', '(', ')']) {
                let named = quoted.strip_prefix("./").map(|f| format!("/board/{f}"));
                let named = named.unwrap_or_else(|| quoted.to_owned());
                if named.starts_with("/board/") && named.contains('.') {
                    assert!(served.contains(&named.as_str()), "{path} names {named}");
                }
            }
        }
    }

    #[test]
    fn the_page_needs_no_internet() {
        for (path, _, text) in FILES.iter().chain(&[("/measure", PAGE, BOARD)]) {
            let outside = text.replace("http://www.w3.org/", "");
            assert!(!outside.contains("http://"), "{path}");
            assert!(!outside.contains("https://"), "{path}");
        }
    }
}
