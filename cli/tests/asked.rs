//! A question in the terminal: how it is printed, and what is said to a line that is no answer.
#![cfg(unix)]

mod scripted;

use std::fs::File;
use std::io::Write as _;
use std::process::{Command, Stdio};

use predicates::prelude::*;
use predicates::str::contains;
use rustix::fs::{Mode, OFlags};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use serde_json::{Value, json};

use scripted::{Step, benchhand, hello, scripted, step};

const QUESTION: &str = "chamber 1: 90.00 cc, expected about 64.0 cc as the engine file says: \
                        keep, again, or type it?";

fn progress(running: bool) -> Value {
    json!({"job": "v8", "route": "chambers", "title": "chamber volumes", "running": running,
        "done": !running, "at": 0, "prompt": "fill the chamber", "cautions": [],
        "stops": [{"spot": "chamber/1", "round": 1, "state": "left", "gauge": "burette"}]})
}

fn asked(waiting: u32) -> Value {
    let mut progress = progress(true);
    progress["prompt"] = json!(QUESTION);
    progress["waiting"] = json!(waiting);
    progress["asked"] = json!({"about": "far_off", "spot": "chamber/1", "shown": "90.00 cc",
        "text": QUESTION, "answers": ["keep", "again", "type", "refill"]});
    progress
}

fn route_event(id: u64, progress: Value) -> Value {
    json!({"id": id, "event": "route", "progress": progress})
}

fn nothing() -> Step {
    let state = json!({"id": 7, "gauges": [], "routes": []});
    step("GET /v1/state", 200, state)
}

#[test]
fn a_question_is_printed_on_a_line_of_its_own_with_its_answers_and_what_waits() {
    let said = json!({"id": 8, "event": "say", "job": "v8", "said_as": "asked",
        "text": QUESTION});
    for command in [&["measure", "v8", "chambers"][..], &["live"]] {
        let mut steps = vec![hello(), nothing(), Step::Listen];
        if command[0] == "measure" {
            steps.push(step("POST /v1/routes/start", 200, progress(true)));
        }
        steps.push(Step::Tell(vec![
            said.clone(),
            route_event(9, asked(0)),
            route_event(10, asked(1)),
            route_event(11, progress(false)),
            json!({"id": 12, "event": "stopping"}),
        ]));
        let (data, served) = scripted(steps);
        let output = benchhand(&data).args(command).output().expect("it runs");
        let text = String::from_utf8(output.stdout).expect("text");
        let own_line = format!("\n? {QUESTION}\n");
        let lines = format!("\n{text}");
        assert_eq!(lines.matches(&own_line).count(), 2, "{command:?}: {text}");
        let answers = "  answers: keep (the value is right), again (measure this stop again), \
                       refill (no pour of a chamber), or type the two levels, before and after (FROM \
                       to TO)\n";
        assert!(text.contains(answers), "{command:?}: {text}");
        assert!(
            text.contains("  1 more pour waits (drop: it is none)\n"),
            "{command:?}: {text}"
        );
        served.join().expect("as scripted");
    }
}

#[test]
fn a_typed_line_that_is_no_answer_is_told_the_answers_and_asks_the_route_for_nothing() {
    let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).expect("a pseudo-terminal");
    grantpt(&ours).expect("granted");
    unlockpt(&ours).expect("unlocked");
    let name = ptsname(&ours, Vec::new()).expect("its name");
    let theirs = rustix::fs::open(&name, OFlags::RDWR | OFlags::NOCTTY, Mode::empty())
        .expect("its other end");
    let mut keyboard = File::from(ours);
    let refused = json!({"reason": "conflict", "found": QUESTION,
        "todo": "`take` answers no question: answer first"});
    let typing = move || {
        let lines = b"yes\nwhatever\ntake\nKEEP\n";
        keyboard.write_all(lines).expect("typed");
        // The terminal must stay open until the command has ended.
        std::mem::forget(keyboard);
    };
    let (data, served) = scripted(vec![
        hello(),
        nothing(),
        Step::Listen,
        step("POST /v1/routes/start", 200, asked(0)),
        Step::Then(Box::new(typing)),
        step("POST /v1/routes/control", 409, refused),
        step("POST /v1/routes/control", 200, progress(true)),
        Step::Tell(vec![route_event(9, progress(false))]),
    ]);
    let child = Command::new(benchhand(&data).get_program())
        .args(["measure", "v8", "chambers"])
        .env("BENCHHAND_DATA", data.path())
        .stdin(Stdio::from(theirs))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it runs");
    let output = child.wait_with_output().expect("it ends");
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(output.status.success(), "{text}");
    assert!(text.contains("! \"yes\" could mean either here"), "{text}");
    assert!(
        text.contains("! \"whatever\" is not an answer to this"),
        "{text}"
    );
    assert_eq!(
        text.matches("answers: keep (the value").count(),
        2,
        "{text}"
    );
    assert!(text.contains("`take` answers no question"), "{text}");
    let requests = served.join().expect("as scripted");
    let controls: Vec<Value> = requests[4..].iter().map(|r| r.json()).collect();
    assert_eq!(
        controls,
        [
            json!({"job": "v8", "control": "take"}),
            json!({"job": "v8", "control": "keep"})
        ]
    );
}

#[test]
fn steer_help_says_what_is_asked_and_every_control() {
    let shown = json!({"summary": {"name": "v8", "engine": "invented", "opened": "x",
        "changed": "x", "stage": "as received", "readings": 0, "folder": "/data/jobs/v8"},
        "stages": [], "readings": [], "route": asked(2)});
    let (data, served) = scripted(vec![hello(), step("GET /v1/jobs/show?job=v8", 200, shown)]);
    benchhand(&data)
        .args(["steer", "v8", "help"])
        .assert()
        .success()
        .stdout(
            contains(format!("? {QUESTION}"))
                .and(contains("answers: keep"))
                .and(contains("2 more pours wait"))
                .and(contains("Controls: take, again")),
        );
    served.join().expect("as scripted");
    // The controls are listed even without a daemon.
    let empty = tempfile::tempdir().expect("a folder");
    benchhand(&empty)
        .args(["steer", "v8", "help"])
        .assert()
        .success()
        .stdout(contains("Controls: take, again"));
}

#[test]
fn a_word_that_is_no_control_is_told_the_answers_to_what_is_asked() {
    let show = |route: Value| {
        json!({"summary": {"name": "v8", "engine": "invented", "opened": "x", "changed": "x",
            "stage": "as received", "readings": 0, "folder": "/data/jobs/v8"},
            "stages": [], "readings": [], "route": route})
    };
    for (route, word, told) in [
        (
            asked(0),
            "yes",
            "\"yes\" could mean either here, so nothing was done",
        ),
        (asked(0), "mend", "\"mend\" is not an answer to this"),
        (progress(true), "mend", "\"mend\" is not a control"),
    ] {
        let is_asked = route["asked"].is_object();
        let shown = step("GET /v1/jobs/show?job=v8", 200, show(route));
        let (data, served) = scripted(vec![hello(), shown]);
        let ran = benchhand(&data)
            .args(["steer", "v8", word])
            .assert()
            .code(3);
        let ran = ran.stdout("").stderr(contains(told));
        match is_asked {
            true => {
                ran.stderr(contains("keep (the value is right), again").and(contains(QUESTION)))
            }
            false => ran.stderr(contains("take, again, back, skip").and(contains("go SPOT"))),
        };
        served.join().expect("as scripted");
    }
}

#[test]
fn a_value_needs_no_word_before_it() {
    let (data, served) = scripted(vec![
        hello(),
        step("POST /v1/routes/control", 200, progress(true)),
    ]);
    benchhand(&data)
        .args(["steer", "v8", "0 to 46.1", "--sure", "--json"])
        .assert()
        .success()
        .stdout(contains("\"job\": \"v8\""));
    let requests = served.join().expect("as scripted");
    let control = requests[1].json();
    assert_eq!(
        control["levels"],
        json!([{"from": "0", "to": "46.1"}]),
        "{control}"
    );
}
