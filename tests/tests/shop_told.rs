//! What a station of a shop tells of another one's journal that it cannot read or whose clock was wrong:
//! nothing of a job is missing, or out of its order, without a word.

#![cfg(target_os = "linux")]

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use benchhand_testbed::postgres::PostgresServer;
use benchhand_tests::shop::Shop;
use serde_json::Value;

/// How long a line may take from one station to another before a test fails.
const PATIENCE: Duration = Duration::from_secs(60);

/// Enters what the burette of a station showed, which the engine file knows.
fn enter(shop: &Shop, spot: &str, value: &str) {
    let args = ["enter", "v8", spot, value, "--gauge", "burette", "--sure"];
    shop.program.json(&args);
}

/// Two stations of one job that both measured; their daemons have ended. Gives the first
/// one's folder.
fn two_stations() -> Shop {
    let server = PostgresServer::start();
    server.sql("postgres", "create role owner login createrole");
    server.sql("postgres", "create database shop owner owner");
    let (office, pour) = (Shop::with_job(), Shop::new());
    let url = server.url("owner", "shop");
    let (at_office, at_pour) = (office.program.serve(&[]), pour.program.serve(&[]));
    for daemon in [&at_office, &at_pour] {
        daemon.program.json(&["shop", "join", &url]);
    }
    let end = Instant::now() + PATIENCE;
    let until = |holds: &dyn Fn() -> bool| {
        while !holds() {
            assert!(Instant::now() < end, "a line did not come in time");
            std::thread::sleep(Duration::from_millis(50));
        }
    };
    until(&|| at_pour.api.get("jobs/show?job=v8").status == 200);
    for station in [&office, &pour] {
        station.chambers_are_set_up();
    }
    enter(&pour, "chamber/1", "64.2 cc");
    until(&|| {
        let job = at_office.api.get("jobs/show?job=v8").good();
        job["readings"]
            .as_array()
            .is_some_and(|all| !all.is_empty())
    });
    enter(&office, "chamber/3", "64.1 cc");
    at_pour.kill();
    at_office.kill();
    office
}

/// The journal of the other station.
fn other_journal(shop: &Shop) -> PathBuf {
    let mut all = std::fs::read_dir(shop.job().join("stations")).expect("journals of others");
    all.next().expect("one").expect("a name").path()
}

/// Adds a line to a journal that follows on its last one; `fields` stand where those of the envelope do.
fn add(journal: &Path, version: u32, fields: &str, fact: &str) {
    let text = std::fs::read_to_string(journal).expect("a journal");
    let last: Value = serde_json::from_str(text.lines().last().expect("a line")).expect("JSON");
    let seq = last["seq"].as_u64().expect("a number") + 1;
    let (at, prev) = (&last["at"], &last["sum"]);
    let body = format!(
        "{{\"v\":{version},\"seq\":{seq},\"at\":{at}{fields},\"prev\":{prev},\"fact\":{fact}"
    );
    let sum = blake3::hash(body.as_bytes()).to_hex();
    let more = format!("{text}{body},\"sum\":\"{sum}\"}}\n");
    std::fs::write(journal, more).expect("it is written");
}

#[test]
fn lines_of_a_newer_program_and_a_clock_that_is_ahead_are_told_of() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let office = two_stations();
    let shown = || office.program.run(&["job", "show", "v8"]).good().out;
    let report = || office.program.run(&["report", "v8", "--full"]).good().out;
    for told in [shown(), report()] {
        assert!(
            !told.contains("newer program") && !told.contains("ahead of"),
            "{told}"
        );
    }
    let journal = other_journal(&office);
    let hours =
        |n: i64| (jiff::Timestamp::now() + jiff::SignedDuration::from_hours(n)).as_microsecond();
    add(&journal, 1, &format!(",\"stamp\":{}", hours(5)), "\"stop\"");
    let told = shown();
    let ahead = "! what station B kept last is 4 h ahead of the clock here";
    let ahead_not_yet_over = ahead.replace("4 h", "5 h");
    assert!(
        told.contains(ahead) || told.contains(&ahead_not_yet_over),
        "{told}"
    );

    add(&journal, 2, "", "\"melted\",\"value\":61");
    add(&journal, 2, "", "\"melted\",\"value\":62");
    let unread = "2 lines of station B are of a newer program and not understood here";
    for told in [shown(), report()] {
        assert!(told.contains(unread), "{told}");
    }
    // What is understood stands, and own work goes on.
    enter(&office, "chamber/2", "64.3 cc");
    assert_eq!(office.readings().len(), 3);
}

/// What two stations measured is measured with two gauges, also where both call theirs alike: what one
/// gauge shows wrong cancels between its own readings, and not between theirs.
#[test]
fn readings_of_two_stations_are_set_ups_of_their_own_with_gauges_of_their_own() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (office, alone) = (two_stations(), Shop::with_job());
    alone.chambers_are_set_up();
    for (spot, value) in [("chamber/1", "64.2 cc"), ("chamber/3", "64.1 cc")] {
        enter(&alone, spot, value);
    }
    let spread = |shop: &Shop| {
        let report = shop.program.json(&["report", "v8"]);
        let spread = report["summary"]["chamber_spread"].clone();
        let number = |field: &str| spread[field].as_f64();
        let both = number("value").zip(number("u"));
        both.unwrap_or_else(|| panic!("no spread: {report}"))
    };
    let ((between, u_between), (once, u_once)) = (spread(&office), spread(&alone));
    assert!((between - once).abs() < 1e-9, "{between} {once}");
    assert!(u_between > 1.1 * u_once, "{u_between} {u_once}");
}
