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
        "/board/states.css",
        STYLE,
        include_str!("../../board/states.css"),
    ),
    (
        "/board/units.js",
        SCRIPT,
        include_str!("../../board/units.js"),
    ),
    ("/board/now.js", SCRIPT, include_str!("../../board/now.js")),
    (
        "/board/next.js",
        SCRIPT,
        include_str!("../../board/next.js"),
    ),
    (
        "/board/trace.js",
        SCRIPT,
        include_str!("../../board/trace.js"),
    ),
    ("/board/fit.js", SCRIPT, include_str!("../../board/fit.js")),
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
        "/board/words.js",
        SCRIPT,
        include_str!("../../board/words.js"),
    ),
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

    /// A factor as the script writes it: a number, or one over another.
    fn factor(text: &str) -> f64 {
        let number = |text: &str| -> f64 { text.trim().parse().expect("a number") };
        match text.split_once('/') {
            Some((over, under)) => number(over) / number(under),
            None => number(text),
        }
    }

    #[test]
    fn the_boards_units_are_those_of_the_table() {
        let (_, script, text) = FILES
            .iter()
            .find(|(path, ..)| *path == "/board/units.js")
            .expect("it is served");
        assert_eq!(*script, SCRIPT);
        let table = text.split("IN_BASE = {").nth(1).expect("the table");
        let table = table.split("\n};").next().expect("its end");
        let mut compared = 0;
        for row in table.lines().filter_map(|line| line.split_once('{')) {
            let (units, _) = row.1.split_once('}').expect("one row a kind");
            for (name, value) in units.split(", ").filter_map(|pair| pair.split_once(':')) {
                let name = name.trim().trim_matches('\'');
                let unit: benchhand_blueprint::Unit = name.parse().expect(name);
                let (here, there) = (factor(value), unit.to_base(1.0));
                assert!(
                    (here / there - 1.0).abs() < 1e-12,
                    "{name}: {here}, {there}"
                );
                compared += 1;
            }
        }
        assert!(compared >= 20, "{compared} units were compared");
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
