//! Following a route and the gauges over the event stream of a scripted daemon: lost
//! connections, missed events, Ctrl-C.

mod scripted;

use predicates::prelude::*;
use predicates::str::contains;
use serde_json::{Value, json};

use scripted::{Step, benchhand, hello, scripted, step};

fn progress(taken: usize, running: bool) -> Value {
    let stop = |cylinder: usize| {
        let state = if cylinder <= taken { "taken" } else { "left" };
        json!({"spot": format!("chamber/{cylinder}"), "round": 1, "state": state,
               "gauge": "burette"})
    };
    let mut progress = json!({"job": "v8", "route": "chambers", "title": "chamber volumes",
        "running": running, "done": taken == 2, "prompt": "fill the chamber",
        "stops": [stop(1), stop(2)], "cautions": ["no open flame"]});
    if taken < 2 {
        progress["at"] = json!(taken);
    }
    progress
}

fn gauge(link: &str) -> Value {
    json!({"setup": {"name": "burette", "profile": "ascii-volume", "port": "/dev/ttyUSB0",
           "sense": 1}, "kind": "volume", "link": link})
}

fn state(id: u64) -> Step {
    step(
        "GET /v1/state",
        200,
        json!({"id": id, "gauges": [gauge("live")], "routes": []}),
    )
}

fn route_event(id: u64, taken: usize, running: bool) -> Value {
    json!({"id": id, "event": "route", "progress": progress(taken, running)})
}

fn reading_event(id: u64, cylinder: usize) -> Value {
    json!({"id": id, "event": "reading", "job": "v8", "reading": {"id": 50 + id, "number": 40 + id,
        "spot": format!("chamber/{cylinder}"), "stage": "as received", "state": "final",
        "figure": {"value": 64.21, "u": 0.05, "unit": "cc"}, "gauge": "burette",
        "source": "captured", "round": 1, "at": "2026-03-02T09:14:05Z"}})
}

#[test]
fn a_route_is_followed_to_its_end_and_nothing_is_missed_over_a_lost_connection() {
    let (data, served) = scripted(vec![
        hello(),
        state(7),
        Step::Listen,
        step("POST /v1/routes/start", 200, progress(0, true)),
        Step::Tell(vec![reading_event(8, 1), route_event(9, 1, true)]),
        Step::HangUp,
        Step::Listen,
        Step::Tell(vec![
            json!({"id": 9, "event": "caught", "missed": false}),
            reading_event(10, 2),
            route_event(11, 2, false),
        ]),
    ]);
    let measure = [
        "measure",
        "v8",
        "chambers",
        "--gauge",
        "volume=burette",
        "--cylinders",
        "1,2",
    ];
    benchhand(&data).args(measure).assert().success().stdout(
        contains("! no open flame")
            .and(contains("now chamber/2 (round 1): fill the chamber"))
            .and(contains(
                "final      chamber/1  64.21 ± 0.10 cc  (reading 48, burette)",
            ))
            .and(contains("final      chamber/2"))
            .and(contains("2 of 2 stops taken, done"))
            .and(contains("benchhand report v8")),
    );
    let requests = served.join().expect("as scripted");
    let started = requests[3].json();
    assert_eq!(started["gauges"], json!({"volume": "burette"}));
    assert_eq!(started["cylinders"], json!([1, 2]));
    assert_eq!(
        requests[2].header("last-event-id"),
        Some("7"),
        "from the state on"
    );
    assert_eq!(
        requests[4].header("last-event-id"),
        Some("9"),
        "from where it was lost"
    );
}

#[test]
fn where_events_were_missed_the_end_of_a_route_is_still_seen() {
    let shown = json!({"summary": {"name": "v8", "engine": "invented", "opened": "x",
        "changed": "x", "stage": "as received", "readings": 2, "folder": "/data/jobs/v8"},
        "stages": [], "readings": []});
    let (data, served) = scripted(vec![
        hello(),
        state(7),
        Step::Listen,
        step("POST /v1/routes/start", 200, progress(0, true)),
        Step::Tell(vec![json!({"id": 7, "event": "caught", "missed": true})]),
        state(9000),
        step("GET /v1/jobs/show?job=v8", 200, shown),
    ]);
    benchhand(&data)
        .args(["measure", "v8", "chambers"])
        .assert()
        .success()
        .stdout(contains("some events were missed"));
    served.join().expect("as scripted");
}

#[test]
fn with_json_one_event_a_line_and_nothing_else() {
    let of_another = json!({"id": 8, "event": "say", "job": "other", "said_as": "note",
                            "text": "of no concern"});
    let (data, served) = scripted(vec![
        hello(),
        state(7),
        Step::Listen,
        step("POST /v1/routes/start", 200, progress(1, true)),
        Step::Tell(vec![
            of_another,
            reading_event(9, 2),
            route_event(10, 2, false),
        ]),
    ]);
    let output = benchhand(&data)
        .args(["measure", "v8", "chambers", "--json"])
        .output()
        .expect("it runs");
    assert!(output.status.success(), "{output:?}");
    assert!(output.stderr.is_empty(), "{output:?}");
    let text = String::from_utf8(output.stdout).expect("text");
    let events: Vec<Value> = text
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    let names: Vec<&str> = events
        .iter()
        .filter_map(|event| event["event"].as_str())
        .collect();
    assert_eq!(names, ["reading", "route"]);
    assert_eq!(events[1]["progress"]["running"], json!(false));
    served.join().expect("as scripted");
}

#[test]
fn a_gauge_that_is_lost_is_said_in_the_live_view_and_the_end_of_the_daemon_too() {
    let mut lost = gauge("lost");
    lost["todo"] = json!("plug it in again");
    let (data, served) = scripted(vec![
        hello(),
        state(7),
        Step::Listen,
        Step::Tell(vec![
            json!({"id": 8, "event": "link", "gauge": lost}),
            json!({"id": 9, "event": "stopping"}),
        ]),
    ]);
    benchhand(&data)
        .arg("live")
        .assert()
        .code(14)
        .stdout(contains("! burette is lost: plug it in again"))
        .stderr(contains("the daemon ended"));
    served.join().expect("as scripted");
}

#[test]
fn watching_a_gauge_that_is_not_there_is_refused() {
    let (data, served) = scripted(vec![hello(), state(0), Step::Listen]);
    benchhand(&data)
        .args(["gauge", "watch", "depth"])
        .assert()
        .code(4)
        .stdout("")
        .stderr(contains("no gauge is called \"depth\""));
    served.join().expect("as scripted");
}

#[cfg(unix)]
#[test]
fn ctrl_c_leaves_the_route_half_way_and_says_how_to_take_it_up() {
    use std::process::{Command, Stdio};
    use std::sync::mpsc;

    let (ask_for_it, asked_for) = mpsc::channel();
    let (data, served) = scripted(vec![
        hello(),
        state(7),
        Step::Listen,
        step("POST /v1/routes/start", 200, progress(1, true)),
        Step::Then(Box::new(move || {
            ask_for_it.send(()).expect("the test waits")
        })),
        step("POST /v1/routes/control", 200, progress(1, false)),
        Step::Tell(vec![route_event(8, 1, false)]),
    ]);
    let child = Command::new(benchhand(&data).get_program())
        .args(["measure", "v8", "chambers"])
        .env("BENCHHAND_DATA", data.path())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it runs");
    asked_for.recv().expect("the route was started");
    let pid = rustix::process::Pid::from_child(&child);
    rustix::process::kill_process(pid, rustix::process::Signal::INT).expect("sent");
    let output = child.wait_with_output().expect("it ends");
    let text = String::from_utf8(output.stdout).expect("text");
    assert_eq!(output.status.code(), Some(130), "{text}");
    assert!(text.contains("stands half-way"), "{text}");
    assert!(text.contains("benchhand measure v8 chambers"), "{text}");
    let requests = served.join().expect("as scripted");
    let control = requests.last().expect("the last request").json();
    assert_eq!(control, json!({"job": "v8", "control": "end"}));
}
