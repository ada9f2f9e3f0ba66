//! Requests over HTTP to the daemon on loopback.

use std::io;
use std::time::Duration;

use benchhand_wire::{API, Carry, HelloAnswer, KEY_HEADER, Reason, Refusal, TOKEN_HEADER};
use serde_json::Value;
use ureq::http::Response;
use ureq::{Agent, Body};

use super::Client;
use crate::data::Handshake;

/// Longest time for a connection on loopback, and for the daemon's answer to the handshake.
const PATIENCE: Duration = Duration::from_secs(2);

/// Size of the largest answer that is read, in bytes. A job of a hundred thousand readings has
/// some 50 MB.
const LARGEST: u64 = 1 << 30;

/// A client of a daemon that answers.
#[derive(Debug, Clone)]
pub(crate) struct Http {
    agent: Agent,
    base: String,
    bearer: String,
}

impl Http {
    /// A client for the daemon at `address` (`127.0.0.1:PORT`).
    pub(crate) fn new(address: &str, token: &str) -> Self {
        let agent = Agent::config_builder()
            .http_status_as_error(false)
            .proxy(None) // Loopback never goes by a proxy, whatever the environment says.
            .max_redirects(0)
            .timeout_connect(Some(PATIENCE))
            .build()
            .new_agent();
        Http {
            agent,
            base: format!("http://{address}/{API}/"),
            bearer: format!("Bearer {token}"),
        }
    }

    /// Shakes hands with the daemon that a handshake file names. `None` if no daemon with this
    /// token answers there any more.
    ///
    /// # Errors
    /// [`Reason::Unavailable`] if something accepts the connection and stays silent.
    pub(crate) fn find(handshake: &Handshake) -> Result<Option<Self>, Refusal> {
        let http = Http::new(&handshake.address, &handshake.token);
        match http.hello() {
            Ok(Some(hello)) => {
                tracing::info!(pid = hello.pid, version = hello.version, "a daemon answers");
                if hello.version != env!("CARGO_PKG_VERSION") {
                    crate::out::warn(&format!(
                        "note: the daemon that runs is version {}, this is {}",
                        hello.version,
                        env!("CARGO_PKG_VERSION")
                    ));
                }
                Ok(Some(http))
            }
            Ok(None) => Ok(None),
            Err(error) if nobody_there(&error) => {
                tracing::info!("nobody answers at {}: {error}", handshake.address);
                Ok(None)
            }
            Err(error) => Err(Refusal::new(
                Reason::Unavailable,
                format!(
                    "the daemon at {} does not answer: {error}",
                    handshake.address
                ),
            )
            .todo("wait a moment and try again; if it stays so, end that process")),
        }
    }

    /// The daemon's answer to the handshake. `None` if another program answers, or the token is
    /// not known.
    fn hello(&self) -> Result<Option<HelloAnswer>, ureq::Error> {
        let mut response = self
            .agent
            .get(self.url("hello"))
            .header(TOKEN_HEADER, &self.bearer)
            .config()
            .timeout_global(Some(PATIENCE))
            .build()
            .call()?;
        if !response.status().is_success() {
            return Ok(None);
        }
        let hello: Result<HelloAnswer, _> = response.body_mut().read_json();
        Ok(hello.ok().filter(|hello| hello.program == "benchhand"))
    }

    /// Opens the event stream. It lasts as long as the daemon runs.
    ///
    /// # Errors
    /// The refusal, or [`Reason::Unavailable`] if nobody answers.
    pub(crate) fn events(&self, after: Option<u64>) -> Result<Body, Refusal> {
        let mut request = self
            .agent
            .get(self.url(benchhand_wire::EVENTS))
            .header("accept", "text/event-stream")
            .header(TOKEN_HEADER, &self.bearer);
        if let Some(id) = after {
            request = request.header("last-event-id", id.to_string());
        }
        let response = request.call().map_err(|error| unreachable(&error))?;
        if response.status().is_success() {
            Ok(response.into_body())
        } else {
            Err(refusal(response))
        }
    }

    fn url(&self, path: &str) -> String {
        format!("{}{path}", self.base)
    }

    fn get(&self, path: &str, body: &Value) -> Result<Response<Body>, ureq::Error> {
        self.agent
            .get(self.url(path))
            .query_pairs(query(body))
            .header(TOKEN_HEADER, &self.bearer)
            .call()
    }

    fn post(
        &self,
        path: &str,
        body: &Value,
        key: Option<&str>,
    ) -> Result<Response<Body>, ureq::Error> {
        let mut request = self
            .agent
            .post(self.url(path))
            .header(TOKEN_HEADER, &self.bearer);
        if let Some(key) = key {
            request = request.header(KEY_HEADER, key);
        }
        request.send_json(body)
    }
}

impl Client for Http {
    fn call(
        &self,
        path: &str,
        body: Value,
        carry: Carry,
        key: Option<&str>,
    ) -> Result<Value, Refusal> {
        tracing::debug!(path, ?carry, "asking the daemon");
        let response = match carry {
            Carry::Question => self.get(path, &body),
            Carry::Inquiry => self.post(path, &body, None),
            // The key makes a second try harmless if the answer to the first was lost.
            Carry::Change => self.post(path, &body, key).or_else(|error| match error {
                ureq::Error::Io(_) => self.post(path, &body, key),
                other => Err(other),
            }),
        };
        let mut response = response.map_err(|error| unreachable(&error))?;
        if !response.status().is_success() {
            return Err(refusal(response));
        }
        response
            .body_mut()
            .with_config()
            .limit(LARGEST)
            .read_json()
            .map_err(|error| {
                Refusal::new(
                    Reason::Unavailable,
                    format!("the daemon's answer broke off: {error}"),
                )
                .todo("before you try again, check with `benchhand job show` what was kept")
            })
    }
}

/// The fields of a request, as a URL query.
fn query(body: &Value) -> Vec<(String, String)> {
    let fields = body.as_object().into_iter().flatten();
    fields
        .filter(|(_, value)| !value.is_null())
        .map(|(name, value)| {
            let text = match value {
                Value::String(text) => text.clone(),
                other => other.to_string(),
            };
            (name.clone(), text)
        })
        .collect()
}

/// The daemon's refusal, in its own words if it gave any.
fn refusal(mut response: Response<Body>) -> Refusal {
    let status = response.status();
    let text = response.body_mut().read_to_string().unwrap_or_default();
    serde_json::from_str(&text).unwrap_or_else(|_| {
        let reason = match status.as_u16() {
            401 | 403 => Reason::Unauthorised,
            404 => Reason::NotFound,
            _ => Reason::Unavailable,
        };
        let words = text.trim();
        Refusal::new(
            reason,
            format!("the daemon answered {status} {words}").trim_end(),
        )
        .todo("end it with `benchhand stop` and try again; it may be of another version")
    })
}

fn unreachable(error: &ureq::Error) -> Refusal {
    Refusal::new(
        Reason::Unavailable,
        format!("the daemon cannot be reached any more: {error}"),
    )
    .todo(
        "what was acknowledged is kept; look with `benchhand job show` before you enter \
             anything again",
    )
}

/// Whether an error means that nothing listens at the address.
fn nobody_there(error: &ureq::Error) -> bool {
    match error {
        ureq::Error::Io(error) => matches!(
            error.kind(),
            io::ErrorKind::ConnectionRefused
                | io::ErrorKind::ConnectionReset
                | io::ErrorKind::ConnectionAborted
                | io::ErrorKind::BrokenPipe
                | io::ErrorKind::UnexpectedEof
        ),
        // Another program took the port and does not speak HTTP, or the handshake file is damaged.
        ureq::Error::Protocol(_)
        | ureq::Error::Http(_)
        | ureq::Error::BadUri(_)
        | ureq::Error::ConnectionFailed
        | ureq::Error::HostNotFound => true,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_question_becomes_a_query_without_what_is_absent() {
        let body = json!({"job": "v8 & co", "stage": null, "limit": 3});
        assert_eq!(
            query(&body),
            [
                ("job".to_owned(), "v8 & co".to_owned()),
                ("limit".to_owned(), "3".to_owned())
            ]
        );
        assert!(query(&json!({})).is_empty());
    }

    #[test]
    fn a_leftover_file_is_told_by_asking() {
        let closed = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
        let address = closed.local_addr().expect("bound").to_string();
        drop(closed);
        let handshake = Handshake {
            address,
            token: "t".into(),
        };
        assert!(
            Http::find(&handshake)
                .expect("no daemon is no failure")
                .is_none()
        );

        let spoilt = Handshake {
            address: "no address at all".into(),
            token: "t".into(),
        };
        assert!(
            Http::find(&spoilt)
                .expect("a spoilt file is no failure")
                .is_none()
        );
    }
}
