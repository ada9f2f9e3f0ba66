//! The daemon proves to anyone on this machine that it knows its secret, before anything is said to it.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Query, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::get;
use benchhand_proof::PROVE;
use benchhand_wire::{API, Reason, Refusal};
use serde::Deserialize;

use super::guard::Door;

/// Longest number that a client may have the daemon prove itself over.
const LONGEST_NONCE: usize = 64;

/// The route at which the daemon proves that it knows the secret.
pub(super) fn route(door: Arc<Door>) -> Router<super::Shared> {
    Router::new()
        .route(&format!("/{API}/{PROVE}"), get(prove))
        .with_state(door)
}

#[derive(Deserialize)]
struct Asked {
    /// The client's number.
    nonce: String,
}

/// Answers anyone on this machine: the proof tells nothing of the secret, and is worth nothing for
/// another number or at another address.
async fn prove(
    State(door): State<Arc<Door>>,
    Query(asked): Query<Asked>,
    request: Request,
) -> Response {
    if let Err(refusal) = door.place(request.headers()) {
        return super::refuse(&refusal);
    }
    let Some(known) = &door.credentials else {
        let found = "nothing is proven at the door to the network";
        return super::refuse(&Refusal::new(Reason::NotFound, found));
    };
    if asked.nonce.is_empty() || asked.nonce.len() > LONGEST_NONCE {
        let refusal = Refusal::new(Reason::BadInput, "the nonce cannot be used")
            .expected(format!("1 to {LONGEST_NONCE} characters"));
        return super::refuse(&refusal);
    }
    let (run, proof) = known.of_daemon(&asked.nonce, &door.address.to_string());
    let answer = serde_json::json!({"run": run, "proof": proof});
    super::json(StatusCode::OK, &answer)
}
