//! How a code becomes the cookie that lets a browser in.

use std::collections::HashMap;
use std::sync::Arc;
use std::time::Instant;

use axum::body::Bytes;
use axum::extract::{Form, FromRequest, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use benchhand_pages::address;
use benchhand_wire::{Reason, Refusal};

use super::html;
use crate::api::bodies;
use crate::api::guard::Door;

/// How long a browser keeps its pass, s. A browser that is closed in mid-evening and opened again is
/// let in; the daemon forgets the pass when it ends.
const A_DAY_S: u32 = 24 * 60 * 60;

/// The code that was sent, and the page to go on to; none where a script asks.
struct Sent {
    code: String,
    back: Option<String>,
}

/// Exchanges the one-time code in the body for the cookie. A code in an address could be logged,
/// fetched by a preview, or kept in a history.
pub(super) async fn enter(State(door): State<Arc<Door>>, request: Request) -> Response {
    if let Err(refusal) = from_our_page(&door, request.headers()) {
        return crate::api::refuse(&refusal);
    }
    // Nobody has shown yet who this is.
    let sent = match tokio::time::timeout(bodies::WITHIN, sent(request)).await {
        Ok(Ok(sent)) => sent,
        Ok(Err(response)) => return response,
        Err(_) => return StatusCode::REQUEST_TIMEOUT.into_response(),
    };
    match door.passes.redeem(&sent.code, door.guest, Instant::now()) {
        Ok(pass) => {
            let cookie = format!(
                "{}={pass}; Path=/; HttpOnly; SameSite=Strict; Max-Age={A_DAY_S}",
                door.cookie()
            );
            let cookie = [(header::SET_COOKIE, cookie)];
            match sent.back {
                Some(back) => (cookie, Redirect::to(&back)).into_response(),
                None => (StatusCode::NO_CONTENT, cookie).into_response(),
            }
        }
        Err(refusal) => match &sent.back {
            Some(back) => html(
                StatusCode::UNAUTHORIZED,
                benchhand_pages::enter::enter(&refusal.to_string(), back),
            ),
            None => crate::api::refuse(&refusal),
        },
    }
}

fn from_our_page(door: &Door, headers: &HeaderMap) -> Result<(), Refusal> {
    door.place(headers)?;
    if headers.contains_key(header::ORIGIN) {
        return Ok(());
    }
    Err(Refusal::new(
        Reason::Unauthorised,
        "the request names no origin",
    ))
}

/// A form's fields, or the code alone.
async fn sent(request: Request) -> Result<Sent, Response> {
    let kind = request.headers().get(header::CONTENT_TYPE);
    let is_form = kind.is_some_and(|kind| {
        kind.as_bytes()
            .starts_with(b"application/x-www-form-urlencoded")
    });
    if !is_form {
        let body = Bytes::from_request(request, &())
            .await
            .map_err(IntoResponse::into_response)?;
        let code = std::str::from_utf8(&body).unwrap_or_default().to_owned();
        return Ok(Sent { code, back: None });
    }
    let Form(mut fields) = Form::<HashMap<String, String>>::from_request(request, &())
        .await
        .map_err(IntoResponse::into_response)?;
    let back = fields.remove("back").filter(|back| address::is_ours(back));
    Ok(Sent {
        code: fields.remove("code").unwrap_or_default(),
        back: Some(back.unwrap_or_else(|| address::JOBS.to_owned())),
    })
}
