//! How the daemon ends, what it finds when it begins again, and who may begin.

#![cfg(unix)]

use std::io::Write;

use benchhand_tests::shop::{Shop, example};
use rustix::process::Signal;
use serde_json::json;

#[test]
fn a_signal_ends_it_in_good_order_and_loses_nothing() {
    for signal in [Signal::TERM, Signal::INT] {
        let shop = Shop::with_job();
        let daemon = shop.program.serve(&[]);
        for cylinder in 1..=8 {
            let body =
                json!({"job": "v8", "spot": format!("chamber/{cylinder}"), "value": "64.2 cc"});
            let key = format!("before the end {cylinder}");
            daemon
                .api
                .post("readings/enter", &key, &body)
                .unwrap()
                .good();
        }
        let ran = daemon.signal(signal);
        assert_eq!(ran.code, 0, "{signal:?}: {}", ran.err);
        assert!(
            !shop.program.data().join("daemon.json").exists(),
            "a client would look for it"
        );
        assert_eq!(shop.readings().len(), 8);
        let journal = String::from_utf8(shop.journal()).unwrap();
        let last = journal.lines().last().unwrap();
        assert!(last.contains(r#""fact":"stop""#), "{last}");
        assert_eq!(
            shop.program.json(&["job", "verify", "v8"])["broken"],
            json!(null)
        );
    }
}

#[test]
fn a_signal_at_once_after_it_answers_ends_it_in_good_order_too() {
    let shop = Shop::new();
    for _ in 0..10 {
        let ran = shop.program.serve(&[]).signal(Signal::TERM);
        assert_eq!(ran.code, 0, "{}", ran.err);
    }
}

#[test]
fn whoever_watches_or_says_nothing_does_not_hold_it_open() {
    let shop = Shop::new();
    let daemon = shop.program.serve(&[]);
    let mut events = daemon.api.events(None);
    events.next_event().expect("it is watched");
    let silent = std::net::TcpStream::connect(&daemon.api.address).unwrap();
    let mut half = std::net::TcpStream::connect(&daemon.api.address).unwrap();
    half.write_all(b"GET /v1/hello HTTP/1.1\r\nhost: ").unwrap();
    let ran = daemon.signal(Signal::TERM);
    assert_eq!(ran.code, 0, "{}", ran.err);
    drop((silent, half));
}

#[test]
fn stop_waits_for_the_end() {
    let shop = Shop::with_job();
    let daemon = shop.program.serve(&[]);
    let pid = daemon.pid();
    assert_eq!(shop.program.json(&["stop"])["pid"], pid);
    assert_eq!(daemon.end().code, 0);
    let ran = shop.program.run(&["stop"]);
    assert_eq!(ran.code, 14, "{}", ran.err);
    assert!(ran.err.contains("no daemon runs"), "{}", ran.err);
}

#[test]
fn a_torn_last_line_is_set_aside_and_reported() {
    let shop = Shop::with_job();
    for cylinder in ["chamber/1", "chamber/2"] {
        shop.program.json(&["enter", "v8", cylinder, "64.2", "cc"]);
    }
    let before = shop.journal();
    let torn = br#"{"v":1,"seq":9,"at":"2026-03-02T09:14:05Z","fact":"fin"#;
    let path = shop.job().join("journal.ndjson");
    let mut file = std::fs::OpenOptions::new()
        .append(true)
        .open(&path)
        .unwrap();
    file.write_all(torn).unwrap();
    drop(file);

    // Reading changes nothing, and says so already.
    let shown = shop.program.json(&["job", "show", "v8"]);
    let notes = shown["notes"].to_string();
    assert!(notes.contains("never finished"), "{notes}");
    assert!(notes.contains(&torn.len().to_string()), "{notes}");
    assert_eq!(shop.readings().len(), 2);

    let daemon = shop.program.serve(&[]);
    let shown = daemon.api.get("jobs/show?job=v8").good();
    assert!(
        shown["notes"].to_string().contains("never finished"),
        "{shown}"
    );
    shop.program
        .json(&["enter", "v8", "chamber/3", "64.3", "cc"]);
    drop(daemon);
    let after = shop.journal();
    assert!(
        after.starts_with(&before),
        "what was acknowledged was touched"
    );
    let aside: Vec<_> = std::fs::read_dir(shop.job())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            path.file_name()
                .unwrap()
                .to_string_lossy()
                .starts_with("torn-")
        })
        .collect();
    assert_eq!(aside.len(), 1, "{aside:?}");
    assert_eq!(std::fs::read(&aside[0]).unwrap(), torn);
    assert_eq!(
        shop.program.json(&["job", "verify", "v8"])["broken"],
        json!(null)
    );
    assert_eq!(shop.readings().len(), 3);
}

#[test]
fn a_line_that_was_changed_is_named_and_nothing_more_is_written() {
    let shop = Shop::with_job();
    for cylinder in ["chamber/1", "chamber/2"] {
        shop.program.json(&["enter", "v8", cylinder, "64.2", "cc"]);
    }
    let path = shop.job().join("journal.ndjson");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replacen("64.2", "46.2", 1)).unwrap();
    let changed = shop.journal();
    let ran = shop.program.run(&["job", "verify", "v8", "--json"]);
    assert_eq!(ran.code, 12, "{}", ran.err);
    let broken = ran.json()["broken"].to_string();
    let line = text.lines().position(|l| l.contains("64.2")).unwrap() + 1;
    assert!(broken.contains(&format!("line {line}")), "{broken}");
    let ran = shop
        .program
        .run(&["enter", "v8", "chamber/3", "64.2", "cc"]);
    assert_eq!(ran.code, 12, "{}", ran.err);
    assert_eq!(shop.journal(), changed);
}

#[test]
fn of_two_daemons_on_one_folder_the_second_names_the_first() {
    let shop = Shop::new();
    let first = shop.program.serve(&[]);
    let named = format!("process {}", first.pid());
    let ran = shop.program.run(&["serve"]);
    assert_eq!(ran.code, 10, "{}", ran.err);
    assert!(ran.err.contains(&named), "{}", ran.err);
    assert!(ran.err.contains("benchhand stop"), "{}", ran.err);

    // Where the first cannot be asked, the lock still tells who it is.
    std::fs::remove_file(shop.program.data().join("daemon.json")).unwrap();
    let engine = example("invented-v8.toml");
    for command in [
        &["serve"][..],
        &["job", "new", "v8", engine.to_str().unwrap()],
    ] {
        let ran = shop.program.run(command);
        assert_eq!(ran.code, 10, "{command:?}: {}", ran.err);
        assert!(ran.err.contains(&named), "{command:?}: {}", ran.err);
    }
    assert!(!shop.job().exists());
}

#[test]
fn a_leftover_of_a_daemon_that_was_killed_is_passed_over() {
    let shop = Shop::with_job();
    shop.program.serve(&[]).kill();
    assert!(shop.program.data().join("daemon.json").exists());
    shop.program
        .json(&["enter", "v8", "chamber/1", "64.2", "cc"]);
    let ran = shop.program.serve(&[]).signal(Signal::TERM);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(shop.values_at("chamber/1"), [64.2]);
}
