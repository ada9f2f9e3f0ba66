//! Jobs without a daemon. Each command is answered inside its own process, and the next command
//! sees what it kept.

use std::path::Path;

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;
use serde_json::Value;

/// A data folder with a job on the two-cylinder engine of the test files.
struct Shop {
    data: tempfile::TempDir,
}

impl Shop {
    fn new() -> Self {
        let shop = Shop {
            data: tempfile::tempdir().expect("a folder"),
        };
        shop.run(&["job", "new", "twin", "twin.toml"])
            .assert()
            .success();
        shop
    }

    fn run(&self, arguments: &[&str]) -> Command {
        let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
        command
            .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/files"))
            .env("BENCHHAND_DATA", self.data.path())
            .env("NO_COLOR", "1")
            .args(arguments);
        command
    }

    fn json(&self, arguments: &[&str]) -> Value {
        let output = self.run(arguments).arg("--json").output().expect("it runs");
        assert!(output.status.success(), "{arguments:?}: {output:?}");
        assert!(output.stderr.is_empty(), "{arguments:?}: {output:?}");
        serde_json::from_slice(&output.stdout).expect("JSON and nothing else")
    }

    /// The journal's bytes on the disk.
    fn journal(&self) -> Vec<u8> {
        std::fs::read(self.data.path().join("jobs/twin/journal.ndjson")).expect("a journal")
    }
}

fn value(document: &Value, cylinder: usize, name: &str) -> Option<f64> {
    document["cylinders"][cylinder - 1][name]["value"].as_f64()
}

#[test]
fn what_is_imported_is_reported_as_from_the_files_alone() {
    let shop = Shop::new();
    shop.run(&["import", "twin", "twin.csv"])
        .assert()
        .success()
        .stdout(contains("10 readings"));
    let of_job = shop.json(&["report", "twin"]);
    let of_files = shop.json(&["report", "--engine", "twin.toml", "--readings", "twin.csv"]);
    for cylinder in [1, 2] {
        for name in ["chamber", "deck", "crown", "clearance", "compression"] {
            assert_eq!(
                value(&of_job, cylinder, name),
                value(&of_files, cylinder, name),
                "{name}"
            );
        }
    }
    assert_eq!(shop.json(&["job", "list"])["jobs"][0]["readings"], 10);
    assert!(shop.json(&["job", "verify", "twin"])["broken"].is_null());
}

#[test]
fn one_bad_row_and_nothing_of_the_file_is_kept() {
    let shop = Shop::new();
    let before = shop.journal();
    let bad = shop.data.path().join("bad.csv");
    std::fs::write(
        &bad,
        "spot,value,unit\nchamber/1,36.2,cc\nchamber/3,36.2,cc\n",
    )
    .expect("written");
    let bad = bad.to_str().expect("text");
    shop.run(&["import", "twin", bad])
        .assert()
        .code(3)
        .stdout("")
        .stderr(
            contains("bad.csv:3:")
                .and(contains("chamber/3,36.2,cc"))
                .and(contains("cylinders 1 to 2")),
        );
    assert_eq!(shop.journal(), before);
}

#[test]
fn levels_are_summed_in_either_direction_of_counting() {
    let shop = Shop::new();
    let up = shop.json(&[
        "enter",
        "twin",
        "chamber/1",
        "--from",
        "0.0cc",
        "--to",
        "30.0cc",
        "--from",
        "1.0cc",
        "--to",
        "7.2cc",
    ]);
    assert!(
        (up["value"].as_f64().expect("a number") - 36.2).abs() < 1e-9,
        "{up}"
    );
    let down = shop.json(&[
        "enter",
        "twin",
        "chamber/1",
        "--from",
        "50 cc",
        "--to",
        "13.7 cc",
    ]);
    assert!(
        (down["value"].as_f64().expect("a number") - 36.3).abs() < 1e-9,
        "{down}"
    );
    let mean = value(&shop.json(&["report", "twin"]), 1, "chamber").expect("a chamber");
    assert!((mean - 36.25).abs() < 1e-9, "{mean}");
}

#[test]
fn a_move_changes_both_spots_and_a_void_leaves_the_reading_in_the_record() {
    let shop = Shop::new();
    for (spot, value) in [
        ("chamber/1", "36.2"),
        ("chamber/1", "36.9"),
        ("chamber/2", "36.5"),
    ] {
        shop.run(&["enter", "twin", spot, value, "cc"])
            .assert()
            .success();
    }
    let readings = shop.json(&["job", "show", "twin"])["readings"].clone();
    let id = readings[1]["number"].to_string();
    shop.run(&[
        "move",
        "twin",
        &id,
        "chamber/2",
        "--reason",
        "wrong cylinder called out",
    ])
    .assert()
    .success()
    .stdout(contains("Moved from chamber/1 to chamber/2"));
    let report = shop.json(&["report", "twin"]);
    assert!((value(&report, 1, "chamber").expect("a chamber") - 36.2).abs() < 1e-9);
    assert!((value(&report, 2, "chamber").expect("a chamber") - 36.7).abs() < 1e-9);

    let third = readings[2]["number"].to_string();
    shop.run(&["void", "twin", &third, "--reason", "a bubble"])
        .assert()
        .success()
        .stdout(contains("1 reading is left there"));
    shop.run(&["job", "show", "twin"])
        .assert()
        .success()
        .stdout(contains("voided").and(contains("a bubble")));
    shop.run(&["void", "twin", "9999", "--reason", "x"])
        .assert()
        .failure()
        .stdout("");
}

#[test]
fn a_cut_keeps_the_stages_apart() {
    let shop = Shop::new();
    shop.run(&["import", "twin", "twin.csv"]).assert().success();
    let cut = [
        "--stage",
        "milled 1",
        "--what",
        "0.25 mm off the head",
        "--changes",
        "chamber",
    ];
    shop.run(&["job", "cut", "twin"])
        .args(cut)
        .assert()
        .success()
        .stdout(contains("milled 1"));
    for (spot, value) in [("chamber/1", "35.0"), ("chamber/2", "35.1")] {
        shop.run(&["enter", "twin", spot, value, "cc"])
            .assert()
            .success();
    }
    let before = shop.json(&["report", "twin", "--stage", "as received"]);
    let after = shop.json(&["report", "twin", "--stage", "milled 1"]);
    assert!((value(&before, 1, "chamber").expect("a chamber") - 36.25).abs() < 1e-9);
    assert!((value(&after, 1, "chamber").expect("a chamber") - 35.0).abs() < 1e-9);
    assert_eq!(
        value(&before, 1, "deck"),
        value(&after, 1, "deck"),
        "the cut did not change the deck"
    );
}

#[test]
fn what_is_not_there_or_is_there_already_is_told_apart() {
    let shop = Shop::new();
    shop.run(&["job", "new", "twin", "twin.toml"])
        .assert()
        .code(5)
        .stderr(contains("twin"));
    shop.run(&["job", "show", "other"])
        .assert()
        .code(4)
        .stderr(contains("other"));
    shop.run(&["enter", "twin", "chamber/9", "36.2 cc"])
        .assert()
        .code(3)
        .stderr(contains("cylinders 1 to 2"));
    shop.run(&["enter", "twin", "chamber/1", "36.2 furlong"])
        .assert()
        .code(3);
    shop.run(&["ports", "/dev/there-is-no-such-port"])
        .assert()
        .code(6)
        .stdout(contains("absent").and(contains("no such port")));
    let missing = Path::new("nowhere.toml");
    assert!(!missing.exists());
    shop.run(&["job", "new", "second", "nowhere.toml"])
        .assert()
        .code(4);
    assert_eq!(
        shop.json(&["job", "list"])["jobs"].as_array().map(Vec::len),
        Some(1)
    );
}

#[test]
fn a_record_that_was_changed_by_hand_is_found_out() {
    let shop = Shop::new();
    shop.run(&["import", "twin", "twin.csv"]).assert().success();
    let path = shop.data.path().join("jobs/twin/journal.ndjson");
    let text = std::fs::read_to_string(&path).expect("a journal");
    assert!(text.contains("36.2"), "the reading that is forged below");
    std::fs::write(&path, text.replacen("36.2", "36.1", 1)).expect("written");
    let output = shop
        .run(&["job", "verify", "twin", "--json"])
        .output()
        .expect("it runs");
    assert_eq!(output.status.code(), Some(12), "{output:?}");
}
