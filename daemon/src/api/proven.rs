//! Proofs over HTTP: the daemon's own, those of requests, and those of answers.
//!
//! What a proof covers is the business of `daemon/proof`. Here bodies are read whole before they are
//! believed, and answers are whole before they are proven.

use axum::body::{Body, to_bytes};
use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;
use benchhand_proof::{PROOF_HEADER, RequestProof, RequestSaid, Secret};
use benchhand_wire::{KEY_HEADER, Reason, Refusal, TOKEN_HEADER};

use super::bodies;
use super::heads::text;

/// What a door knows of the credentials of this run.
#[derive(Debug, Clone)]
pub(crate) struct Credentials {
    token: String,
    secret: Secret,
    /// The number of this run; no request of another run is taken.
    run: String,
}

impl Credentials {
    /// The credentials of a run with this token.
    ///
    /// # Errors
    /// Where the system gives no random bytes.
    pub(crate) fn of_token(token: &str) -> Result<Credentials, Refusal> {
        Ok(Credentials {
            token: token.to_owned(),
            secret: Secret::of_token(token),
            run: super::passes::secret()?,
        })
    }

    /// The number of the run, and the daemon's proof over a client's number.
    pub(super) fn of_daemon(&self, nonce: &str, address: &str) -> (&str, String) {
        let proof = self.secret.of_daemon(nonce, &self.run, address);
        (&self.run, proof)
    }

    /// Whether an `authorization` header carries the token itself, as other programs send it.
    pub(super) fn is_token(&self, header: &str) -> bool {
        let given = header.strip_prefix("Bearer ");
        // Hashes are compared, so that the time taken tells nothing of how much was right.
        given.is_some_and(|given| {
            blake3::hash(given.as_bytes()) == blake3::hash(self.token.as_bytes())
        })
    }

    /// The proof that a request carries, where it fits the request's head.
    pub(super) fn proof_of(&self, request: &Request) -> Option<RequestProof> {
        let headers = request.headers();
        let proof = RequestProof::parse(text(headers, TOKEN_HEADER)?)?;
        let said = RequestSaid {
            run: &self.run,
            method: request.method().as_str(),
            path: request.uri().path_and_query()?.as_str(),
            key: text(headers, KEY_HEADER).unwrap_or_default(),
        };
        self.secret.is_of_request(&proof, &said).then_some(proof)
    }

    /// Answers a request whose head was proven, once its body is the one that was.
    pub(super) async fn answer(
        &self,
        proof: &RequestProof,
        request: Request,
        next: Next,
    ) -> Response {
        let most = bodies::most_of(&request);
        let (head, body) = request.into_parts();
        let said = text(&head.headers, header::CONTENT_LENGTH.as_str());
        let said = said.and_then(|length| length.parse().ok());
        let answer = match bodies::read(body, said, most).await {
            Ok(body) if proof.is_of_body(&body) => {
                next.run(Request::from_parts(head, Body::from(body))).await
            }
            // What was not proven gets no proof either.
            Ok(_) => {
                let found = "the request's body is not the one that was proven";
                return super::refuse(&Refusal::new(Reason::Unauthorised, found));
            }
            Err(refused) => *refused,
        };
        self.proven(proof, answer).await
    }

    async fn proven(&self, request: &RequestProof, answer: Response) -> Response {
        let (mut head, body) = answer.into_parts();
        let kind = text(&head.headers, header::CONTENT_TYPE.as_str()).unwrap_or_default();
        let (proof, body) = if kind.starts_with("text/event-stream") {
            (self.secret.of_stream(request), body)
        } else {
            match to_bytes(body, usize::MAX).await {
                Ok(body) => {
                    let status = head.status.as_u16();
                    let proof = self.secret.of_answer(request, status, &body);
                    (proof, Body::from(body))
                }
                Err(error) => {
                    tracing::error!(%error, "an answer broke off");
                    head.status = StatusCode::INTERNAL_SERVER_ERROR;
                    (String::new(), Body::empty())
                }
            }
        };
        if let Ok(proof) = HeaderValue::from_str(&proof) {
            head.headers.insert(PROOF_HEADER, proof);
        }
        Response::from_parts(head, body)
    }
}
