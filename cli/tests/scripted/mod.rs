//! A scripted daemon: an HTTP/1.1 server on a real socket. It fails the test if a request is not
//! the expected one, or if an expected request does not come.

#![allow(dead_code, reason = "each test file uses its own part of it")]

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{TcpListener, TcpStream};
use std::thread::JoinHandle;

use assert_cmd::Command;
use benchhand_proof::{PROOF_HEADER, RequestProof, RequestSaid, Secret};
use serde_json::{Value, json};

/// The token of the scripted daemon. No request may carry it.
pub(crate) const TOKEN: &str = "the secret of this run";
/// The number of the scripted daemon's run.
const RUN: &str = "run 1";
const HELLO: &str = "GET /v1/hello";

fn secret() -> Secret {
    Secret::of_token(TOKEN)
}

/// One request, as received.
#[derive(Debug)]
pub(crate) struct Request {
    pub(crate) line: String,
    headers: Vec<(String, String)>,
    pub(crate) body: String,
}

impl Request {
    /// The value of a header, by its lower-case name.
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .iter()
            .find(|(known, _)| known == name)
            .map(|(_, value)| value.as_str())
    }

    /// The request's proof. Panics if it does not fit the request.
    #[track_caller]
    pub(crate) fn proof(&self) -> RequestProof {
        let (method, path) = self.line.split_once(' ').expect("a method and a path");
        let said = RequestSaid {
            run: RUN,
            method,
            path,
            key: self.header("idempotency-key").unwrap_or_default(),
        };
        let proof = self.header("authorization").expect("credentials");
        let proof = RequestProof::parse(proof).expect("a proof");
        assert!(
            secret().is_of_request(&proof, &said) && proof.is_of_body(self.body.as_bytes()),
            "{self:?}"
        );
        proof
    }

    /// The body as JSON.
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.body).expect("JSON")
    }
}

/// One step of the daemon's script.
pub(crate) enum Step {
    /// Waits for a request and answers it.
    Answer {
        line: &'static str,
        status: u16,
        answer: Value,
    },
    /// Waits for a request and closes the connection without an answer.
    Lose { line: &'static str },
    /// Waits for a client to open the event stream, and keeps it open.
    Listen,
    /// Sends events on the stream that is open.
    Tell(Vec<Value>),
    /// Closes the event stream.
    HangUp,
    /// Calls a function.
    Then(Box<dyn FnOnce() + Send>),
}

/// An expected request and its answer.
pub(crate) fn step(line: &'static str, status: u16, answer: Value) -> Step {
    Step::Answer {
        line,
        status,
        answer,
    }
}

/// The handshake.
pub(crate) fn hello() -> Step {
    let version = env!("CARGO_PKG_VERSION");
    let answer = json!({"program": "benchhand", "version": version, "pid": 1, "data": "/data"});
    step(HELLO, 200, answer)
}

/// Serves the steps and gives the requests. The folder holds the handshake file.
pub(crate) fn scripted(steps: Vec<Step>) -> (tempfile::TempDir, JoinHandle<Vec<Request>>) {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = listener.local_addr().expect("bound");
    let data = tempfile::tempdir().expect("a folder");
    let handshake = format!(r#"{{"address":"{address}","token":"{TOKEN}","pid":1}}"#);
    std::fs::write(data.path().join("daemon.json"), handshake).expect("written");
    let folder = std::fs::canonicalize(data.path()).expect("a folder");
    let folder = folder.display().to_string();
    (
        data,
        std::thread::spawn(move || serve(&listener, &folder, steps)),
    )
}

fn serve(listener: &TcpListener, folder: &str, steps: Vec<Step>) -> Vec<Request> {
    let mut requests = Vec::new();
    let mut events: Option<TcpStream> = None;
    for step in steps {
        match step {
            Step::Answer {
                line,
                status,
                mut answer,
            } => {
                let (stream, request) = accept(listener);
                assert_eq!(request.line, line);
                if line == HELLO {
                    answer["data"] = folder.into();
                }
                let body = answer.to_string();
                let proof = secret().of_answer(&request.proof(), status, body.as_bytes());
                send(stream, status, &proof, &body);
                requests.push(request);
            }
            Step::Lose { line } => {
                let (_stream, request) = accept(listener);
                assert_eq!(request.line, line);
                requests.push(request);
            }
            Step::Listen => {
                let (mut stream, request) = accept(listener);
                assert_eq!(request.line, "GET /v1/events");
                let proof = secret().of_stream(&request.proof());
                let head = format!(
                    "HTTP/1.1 200 OK\r\ncontent-type: text/event-stream\r\n\
                     {PROOF_HEADER}: {proof}\r\nconnection: close\r\n\r\n: alive\n\n"
                );
                stream.write_all(head.as_bytes()).expect("answered");
                requests.push(request);
                events = Some(stream);
            }
            Step::Tell(all) => {
                let stream = events.as_mut().expect("an open event stream");
                for event in all {
                    let id = &event["id"];
                    write!(stream, "id: {id}\ndata: {event}\n\n").expect("told");
                }
            }
            Step::HangUp => drop(events.take()),
            Step::Then(act) => act(),
        }
    }
    requests
}

/// The next request whose proof is right. The daemon proves itself as often as it is asked to.
fn accept(listener: &TcpListener) -> (TcpStream, Request) {
    loop {
        let (stream, _) = listener.accept().expect("a connection");
        let request = read(&stream);
        let Some(nonce) = request.line.strip_prefix("GET /v1/prove?nonce=") else {
            request.proof();
            return (stream, request);
        };
        let address = listener.local_addr().expect("bound").to_string();
        let proof = secret().of_daemon(nonce, RUN, &address);
        send(
            stream,
            200,
            "",
            &json!({"run": RUN, "proof": proof}).to_string(),
        );
    }
}

fn read(stream: &TcpStream) -> Request {
    let mut reader = BufReader::new(stream);
    let mut next = || {
        let mut line = String::new();
        reader.read_line(&mut line).expect("a line");
        line.trim_end().to_owned()
    };
    let line = next().trim_end_matches(" HTTP/1.1").to_owned();
    let mut headers = Vec::new();
    loop {
        let header = next();
        let Some((name, value)) = header.split_once(':') else {
            break;
        };
        headers.push((name.to_lowercase(), value.trim().to_owned()));
    }
    assert!(
        headers.iter().all(|(name, _)| name != "transfer-encoding"),
        "the script reads bodies of a known length"
    );
    let length = headers.iter().find(|(name, _)| name == "content-length");
    let mut body = vec![0; length.map_or(0, |(_, length)| length.parse().expect("a length"))];
    reader.read_exact(&mut body).expect("the body");
    Request {
        line,
        headers,
        body: String::from_utf8(body).expect("text"),
    }
}

fn send(mut stream: TcpStream, status: u16, proof: &str, body: &str) {
    write!(
        stream,
        "HTTP/1.1 {status} answered\r\ncontent-type: application/json\r\nconnection: close\r\n\
         {PROOF_HEADER}: {proof}\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    )
    .expect("answered");
}

/// The executable on the data folder.
pub(crate) fn benchhand(data: &tempfile::TempDir) -> Command {
    let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
    command
        .env("BENCHHAND_DATA", data.path())
        .env("NO_COLOR", "1")
        .env_remove("BENCHHAND_LOG");
    // Requests to loopback must not use a proxy. This proxy would never answer.
    command
        .env("http_proxy", "http://192.0.2.1:9")
        .env("ALL_PROXY", "http://192.0.2.1:9");
    command
}
