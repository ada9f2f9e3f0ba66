//! Which requests are let in: those with the token, a proof of it, or a page's pass, and with the Host and Origin
//! that a browser does not forge for a page from elsewhere.

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, header};
use axum::middleware::Next;
use axum::response::Response;
use benchhand_proof::RequestProof;
use benchhand_wire::{API, Ask as _, EVENTS, PackJob, Reason, Refusal, TOKEN_HEADER, UnpackJob};
use serde_json::Value;

use super::connections::Newcomer;
use super::heads::{cookie, text};
use super::passes::{Guest, Passes};
use super::proven::Credentials;

/// What a request must show at one door.
#[derive(Debug, Clone)]
pub(crate) struct Door {
    /// The credentials of this run; none at the door to the network, where no token is accepted.
    pub(crate) credentials: Option<Credentials>,
    /// The address at which the API listens.
    pub(crate) address: SocketAddr,
    /// The passes of pages and devices.
    pub(crate) passes: Arc<Passes>,
    /// Which guests this door lets in by a pass.
    pub(crate) guest: Guest,
}

/// The paths for a paired device: what the board needs, and nothing that changes the shop or lets
/// others in.
const FOR_PAIRED: [&str; 17] = [
    EVENTS,
    "hello",
    "state",
    "gauges",
    "gauges/minute",
    "jobs",
    "jobs/show",
    "jobs/engine",
    "jobs/report",
    "jobs/decide",
    "readings/enter",
    "routes",
    "routes/start",
    "routes/control",
    "readings/move",
    "readings/void",
    "conditions/set",
];

impl Door {
    /// The cookie that carries a page's pass. Browsers share cookies between ports, so without a
    /// name of its own each daemon on a machine would overwrite the other's.
    pub(crate) fn cookie(&self) -> String {
        format!("benchhand-{}", self.address.port())
    }

    /// Whether a name in `Host` is ours. Another name may resolve to this machine: a page elsewhere
    /// could point its own name here and read the answers. The door to the network accepts only a
    /// bare address, which no such page can have.
    fn host_is_ours(&self, host: &str) -> bool {
        let port = self.address.port();
        match self.guest {
            Guest::Page => [
                format!("127.0.0.1:{port}"),
                format!("localhost:{port}"),
                format!("[::1]:{port}"),
            ]
            .iter()
            .any(|ours| ours == host),
            Guest::Paired => host.rsplit_once(':').is_some_and(|(name, p)| {
                let bare = name.trim_start_matches('[').trim_end_matches(']');
                bare.parse::<IpAddr>().is_ok() && p == port.to_string()
            }),
        }
    }

    /// Refuses requests from a page elsewhere, or under a name that is not ours.
    pub(crate) fn place(&self, headers: &HeaderMap) -> Result<(), Refusal> {
        if headers.get_all(header::HOST).iter().count() > 1 {
            let found = "the request names two hosts";
            return Err(Refusal::new(Reason::Unauthorised, found).expected("one"));
        }
        let host = text(headers, header::HOST.as_str()).unwrap_or_default();
        if !self.host_is_ours(host) {
            return Err(Refusal::new(
                Reason::Unauthorised,
                format!("the request names host {host:?}"),
            )
            .expected(format!("{}", self.address)));
        }
        let elsewhere = |what: &str| {
            Refusal::new(
                Reason::Unauthorised,
                format!("the request comes from a page at {what:?}"),
            )
        };
        if let Some(origin) = text(headers, header::ORIGIN.as_str())
            && origin.strip_prefix("http://") != Some(host)
        {
            return Err(elsewhere(origin));
        }
        Ok(())
    }

    /// Refuses requests with a pass that may not come from our own page. A browser sends the cookie
    /// along whichever page asks, so a change must name its origin.
    fn page_asks(&self, method: &Method, headers: &HeaderMap) -> Result<(), Refusal> {
        let site = text(headers, "sec-fetch-site");
        let named = headers.contains_key(header::ORIGIN) || *method == Method::GET;
        if site.is_some_and(|s| s != "same-origin") || !named {
            return Err(Refusal::new(
                Reason::Unauthorised,
                "the request does not come from the board page itself",
            ));
        }
        Ok(())
    }

    /// The guest that asks for a page or sends a form. A page may be asked for by an address that a
    /// person typed; a form comes from a page of ours.
    ///
    /// # Errors
    /// Where the request has no pass of this door, or comes from elsewhere.
    pub(crate) fn visitor(&self, method: &Method, headers: &HeaderMap) -> Result<Guest, Refusal> {
        self.place(headers)?;
        let pass = cookie(headers, &self.cookie());
        let guest = pass.and_then(|pass| self.passes.guest(pass));
        if guest != Some(self.guest) {
            return Err(Refusal::new(
                Reason::Unauthorised,
                "this browser was not let in",
            ));
        }
        let typed = *method == Method::GET && text(headers, "sec-fetch-site") == Some("none");
        if !typed {
            self.page_asks(method, headers)?;
        }
        Ok(self.guest)
    }

    /// Whether a guest may send this body to the request at `path`. A route's text would replace one
    /// of the shop's, with its cautions; a path would have a page reach for any file of the machine.
    pub(crate) fn may_send(guest: Option<Guest>, path: &str, body: &Value) -> Result<(), Refusal> {
        let changes_shop = path == "routes/start" && !body["text"].is_null();
        if guest == Some(Guest::Paired) && changes_shop {
            let found = "a paired device may not bring a route of its own";
            return Err(Refusal::new(Reason::Unauthorised, found)
                .todo("start it once on the machine that the gauges are plugged into"));
        }
        let of_archives = [PackJob::PATH, UnpackJob::PATH].contains(&path);
        if guest.is_some() && of_archives && !body["path"].is_null() {
            let found = "a page names no file of this machine";
            return Err(Refusal::new(Reason::Unauthorised, found)
                .todo("send the file itself, or use the command line"));
        }
        Ok(())
    }

    /// Whether a guest may ask for the request at `path`.
    pub(crate) fn may_ask(guest: Guest, path: &str) -> bool {
        guest == Guest::Page || FOR_PAIRED.contains(&path)
    }

    /// Whether a request may be answered, and by what it is let in.
    fn admits(&self, request: &Request) -> Result<LetIn, Refusal> {
        let headers = request.headers();
        self.place(headers)?;
        if let Some(known) = &self.credentials {
            if text(headers, TOKEN_HEADER).is_some_and(|header| known.is_token(header)) {
                return Ok(LetIn::Token);
            }
            if let Some(proof) = known.proof_of(request) {
                return Ok(LetIn::Proof(proof));
            }
        }
        let pass = cookie(headers, &self.cookie());
        let guest = pass.and_then(|pass| self.passes.guest(pass));
        if guest != Some(self.guest) {
            return Err(
                Refusal::new(Reason::Unauthorised, "the request carries no valid token")
                    .expected(format!("{TOKEN_HEADER}: Bearer TOKEN, or the page's cookie"))
                    .todo("the token stands in daemon.json in the data folder; `benchhand board` opens the page"),
            );
        }
        self.page_asks(request.method(), headers)?;
        let path = request.uri().path().trim_start_matches('/');
        let asked = path.strip_prefix(API).map(|p| p.trim_start_matches('/'));
        let page = self.guest == Guest::Page;
        if !page && !asked.is_some_and(|a| Door::may_ask(self.guest, a)) {
            return Err(Refusal::new(
                Reason::Unauthorised,
                format!("a paired device may not ask for {path:?}"),
            )
            .todo("do this on the machine that the gauges are plugged into"));
        }
        Ok(LetIn::Pass(self.guest))
    }
}

/// By what a request is let in.
#[derive(Debug)]
enum LetIn {
    /// The token itself.
    Token,
    /// A proof of the token; the answer carries one too.
    Proof(RequestProof),
    /// The pass of a page or a device.
    Pass(Guest),
}

/// Notes that the connection of this request showed who it is.
pub(super) fn is_known(request: &Request) {
    if let Some(newcomer) = request.extensions().get::<Arc<Newcomer>>() {
        newcomer.leave();
    }
}

/// Lets a request in or refuses it.
pub(super) async fn admit(
    State(door): State<Arc<Door>>,
    mut request: Request,
    next: Next,
) -> Response {
    let admitted = door.admits(&request);
    if admitted.is_ok() {
        is_known(&request);
    }
    match (admitted, &door.credentials) {
        (Ok(LetIn::Proof(proof)), Some(known)) => known.answer(&proof, request, next).await,
        (Ok(let_in), _) => {
            if let LetIn::Pass(guest) = let_in {
                request.extensions_mut().insert(guest);
            }
            next.run(request).await
        }
        (Err(refusal), _) => super::refuse(&refusal),
    }
}

#[cfg(test)]
mod tests;
