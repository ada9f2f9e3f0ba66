//! Says nothing to a port before the daemon behind it proved itself, and believes no answer that is
//! not proven.
//!
//! A port names nobody: after a crash another user of the machine may listen there. So each request
//! is preceded by a number of our own, over which the daemon proves that it knows the token of
//! `daemon.json`. The token itself is never sent.

use std::time::Duration;

use benchhand_proof::{PROOF_HEADER, PROVE, RequestProof, RequestSaid, Secret};
use benchhand_wire::{API, KEY_HEADER, Reason, Refusal, TOKEN_HEADER};
use serde::Deserialize;
use ureq::http::Response;
use ureq::{Agent, Body};

/// Longest time for a connection on loopback, and for the daemon's proof.
pub(super) const PATIENCE: Duration = Duration::from_secs(2);

/// Size of the largest answer that is read, in bytes. A job of a hundred thousand readings has
/// some 50 MB.
const LARGEST: u64 = 1 << 30;

/// Size of the largest proof that is read, in bytes.
const LARGEST_PROOF: u64 = 1 << 12;

/// Who listens at one address, as far as it can prove to know the secret.
#[derive(Debug, Clone)]
pub(super) struct ProvenPeer {
    agent: Agent,
    pub(super) address: String,
    secret: Secret,
}

/// One request.
#[derive(Debug, Clone, Copy)]
pub(super) struct Said<'a> {
    pub(super) method: &'a str,
    /// The path below the API's version, with its query.
    pub(super) path: &'a str,
    pub(super) key: Option<&'a str>,
    /// JSON; `None` for a question.
    pub(super) body: Option<&'a [u8]>,
    /// The number of the last event that was seen.
    pub(super) after: Option<u64>,
}

/// An answer of the daemon.
#[derive(Debug)]
pub(super) struct ProvenAnswer {
    pub(super) status: u16,
    pub(super) body: Vec<u8>,
}

/// Why there is no answer of the daemon.
#[derive(Debug)]
pub(super) enum NoAnswer {
    /// Nobody answers.
    Unreachable(Box<ureq::Error>),
    /// Somebody answers and does not know the secret. Nothing was said to them.
    Stranger,
    /// An answer came without its proof.
    Unproven,
    /// The answer broke off.
    Broken(Box<ureq::Error>),
    /// The request could not be made.
    Unasked(Refusal),
}

impl NoAnswer {
    fn unreachable(error: ureq::Error) -> NoAnswer {
        NoAnswer::Unreachable(Box::new(error))
    }

    /// The refusal in words. `address` is where the daemon was asked.
    pub(super) fn refusal(self, address: &str) -> Refusal {
        let (found, todo) = match self {
            NoAnswer::Unasked(refusal) => return refusal,
            NoAnswer::Unreachable(error) => (
                format!("the daemon cannot be reached any more: {error}"),
                "what was acknowledged is kept; look with `benchhand job show` before you enter \
                 anything again",
            ),
            NoAnswer::Stranger => (
                format!("another program answers at {address}, not the daemon"),
                "nothing was sent to it; start the daemon again with `benchhand serve`, and look \
                 with `benchhand job show` at what was kept",
            ),
            NoAnswer::Unproven => (
                format!("what came from {address} is not the daemon's answer"),
                "do not take it for kept: look with `benchhand job show` at what was",
            ),
            NoAnswer::Broken(error) => (
                format!("the daemon's answer broke off: {error}"),
                "before you try again, check with `benchhand job show` what was kept",
            ),
        };
        Refusal::new(Reason::Unavailable, found).todo(todo)
    }
}

/// What the daemon proves itself with.
#[derive(Deserialize)]
struct DaemonSaid {
    run: String,
    proof: String,
}

impl ProvenPeer {
    /// Whoever listens at `address` (`127.0.0.1:PORT`), to be proven with the secret of this token.
    pub(super) fn new(address: &str, token: &str) -> ProvenPeer {
        let agent = Agent::config_builder()
            .http_status_as_error(false)
            .proxy(None) // Loopback never goes by a proxy, whatever the environment says.
            .max_redirects(0)
            .timeout_connect(Some(PATIENCE))
            .build()
            .new_agent();
        ProvenPeer {
            agent,
            address: address.to_owned(),
            secret: Secret::of_token(token),
        }
    }

    /// Sends a request to the daemon and gives its answer. `within` limits the time for it.
    pub(super) fn ask(
        &self,
        said: &Said<'_>,
        within: Option<Duration>,
    ) -> Result<ProvenAnswer, NoAnswer> {
        let (proof, mut response) = self.send(said, within)?;
        let status = response.status().as_u16();
        let given = proof_in(&response);
        let body = response.body_mut().with_config().limit(LARGEST);
        let body = body.read_to_vec();
        let body = body.map_err(|error| NoAnswer::Broken(Box::new(error)))?;
        if self.secret.is_of_answer(&given, &proof, status, &body) {
            Ok(ProvenAnswer { status, body })
        } else {
            Err(NoAnswer::Unproven)
        }
    }

    /// Opens a stream. It lasts as long as the daemon runs.
    pub(super) fn open(&self, said: &Said<'_>) -> Result<Result<Body, ProvenAnswer>, NoAnswer> {
        let (proof, mut response) = self.send(said, None)?;
        let given = proof_in(&response);
        if response.status().is_success() {
            return if self.secret.is_of_stream(&given, &proof) {
                Ok(Ok(response.into_body()))
            } else {
                Err(NoAnswer::Unproven)
            };
        }
        let status = response.status().as_u16();
        let body = response.body_mut().read_to_vec();
        let body = body.map_err(|error| NoAnswer::Broken(Box::new(error)))?;
        if self.secret.is_of_answer(&given, &proof, status, &body) {
            Ok(Err(ProvenAnswer { status, body }))
        } else {
            Err(NoAnswer::Unproven)
        }
    }

    fn send(
        &self,
        said: &Said<'_>,
        within: Option<Duration>,
    ) -> Result<(RequestProof, Response<Body>), NoAnswer> {
        let run = self.run_proven()?;
        let path = format!("/{API}/{}", said.path);
        let whole = RequestSaid {
            run: &run,
            method: said.method,
            path: &path,
            key: said.key.unwrap_or_default(),
        };
        let nonce = super::random_name().map_err(NoAnswer::Unasked)?;
        let body = said.body.unwrap_or_default();
        let proof = self.secret.of_request(&whole, &nonce, body);
        let mut request = ureq::http::Request::builder()
            .method(said.method)
            .uri(format!("http://{}{path}", self.address))
            .header(TOKEN_HEADER, proof.header());
        if let Some(key) = said.key {
            request = request.header(KEY_HEADER, key);
        }
        if let Some(id) = said.after {
            request = request.header("last-event-id", id.to_string());
        }
        let sent = match said.body {
            Some(body) => {
                let request = request.header("content-type", "application/json");
                self.run_request(request.body(body), within)
            }
            None => self.run_request(request.body(()), within),
        };
        Ok((proof, sent?))
    }

    fn run_request<B: ureq::AsSendBody>(
        &self,
        request: Result<ureq::http::Request<B>, ureq::http::Error>,
        within: Option<Duration>,
    ) -> Result<Response<Body>, NoAnswer> {
        let request = request.map_err(|error| NoAnswer::unreachable(error.into()))?;
        let limited = self.agent.configure_request(request);
        let limited = limited.timeout_global(within).build();
        self.agent.run(limited).map_err(NoAnswer::unreachable)
    }

    /// The number of the daemon's run, once it proved that it knows the secret.
    fn run_proven(&self) -> Result<String, NoAnswer> {
        let nonce = super::random_name().map_err(NoAnswer::Unasked)?;
        let url = format!("http://{}/{API}/{PROVE}?nonce={nonce}", self.address);
        let asked = self.agent.get(url).config();
        let asked = asked.timeout_global(Some(PATIENCE)).build();
        let mut response = asked.call().map_err(NoAnswer::unreachable)?;
        let said = response.body_mut().with_config().limit(LARGEST_PROOF);
        let said: Result<DaemonSaid, _> = said.read_json();
        let right = |said: &DaemonSaid| {
            let (proof, run) = (&said.proof, &said.run);
            self.secret.is_of_daemon(proof, &nonce, run, &self.address)
        };
        match said {
            Ok(said) if right(&said) => Ok(said.run),
            _ => Err(NoAnswer::Stranger),
        }
    }
}

fn proof_in(response: &Response<Body>) -> String {
    let given = response.headers().get(PROOF_HEADER);
    let given = given.and_then(|proof| proof.to_str().ok());
    given.unwrap_or_default().to_owned()
}
