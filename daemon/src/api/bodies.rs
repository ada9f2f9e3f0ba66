//! Bodies of requests: read whole before anything looks at them, up to a size and within a time.

use std::time::Duration;

use axum::body::{Body, Bytes, to_bytes};
use axum::extract::Request;
use axum::http::{StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;
use benchhand_pages::address::UNPACK;
use benchhand_wire::{API, Ask, Reason, Refusal, UnpackJob};
use futures_util::StreamExt;

use super::passes::Guest;

/// The largest body: a notebook of some hundred thousand rows.
pub(super) const LARGEST: usize = 16 << 20;
/// The largest body with the archive of a job, at the machine itself.
const LARGEST_WITH_ARCHIVE: usize = 1 << 30;
/// How much of a body that is too large is taken in, so that its sender sees why it was refused.
const MOST_PASSED_OVER: usize = 8 * LARGEST;
/// How long a body may take to come.
pub(super) const WITHIN: Duration = Duration::from_secs(30);

/// Hands a request on with its whole body, or refuses it.
pub(super) async fn whole(request: Request, next: Next) -> Response {
    let most = most_of(&request);
    let (head, body) = request.into_parts();
    let said = head.headers.get(header::CONTENT_LENGTH);
    let said = said.and_then(|length| length.to_str().ok()?.parse().ok());
    match read(body, said, most).await {
        Ok(body) => next.run(Request::from_parts(head, Body::from(body))).await,
        Err(refused) => *refused,
    }
}

/// The largest body that a request may have. A paired device sends nothing large, whatever it asks
/// for.
pub(super) fn most_of(request: &Request) -> usize {
    let asked = request.uri().path().trim_start_matches('/');
    let asked = asked
        .strip_prefix(API)
        .map(|path| path.trim_start_matches('/'));
    let paired = request.extensions().get::<Guest>() == Some(&Guest::Paired);
    let archive = asked == Some(UnpackJob::PATH) || request.uri().path() == UNPACK;
    match archive && !paired {
        true => LARGEST_WITH_ARCHIVE,
        false => LARGEST,
    }
}

/// A body of this length, where it was said, and of `most` bytes.
pub(super) async fn read(
    body: Body,
    said: Option<usize>,
    most: usize,
) -> Result<Bytes, Box<Response>> {
    let refused = |status: StatusCode, refusal: Refusal| Box::new(super::json(status, &refusal));
    let too_large = || {
        let found = match said {
            Some(length) => format!("the request's body has {length} bytes"),
            None => format!("the request's body has more than {most} bytes"),
        };
        let refusal = Refusal::new(Reason::BadInput, found)
            .expected(format!("at most {most} bytes"))
            .todo("part the file and send its parts one after another");
        refused(StatusCode::PAYLOAD_TOO_LARGE, refusal)
    };
    if said.is_some_and(|length| length > most) {
        // A client that still sends would not see the answer.
        let _ = tokio::time::timeout(WITHIN, pass_over(body)).await;
        return Err(too_large());
    }
    match tokio::time::timeout(WITHIN, to_bytes(body, most)).await {
        Ok(Ok(body)) => Ok(body),
        Ok(Err(error)) if is_too_large(&error) => Err(too_large()),
        Ok(Err(error)) => {
            let found = format!("the request's body broke off: {error}");
            let refusal = Refusal::new(Reason::BadInput, found);
            Err(refused(StatusCode::BAD_REQUEST, refusal))
        }
        Err(_) => {
            let found = format!(
                "the request's body did not come within {} s",
                WITHIN.as_secs()
            );
            let refusal = Refusal::new(Reason::BadInput, found);
            Err(refused(StatusCode::REQUEST_TIMEOUT, refusal))
        }
    }
}

/// Takes a body in, piece by piece, and keeps nothing of it.
async fn pass_over(body: Body) {
    let mut pieces = body.into_data_stream();
    let mut seen = 0;
    while let Some(Ok(piece)) = pieces.next().await {
        seen += piece.len();
        if seen > MOST_PASSED_OVER {
            return;
        }
    }
}

fn is_too_large(error: &axum::Error) -> bool {
    use std::error::Error as _;
    error
        .source()
        .is_some_and(|source| source.to_string().contains("length limit exceeded"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_an_archive_at_the_machine_itself_may_be_larger() {
        let most = |path: &str, guest: Option<Guest>| {
            let mut request = Request::new(Body::empty());
            *request.uri_mut() = path.parse().unwrap();
            if let Some(guest) = guest {
                request.extensions_mut().insert(guest);
            }
            most_of(&request)
        };
        let unpack = "/v1/jobs/unpack";
        assert_eq!(most(unpack, None), LARGEST_WITH_ARCHIVE);
        assert_eq!(most(unpack, Some(Guest::Page)), LARGEST_WITH_ARCHIVE);
        assert_eq!(most(unpack, Some(Guest::Paired)), LARGEST);
        assert_eq!(most(UNPACK, Some(Guest::Page)), LARGEST_WITH_ARCHIVE);
        assert_eq!(most(UNPACK, Some(Guest::Paired)), LARGEST);
        for other in [
            "/v1/jobs/pack",
            "/v1/readings/import",
            "/forms/jobs/unpack",
            "/",
        ] {
            assert_eq!(most(other, None), LARGEST, "{other}");
        }
        let carried = benchhand_wire::LARGEST_ARCHIVE.div_ceil(3) * 4;
        assert!(
            carried + (1 << 20) < LARGEST_WITH_ARCHIVE as u64,
            "the largest fits"
        );
    }
}
