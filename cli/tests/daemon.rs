//! What the executable sends to a daemon and makes of its answers, against a scripted one: an
//! HTTP/1.1 server on a real socket that fails the test where a request is not the expected one
//! or an expected one does not come.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{TcpListener, TcpStream};
use std::thread::JoinHandle;

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;
use serde_json::{Value, json};

/// One request as it arrived.
#[derive(Debug)]
struct Request {
    line: String,
    headers: Vec<(String, String)>,
    body: String,
}

impl Request {
    fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .iter()
            .find(|(known, _)| known == name)
            .map(|(_, value)| value.as_str())
    }
}

/// A request that is expected, and what it is answered with.
struct Step {
    line: &'static str,
    status: u16,
    answer: Value,
}

fn step(line: &'static str, status: u16, answer: Value) -> Step {
    Step {
        line,
        status,
        answer,
    }
}

fn hello() -> Step {
    let answer = json!({"program": "benchhand", "version": env!("CARGO_PKG_VERSION"), "pid": 1,
                        "data": "/data"});
    step("GET /v1/hello", 200, answer)
}

/// Serves the steps, one connection each, and gives what was asked.
fn scripted(steps: Vec<Step>) -> (tempfile::TempDir, JoinHandle<Vec<Request>>) {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = listener.local_addr().expect("bound");
    let data = tempfile::tempdir().expect("a folder");
    let handshake = format!(r#"{{"address":"{address}","token":"secret","pid":1}}"#);
    std::fs::write(data.path().join("daemon.json"), handshake).expect("written");
    let served = std::thread::spawn(move || {
        let mut requests = Vec::new();
        for step in steps {
            let (stream, _) = listener.accept().expect("a connection");
            let request = read(&stream);
            assert_eq!(request.line, step.line);
            answer(stream, &step);
            requests.push(request);
        }
        requests
    });
    (data, served)
}

fn read(stream: &TcpStream) -> Request {
    let mut reader = BufReader::new(stream);
    let mut line = String::new();
    let mut next = || {
        line.clear();
        reader.read_line(&mut line).expect("a line");
        line.trim_end().to_owned()
    };
    let first = next();
    let mut headers = Vec::new();
    loop {
        let header = next();
        let Some((name, value)) = header.split_once(':') else {
            break;
        };
        headers.push((name.to_lowercase(), value.trim().to_owned()));
    }
    let length = headers.iter().find(|(name, _)| name == "content-length");
    let chunked = headers.iter().any(|(name, _)| name == "transfer-encoding");
    assert!(!chunked, "the script reads bodies of a known length");
    let mut body = vec![0; length.map_or(0, |(_, length)| length.parse().expect("a length"))];
    reader.read_exact(&mut body).expect("the body");
    let line = first.trim_end_matches(" HTTP/1.1").to_owned();
    Request {
        line,
        headers,
        body: String::from_utf8(body).expect("text"),
    }
}

fn answer(mut stream: TcpStream, step: &Step) {
    let body = step.answer.to_string();
    write!(
        stream,
        "HTTP/1.1 {} answered\r\ncontent-type: application/json\r\nconnection: close\r\n\
         content-length: {}\r\n\r\n{body}",
        step.status,
        body.len()
    )
    .expect("answered");
}

fn benchhand(data: &tempfile::TempDir) -> Command {
    let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
    command
        .env("BENCHHAND_DATA", data.path())
        .env("NO_COLOR", "1");
    // Loopback never goes by a proxy: this one would answer nothing.
    command
        .env("http_proxy", "http://192.0.2.1:9")
        .env("ALL_PROXY", "http://192.0.2.1:9");
    command
}

#[test]
fn a_question_carries_the_token_and_its_fields_in_the_query() {
    let answer = json!({"jobs": [{"name": "v8", "engine": "invented", "opened": "2026-03-02T09:14:05Z",
        "changed": "2026-03-02T09:15:05Z", "stage": "as received", "readings": 3,
        "folder": "/data/jobs/v8"}]});
    let (data, served) = scripted(vec![
        hello(),
        step("GET /v1/jobs?spot=chamber%2F", 200, answer.clone()),
    ]);
    let out = benchhand(&data)
        .args(["job", "list", "--spot", "chamber/", "--json"])
        .assert()
        .success()
        .stderr("")
        .get_output()
        .stdout
        .clone();
    let printed: Value = serde_json::from_slice(&out).expect("JSON and nothing else");
    assert_eq!(printed, answer);
    let requests = served.join().expect("as scripted");
    for request in &requests {
        assert_eq!(request.header("authorization"), Some("Bearer secret"));
        assert_eq!(request.header("idempotency-key"), None);
    }
}

#[test]
fn a_change_carries_a_write_key_and_its_fields_as_json() {
    let answer = json!({"id": 12, "spot": "chamber/3", "value": 64.2, "unit": "cc",
                        "stage": "as received"});
    let (data, served) = scripted(vec![hello(), step("POST /v1/readings/enter", 200, answer)]);
    let pours = [
        "--from", "0.0cc", "--to", "50.0cc", "--from", "1.0cc", "--to", "15.2cc",
    ];
    benchhand(&data)
        .args(["enter", "v8", "chamber/3"])
        .args(pours)
        .assert()
        .success()
        .stdout(contains("Kept as reading 12: chamber/3 = 64.2 cc"));
    let requests = served.join().expect("as scripted");
    let key = requests[1].header("idempotency-key").expect("a write key");
    assert_eq!(key.len(), 32, "{key}");
    let body: Value = serde_json::from_str(&requests[1].body).expect("JSON");
    assert_eq!(
        body,
        json!({"job": "v8", "spot": "chamber/3", "sure": false,
               "levels": [{"from": "0.0cc", "to": "50.0cc"}, {"from": "1.0cc", "to": "15.2cc"}]})
    );
}

#[test]
fn each_refusal_has_its_exit_code_and_its_three_sentences() {
    for (reason, status, code) in [
        ("bad_input", 422, 3),
        ("not_found", 404, 4),
        ("conflict", 409, 5),
        ("port_absent", 424, 6),
        ("port_busy", 424, 7),
        ("port_forbidden", 424, 8),
        ("gauge_silent", 504, 9),
        ("store_busy", 423, 10),
        ("storage", 507, 11),
        ("damaged", 500, 12),
        ("unauthorised", 401, 13),
        ("unavailable", 503, 14),
    ] {
        let refusal = json!({"reason": reason, "found": "this was found",
            "expected": "that was expected", "todo": "do this next"});
        let (data, served) = scripted(vec![hello(), step("GET /v1/routes", status, refusal)]);
        benchhand(&data)
            .args(["routes", "--json"])
            .assert()
            .code(code)
            .stdout("")
            .stderr(
                contains("error: this was found")
                    .and(contains("expected: that was expected"))
                    .and(contains("what to do: do this next")),
            );
        served.join().expect("as scripted");
    }
}

#[test]
fn a_bad_row_is_shown_under_its_line_in_the_users_own_file() {
    let refusal = json!({"reason": "bad_input", "found": "one row cannot be used",
        "todo": "correct it; nothing was kept",
        "places": [{"file": "FILE", "line": 3, "column": 14, "text": "there is no unit ccc"}]});
    let folder = tempfile::tempdir().expect("a folder");
    let csv = folder.path().join("notebook.csv");
    std::fs::write(&csv, "spot,value,unit\nchamber/1,64,cc\nchamber/2,64,ccc\n").expect("written");
    let csv = csv.to_str().expect("text");
    let refusal = refusal.to_string().replace("FILE", csv);
    let refusal: Value = serde_json::from_str(&refusal).expect("JSON");
    let (data, served) = scripted(vec![
        hello(),
        step("POST /v1/readings/import", 422, refusal),
    ]);
    benchhand(&data)
        .args(["import", "v8", csv])
        .assert()
        .code(3)
        .stdout("")
        .stderr(contains("chamber/2,64,ccc").and(contains("there is no unit ccc")));
    let requests = served.join().expect("as scripted");
    let body: Value = serde_json::from_str(&requests[1].body).expect("JSON");
    assert_eq!(body["file"], csv);
}

#[test]
fn a_gauge_check_that_fails_is_an_answer_and_ends_with_1() {
    let answer = json!({"id": 8, "error": 0.0021, "allow": 0.0005, "unit": "in", "passed": false,
                        "marked": [5, 6]});
    let (data, served) = scripted(vec![hello(), step("POST /v1/gauges/check", 200, answer)]);
    benchhand(&data)
        .args([
            "gauge",
            "check",
            "depth-2",
            "--job",
            "v8",
            "--raw",
            "-0.0021 in",
        ])
        .assert()
        .code(1)
        .stdout(contains("FAILED").and(contains("5, 6")));
    let requests = served.join().expect("as scripted");
    let body: Value = serde_json::from_str(&requests[1].body).expect("JSON");
    assert_eq!(body["raw"], "-0.0021 in");
}

#[test]
fn a_record_that_is_damaged_is_shown_and_ends_with_12() {
    let answer = json!({"lines": 40, "head": "ab12", "broken": "line 17 was changed"});
    let (data, served) = scripted(vec![
        hello(),
        step("GET /v1/jobs/verify?job=v8", 200, answer),
    ]);
    benchhand(&data)
        .args(["job", "verify", "v8"])
        .assert()
        .code(12)
        .stdout(contains("DAMAGED: line 17 was changed"));
    served.join().expect("as scripted");
}

#[test]
fn another_program_on_the_port_is_not_taken_for_the_daemon() {
    let (data, served) = scripted(vec![step(
        "GET /v1/hello",
        200,
        json!({"program": "other"}),
    )]);
    benchhand(&data)
        .args(["steer", "v8", "take"])
        .assert()
        .code(14)
        .stderr(contains("no daemon runs"));
    served.join().expect("as scripted");
}
