//! What anybody may send: nobody is shut out by others, nothing grows without bound, and nothing
//! that came from outside steers a terminal.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use benchhand_tests::program::Daemon;
use benchhand_tests::shop::{Shop, example};
use serde_json::{Value, json};

/// Longer than a connection may stay idle, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

fn served() -> (Shop, Daemon) {
    let shop = Shop::with_job();
    let daemon = shop.program.serve(&[]);
    (shop, daemon)
}

fn connect(daemon: &Daemon) -> TcpStream {
    let stream = TcpStream::connect(&daemon.api.address).expect("it listens");
    stream.set_read_timeout(Some(PATIENCE)).expect("a time");
    stream
}

/// Whether the daemon closes the connection before the patience ends.
fn is_closed(stream: &mut TcpStream) -> bool {
    let mut rest = Vec::new();
    match stream.read_to_end(&mut rest) {
        Ok(_) => true,
        Err(error) => error.kind() == std::io::ErrorKind::ConnectionReset,
    }
}

#[test]
fn a_crowd_that_says_nothing_shuts_nobody_out() {
    let (_shop, daemon) = served();
    let mut crowd: Vec<TcpStream> = (0..400).map(|_| connect(&daemon)).collect();
    assert_eq!(daemon.api.get("jobs").status, 200);
    let first = crowd.first_mut().expect("a crowd");
    assert!(is_closed(first), "the one that waited longest made room");
    // A watcher that showed who it is stays, whatever crowd comes after it.
    let mut events = daemon.api.events(None);
    crowd.extend((0..200).map(|_| connect(&daemon)));
    assert_eq!(daemon.api.get("jobs").status, 200);
    let caught = events.next_event().expect("it is not shut out");
    assert_eq!(caught["event"], "caught");
    let body = json!({"job": "v8", "spot": "chamber/1", "value": "64.2 cc"});
    daemon
        .api
        .post("readings/enter", "k1", &body)
        .expect("it answers")
        .good();
    events.wait("the reading", |event| event["event"] == "reading");
}

#[test]
fn a_connection_that_never_ends_its_request_or_never_begins_the_next_is_closed() {
    let (_shop, daemon) = served();
    let mut half = connect(&daemon);
    half.write_all(b"GET /v1/hello HTTP/1.1\r\nHost: ")
        .expect("sent");
    let mut idle = connect(&daemon);
    let head = format!(
        "GET /v1/prove?nonce=1 HTTP/1.1\r\nHost: {}\r\n\r\n",
        daemon.api.address
    );
    idle.write_all(head.as_bytes()).expect("sent");
    assert!(is_closed(&mut half), "half a head is not waited for");
    assert!(is_closed(&mut idle), "neither is a next request");
}

#[test]
fn what_is_too_large_ambiguous_or_by_another_method_is_refused_in_json() {
    let (_shop, daemon) = served();
    let (api, bearer) = (&daemon.api, format!("Bearer {}", daemon.api.token));
    let host = ("host", api.address.as_str());
    let known = [
        host,
        ("authorization", bearer.as_str()),
        ("idempotency-key", "k1"),
    ];
    let ask = |line: &str, headers: &[(&str, &str)], body: Option<&str>| {
        api.raw(line, headers, body).expect("it answers")
    };
    let found = |answer: &benchhand_tests::api::ApiAnswer| -> Value { answer.json() };

    let large = format!("{{\"csv\":\"{}\"}}", "x".repeat(17 << 20));
    let answer = ask("POST /v1/readings/import", &known, Some(&large));
    assert_eq!(answer.status, 413);
    assert_eq!(found(&answer)["reason"], "bad_input");

    let twice = [host, host, known[1]];
    assert_eq!(ask("GET /v1/hello", &twice, None).status, 401);
    let answer = ask("GET /v1/jobs/show?job=v8&job=v9", &known, None);
    assert_eq!(answer.status, 422, "{answer:?}");
    for body in [
        r#"{"job":"v8","spot":"chamber/1","value":"64 cc","value":"65 cc"}"#,
        r#"["v8","chamber/1","64.2 cc"]"#,
        r#"{"job":"v8","spot":"chamber/1","value":"64.2 cc","colour":"red"}"#,
    ] {
        let answer = ask("POST /v1/readings/enter", &known, Some(body));
        assert_eq!(answer.status, 422, "{body}: {answer:?}");
    }
    for line in [
        "DELETE /v1/jobs",
        "PUT /v1/jobs",
        "POST /v1/jobs",
        "GET /v1/jobs/new",
        "PATCH /v1/jobs/new",
    ] {
        let answer = ask(line, &known, Some("{}"));
        assert_eq!(answer.status, 405, "{line}: {answer:?}");
        let method = if line.ends_with("/new") {
            "POST"
        } else {
            "GET"
        };
        assert_eq!(found(&answer)["expected"], method, "{line}");
    }
    assert_eq!(ask("DELETE /v1/no/such", &known, Some("{}")).status, 404);
}

#[test]
fn of_a_notebook_that_is_wrong_throughout_the_first_rows_are_told_and_all_are_counted() {
    let (shop, daemon) = served();
    let before = shop.journal();
    let csv = format!(
        "spot,value,unit\n{}",
        "chamber/1,64.2,furlong\n".repeat(500_000)
    );
    let body = json!({"job": "v8", "csv": csv, "file": "notebook.csv"});
    let answer = daemon
        .api
        .post("readings/import", "k1", &body)
        .expect("it answers");
    assert_eq!(answer.status, 422);
    assert!(answer.body.len() < 20_000, "{} bytes", answer.body.len());
    let refusal = answer.json();
    assert_eq!(refusal["places"].as_array().expect("places").len(), 20);
    let found = refusal["found"].as_str().expect("a sentence");
    assert!(found.contains("500000 faults"), "{found}");
    assert_eq!(shop.journal(), before);

    let long = format!("name = \"{}\"\nbore = \"-4 in\"\n", "x".repeat(8 << 20));
    let file = shop.file(
        "long.toml",
        &format!("{long}units = {}", "y".repeat(1 << 20)),
    );
    let refused = shop.program.run(&["job", "new", "long", &file]);
    assert_eq!(refused.code, 3, "{}", refused.err.len());
    assert!(refused.err.len() < 10_000, "{} bytes", refused.err.len());
}

#[test]
fn nothing_that_came_from_outside_steers_the_terminal() {
    let shop = Shop::new();
    let engine = std::fs::read_to_string(example("invented-v8.toml")).expect("an example");
    let named = |line: &str| line.starts_with("name = ");
    let engine: Vec<&str> = engine
        .lines()
        .map(|line| {
            if named(line) {
                r#"name = "\u001b[2J\u0007V8\u202e""#
            } else {
                line
            }
        })
        .collect();
    let file = shop.file("engine.toml", &engine.join("\n"));
    let program = &shop.program;
    program.run(&["job", "new", "v8", &file]).good();
    program
        .run(&["condition", "v8", "valves-and-plugs", "\u{1b}]0;owned\u{7}"])
        .good();
    let wrong = shop.file("wrong.toml", "name = \"\u{9b}31m\u{1b}[31m\nbore = 4\n");
    let runs = [
        program.run(&["job", "list"]),
        program.run(&["job", "show", "v8"]),
        program.run(&["report", "v8"]),
        program.run(&["report", "v8", "--full"]),
        program.run(&["job", "new", "w", &wrong]),
        program.run(&["enter", "v8", "\u{1b}[31mchamber/1", "64.2 cc"]),
        program.run(&["job", "show", "\u{1b}[31m"]),
    ];
    assert!(runs[0].out.contains("␛[2J"), "{}", runs[0].out);
    for run in &runs {
        for text in [&run.out, &run.err] {
            let steers = |c: char| c.is_control() && c != '\n' && c != '\t';
            let strange: Vec<char> = text
                .chars()
                .filter(|&c| steers(c) || c == '\u{202e}')
                .collect();
            assert!(strange.is_empty(), "{strange:?} in {text:?}");
        }
    }
}
