//! Who is let in: the token, and the Host and Origin that a browser cannot forge for a page
//! from elsewhere.

use std::net::SocketAddr;
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::header;
use axum::middleware::Next;
use axum::response::Response;
use benchhand_wire::{Reason, Refusal, TOKEN_HEADER};

/// What a request must show to be let in.
#[derive(Debug, Clone)]
pub struct Door {
    /// The token of this run.
    pub token: String,
    /// Where the API listens.
    pub address: SocketAddr,
}

impl Door {
    /// A name in `Host` that resolves to loopback is refused unless it is one of ours: otherwise
    /// a page elsewhere could point its own name at this machine and read the answers.
    fn host_is_ours(&self, host: &str) -> bool {
        let port = self.address.port();
        [
            format!("127.0.0.1:{port}"),
            format!("localhost:{port}"),
            format!("[::1]:{port}"),
        ]
        .iter()
        .any(|ours| ours == host)
    }

    fn token_fits(&self, header: &str) -> bool {
        let Some(given) = header.strip_prefix("Bearer ") else {
            return false;
        };
        // Compared by hash, so that the time taken tells nothing of how much was right.
        blake3::hash(given.as_bytes()) == blake3::hash(self.token.as_bytes())
    }

    fn refusal(&self, request: &Request) -> Option<Refusal> {
        let text = |name: &str| request.headers().get(name).and_then(|v| v.to_str().ok());
        let host = text(header::HOST.as_str()).unwrap_or_default();
        if !self.host_is_ours(host) {
            return Some(
                Refusal::new(
                    Reason::Unauthorised,
                    format!("the request names host {host:?}"),
                )
                .expected(format!("{}", self.address)),
            );
        }
        if let Some(origin) = text(header::ORIGIN.as_str()) {
            let ours = origin
                .strip_prefix("http://")
                .is_some_and(|h| self.host_is_ours(h));
            if !ours {
                return Some(Refusal::new(
                    Reason::Unauthorised,
                    format!("the request comes from a page at {origin:?}"),
                ));
            }
        }
        if !text(TOKEN_HEADER).is_some_and(|t| self.token_fits(t)) {
            return Some(
                Refusal::new(Reason::Unauthorised, "the request carries no valid token")
                    .expected(format!("{TOKEN_HEADER}: Bearer TOKEN"))
                    .todo("the token stands in daemon.json in the data folder"),
            );
        }
        None
    }
}

/// Lets a request in, or refuses it.
pub(super) async fn admit(State(door): State<Arc<Door>>, request: Request, next: Next) -> Response {
    match door.refusal(&request) {
        None => next.run(request).await,
        Some(refusal) => super::refuse(&refusal),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::body::Body;

    fn door() -> Door {
        Door {
            token: "abc".to_owned(),
            address: "127.0.0.1:4711".parse().unwrap(),
        }
    }

    fn refused(headers: &[(&str, &str)]) -> bool {
        let mut request = Request::builder().uri("/v1/hello");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        door()
            .refusal(&request.body(Body::empty()).unwrap())
            .is_some()
    }

    #[test]
    fn the_right_token_and_host_are_let_in() {
        assert!(!refused(&[
            ("host", "127.0.0.1:4711"),
            ("authorization", "Bearer abc")
        ]));
        assert!(!refused(&[
            ("host", "localhost:4711"),
            ("origin", "http://localhost:4711"),
            ("authorization", "Bearer abc"),
        ]));
    }

    #[test]
    fn a_wrong_or_absent_token_a_foreign_host_and_a_foreign_page_are_not() {
        assert!(refused(&[("host", "127.0.0.1:4711")]));
        assert!(refused(&[
            ("host", "127.0.0.1:4711"),
            ("authorization", "Bearer abd")
        ]));
        assert!(refused(&[
            ("host", "evil.example:4711"),
            ("authorization", "Bearer abc")
        ]));
        assert!(refused(&[
            ("host", "127.0.0.1:4711"),
            ("origin", "http://evil.example"),
            ("authorization", "Bearer abc"),
        ]));
    }
}
