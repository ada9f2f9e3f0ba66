//! Requests over HTTP to the daemon on loopback.

use std::io;
use std::path::Path;

use benchhand_wire::{Carry, EVENTS, HelloAnswer, Reason, Refusal};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde_json::Value;
use ureq::Body;

use super::Client;
use super::proven::{NoAnswer, PATIENCE, ProvenAnswer, ProvenPeer, Said};
use crate::data::Handshake;

/// What stands in a query as it is (RFC 3986, "unreserved").
const IN_QUERY: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~');

/// A client of a daemon that answers.
#[derive(Debug, Clone)]
pub(crate) struct Http {
    peer: ProvenPeer,
}

impl Http {
    /// A client for the daemon at `address` (`127.0.0.1:PORT`).
    pub(crate) fn new(address: &str, token: &str) -> Self {
        Http {
            peer: ProvenPeer::new(address, token),
        }
    }

    /// Shakes hands with the daemon that a handshake file names. `None` if the daemon that wrote it
    /// does not answer there any more, or works on another folder than `data`.
    ///
    /// # Errors
    /// [`Reason::Unavailable`] if something accepts the connection and stays silent.
    pub(crate) fn find(handshake: &Handshake, data: &Path) -> Result<Option<Self>, Refusal> {
        let http = Http::new(&handshake.address, &handshake.token);
        let address = &handshake.address;
        match http.hello() {
            Ok(Some(hello)) if hello.pid != handshake.pid || !same_folder(&hello.data, data) => {
                let (pid, folder) = (hello.pid, hello.data);
                tracing::info!(pid, folder, "the daemon that answers is of another folder");
                Ok(None)
            }
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
            Err(NoAnswer::Stranger | NoAnswer::Unproven) => {
                crate::out::warn(&format!(
                    "note: another program answers at {address}, where the daemon did; nothing was \
                     sent to it"
                ));
                Ok(None)
            }
            Err(NoAnswer::Unreachable(error)) if nobody_there(&error) => {
                tracing::info!("nobody answers at {address}: {error}");
                Ok(None)
            }
            Err(NoAnswer::Unreachable(error)) => Err(Refusal::new(
                Reason::Unavailable,
                format!("the daemon at {address} does not answer: {error}"),
            )
            .todo("wait a moment and try again; if it stays so, end that process")),
            Err(other) => Err(other.refusal(address)),
        }
    }

    /// The daemon's answer to the handshake. `None` if it is not understood.
    fn hello(&self) -> Result<Option<HelloAnswer>, NoAnswer> {
        let answer = self.peer.ask(&question("hello", None), Some(PATIENCE))?;
        let hello: Option<HelloAnswer> = serde_json::from_slice(&answer.body).ok();
        Ok(hello.filter(|hello| hello.program == "benchhand"))
    }

    /// Opens the event stream. It lasts as long as the daemon runs.
    ///
    /// # Errors
    /// The refusal, or [`Reason::Unavailable`] if nobody answers.
    pub(crate) fn events(&self, after: Option<u64>) -> Result<Body, Refusal> {
        match self.peer.open(&question(EVENTS, after)) {
            Ok(Ok(body)) => Ok(body),
            Ok(Err(answer)) => Err(refusal(&answer)),
            Err(error) => Err(error.refusal(&self.peer.address)),
        }
    }
}

fn question(path: &str, after: Option<u64>) -> Said<'_> {
    Said {
        method: "GET",
        path,
        key: None,
        body: None,
        after,
    }
}

/// Whether the daemon's folder, as it calls it, is `ours`.
fn same_folder(theirs: &str, ours: &Path) -> bool {
    let whole = std::fs::canonicalize(ours);
    whole.is_ok_and(|ours| ours.display().to_string() == theirs)
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
        let whole = match query(&body) {
            fields if carry == Carry::Question && !fields.is_empty() => format!("{path}?{fields}"),
            _ => path.to_owned(),
        };
        let bytes = body.to_string().into_bytes();
        let said = match carry {
            Carry::Question => question(&whole, None),
            Carry::Inquiry | Carry::Change => Said {
                method: "POST",
                path: &whole,
                key,
                body: Some(&bytes),
                after: None,
            },
        };
        let answer = self.peer.ask(&said, None);
        // The key makes a second try harmless if the answer to the first was lost.
        let answer = match answer {
            Err(NoAnswer::Unreachable(error))
                if carry == Carry::Change && matches!(*error, ureq::Error::Io(_)) =>
            {
                self.peer.ask(&said, None)
            }
            other => other,
        };
        let answer = answer.map_err(|error| error.refusal(&self.peer.address))?;
        if !(200..300).contains(&answer.status) {
            return Err(refusal(&answer));
        }
        serde_json::from_slice(&answer.body).map_err(|error| super::broken(path, &error))
    }
}

/// The fields of a request, as a URL query.
fn query(body: &Value) -> String {
    let fields = body.as_object().into_iter().flatten();
    let fields = fields.filter(|(_, value)| !value.is_null());
    let pairs: Vec<String> = fields
        .map(|(name, value)| {
            let text = match value {
                Value::String(text) => text.clone(),
                other => other.to_string(),
            };
            let [name, text] = [name, &text].map(|part| utf8_percent_encode(part, IN_QUERY));
            format!("{name}={text}")
        })
        .collect();
    pairs.join("&")
}

/// The daemon's refusal, in its own words if it gave any.
fn refusal(answer: &ProvenAnswer) -> Refusal {
    serde_json::from_slice(&answer.body).unwrap_or_else(|_| {
        let reason = match answer.status {
            401 | 403 => Reason::Unauthorised,
            404 => Reason::NotFound,
            _ => Reason::Unavailable,
        };
        let (status, words) = (answer.status, String::from_utf8_lossy(&answer.body));
        Refusal::new(
            reason,
            format!("the daemon answered {status} {}", words.trim()).trim_end(),
        )
        .todo("end it with `benchhand stop` and try again; it may be of another version")
    })
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
        assert_eq!(query(&body), "job=v8%20%26%20co&limit=3");
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
            pid: 1,
        };
        let data = Path::new("data");
        assert!(
            Http::find(&handshake, data)
                .expect("no daemon is no failure")
                .is_none()
        );

        let spoilt = Handshake {
            address: "no address at all".into(),
            token: "t".into(),
            pid: 1,
        };
        assert!(
            Http::find(&spoilt, data)
                .expect("a spoilt file is no failure")
                .is_none()
        );
    }
}
