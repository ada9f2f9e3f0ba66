//! `report` from an engine file and a CSV file alone: the document, and each kind of bad input.

use std::fs;
use std::path::PathBuf;

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;
use serde_json::Value;

const ENGINE: &str = include_str!("files/twin.toml");
const READINGS: &str = include_str!("files/twin.csv");

/// An engine file and a CSV file in a separate folder.
struct Files {
    folder: tempfile::TempDir,
}

impl Files {
    fn new(engine: &str, readings: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("twin.toml"), engine).expect("written");
        fs::write(folder.path().join("twin.csv"), readings).expect("written");
        Files { folder }
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    fn report(&self, more: &[&str]) -> Command {
        let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
        command
            .current_dir(self.folder.path())
            .env("BENCHHAND_DATA", self.data())
            .env("NO_COLOR", "1")
            .args(["report", "--engine", "twin.toml", "--readings", "twin.csv"])
            .arg("--full")
            .args(more);
        command
    }
}

fn document(files: &Files) -> Value {
    let output = files.report(&["--json"]).output().expect("it runs");
    assert!(output.status.success(), "{output:?}");
    assert!(output.stderr.is_empty(), "{output:?}");
    serde_json::from_slice(&output.stdout).expect("JSON and nothing else")
}

#[test]
fn the_document_has_its_fixed_form_and_needs_no_store() {
    let files = Files::new(ENGINE, READINGS);
    let document = document(&files);
    assert!(!files.data().exists(), "nothing was kept");
    assert_eq!(document["units"], "metric");
    let cylinders = document["cylinders"].as_array().expect("a list");
    assert_eq!(cylinders.len(), 2);
    for (at, one) in cylinders.iter().enumerate() {
        assert_eq!(one["cylinder"], at + 1);
        for (name, unit) in [
            ("chamber", "cc"),
            ("deck", "mm"),
            ("crown", "cc"),
            ("clearance", "cc"),
            ("compression", "1"),
        ] {
            assert_eq!(one[name]["unit"], unit, "{name}");
            assert!(one[name]["value"].is_f64(), "{name}");
            assert!(one[name]["u"].is_f64(), "{name}");
        }
    }
    for name in ["chamber", "deck", "compression"] {
        for what in ["mean", "spread"] {
            assert!(document["summary"][format!("{name}_{what}")]["value"].is_f64());
        }
    }
    for finding in document["findings"].as_array().expect("a list") {
        assert!(finding["spot"].is_string() && finding["text"].is_string());
        assert_eq!(finding["kind"], "unrepeated");
    }
}

/// Calculated by hand from the geometry (a cylinder's volume is π/4·d²·h): swept 351.858 cc,
/// gasket 5.2810 cc, deck 1.3069 cc; clearance 36.25 + 5.2810 + 1.3069 − 4.0 = 38.8379 cc;
/// compression (351.858 + 38.8379) / 38.8379 = 10.0597.
#[test]
fn the_figures_are_those_of_a_hand_calculation() {
    let document = document(&Files::new(ENGINE, READINGS));
    let one = &document["cylinders"][0];
    let value = |name: &str| one[name]["value"].as_f64().expect("a number");
    assert!(
        (value("clearance") - 38.8379).abs() < 5e-4,
        "{}",
        value("clearance")
    );
    assert!(
        (value("compression") - 10.0597).abs() < 2e-4,
        "{}",
        value("compression")
    );
    assert!((value("deck") - 0.26).abs() < 1e-12);
}

#[test]
fn the_table_says_what_the_document_says() {
    Files::new(ENGINE, READINGS)
        .report(&[])
        .assert()
        .success()
        .stderr("")
        .stdout(
            contains("INVENTED engine")
                .and(contains("10.060 ± 0.0"))
                .and(contains("Not repeated"))
                .and(contains("crown/1, crown/2: measured once only"))
                .and(contains("Each ± covers 95 %"))
                .and(contains("Cautions")),
        );
}

#[test]
fn a_piston_above_the_deck_is_no_error() {
    let document = document(&Files::new(ENGINE, READINGS));
    let deck = document["cylinders"][1]["deck"]["value"]
        .as_f64()
        .expect("a number");
    assert!(deck < 0.0, "{deck}");
}

#[test]
fn bad_input_is_named_with_its_line_and_what_to_do() {
    let readings = |old: &str, new: &str| (ENGINE.to_owned(), READINGS.replace(old, new));
    let engine = |old: &str, new: &str| (ENGINE.replace(old, new), READINGS.to_owned());
    for (name, (engine, readings), words) in [
        (
            "an unknown unit",
            readings("chamber/2,36.4,cc", "chamber/2,36.4,ccm"),
            &[
                "twin.csv:5:",
                "unknown unit \"ccm\"",
                "chamber/2,36.4,ccm,burette",
            ][..],
        ),
        (
            "cylinder 9 of 2",
            readings("chamber/2,36.4", "chamber/9,36.4"),
            &["twin.csv:5:1", "cylinder 9", "cylinders 1 to 2"],
        ),
        (
            "a spot that does not exist",
            readings("crown/1,", "corwn/1,"),
            &["twin.csv:11:1", "corwn", "chamber"],
        ),
        (
            "a bad number",
            readings("deck/1/rear,0.27", "deck/1/rear,0.2.7"),
            &["twin.csv:8:13", "0.2.7"],
        ),
        (
            "a zero bore",
            engine("80 mm +- 0.005 mm", "0 mm"),
            &["twin.toml:7:", "bore = \"0 mm\""],
        ),
        (
            "a gasket smaller than the bore",
            engine("82 mm +- 0.05 mm", "79 mm"),
            &["twin.toml:11:", "gasket"],
        ),
    ] {
        let files = Files::new(&engine, &readings);
        let assert = files.report(&["--json"]).assert().code(3).stdout("");
        let stderr = String::from_utf8(assert.get_output().stderr.clone()).expect("text");
        for word in words {
            assert!(
                stderr.contains(word),
                "{name}: {word:?} is missing in\n{stderr}"
            );
        }
        assert!(!files.data().exists(), "{name}: nothing is kept");
    }
}

#[test]
fn what_is_not_stated_or_cannot_be_leaves_the_rest_of_the_report() {
    let no_stroke = ENGINE.replace("stroke = ", "# stroke = ");
    let shown = Files::new(&no_stroke, READINGS);
    let report = shown.report(&["--json"]).assert().success();
    let report: serde_json::Value =
        serde_json::from_slice(&report.get_output().stdout).expect("JSON");
    assert!(report["cylinders"][0]["chamber"]["value"].is_number());
    assert!(report["cylinders"][0]["compression"].is_null());

    let no_volume = READINGS.replace("crown/1,4.0", "crown/1,60");
    let shown = Files::new(ENGINE, &no_volume);
    let report = shown.report(&["--json"]).assert().success();
    let report: serde_json::Value =
        serde_json::from_slice(&report.get_output().stdout).expect("JSON");
    let first = &report["findings"][0];
    assert_eq!(first["kind"], "impossible", "{first}");
    let text = first["text"].as_str().expect("words");
    assert!(
        text.contains("cylinder 1") && text.contains("total volume at TDC"),
        "{text}"
    );
    assert!(report["cylinders"][0]["compression"].is_null());
    assert!(report["cylinders"][1]["compression"]["value"].is_number());
}

#[test]
fn a_stage_that_is_not_there_is_named_beside_those_that_are() {
    Files::new(ENGINE, READINGS)
        .report(&["--stage", "milled 9"])
        .assert()
        .code(4)
        .stdout("")
        .stderr(contains("milled 9").and(contains("as received")));
}

#[test]
fn a_file_that_is_no_text_is_refused() {
    let files = Files::new(ENGINE, READINGS);
    fs::write(files.folder.path().join("twin.csv"), [0xFF, 0xFE, 0x00]).expect("written");
    files
        .report(&[])
        .assert()
        .code(3)
        .stdout("")
        .stderr(contains("twin.csv is not UTF-8 text"));
}
