//! The tables of a job as CSV, from outside: what stands in them is what the report's document says.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use predicates::str::contains;
use serde_json::Value;

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../examples")
        .join(name)
}

fn run(data: &Path, words: &[&str]) -> Command {
    let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
    command
        .env("BENCHHAND_DATA", data)
        .env_remove("BENCHHAND_LOG")
        .env("NO_COLOR", "1")
        .args(words);
    command
}

/// The rows of a file, each as the cells by their headings.
fn rows(file: &Path) -> Vec<std::collections::BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(file).expect("a CSV file");
    let read = reader.deserialize().map(|row| row.expect("a row"));
    read.collect()
}

#[test]
fn every_figure_of_the_report_stands_in_a_table_and_nothing_is_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let engine = example("invented-v8.toml").display().to_string();
    run(&data, &["job", "new", "v8", &engine])
        .assert()
        .success();
    let readings = example("invented-v8-readings.csv").display().to_string();
    run(&data, &["import", "v8", &readings, "--sure"])
        .assert()
        .success();
    let out = folder.path().join("tables");
    let shown = out.display().to_string();
    let export = ["export", "tables", "v8", "--out", &shown];
    run(&data, &export)
        .assert()
        .success()
        .stdout(contains("cylinders.csv"));

    let report = run(&data, &["report", "v8", "--json"])
        .output()
        .expect("it runs");
    let report: Value = serde_json::from_slice(&report.stdout).expect("JSON");
    let number = |cell: &str| cell.parse::<f64>().expect("a number");
    let cylinders = rows(&out.join("cylinders.csv"));
    let told = report["cylinders"].as_array().expect("cylinders");
    assert_eq!(cylinders.len(), told.len());
    let mut compared = 0;
    for (row, one) in cylinders.iter().zip(told) {
        for figure in ["chamber", "deck", "clearance", "compression"] {
            assert_eq!(number(&row[figure]), one[figure]["value"].as_f64().unwrap());
            assert_eq!(
                row[&format!("{figure}.unit")],
                one[figure]["unit"].as_str().unwrap()
            );
            let u = &row[&format!("{figure}.u")];
            assert_eq!(u.parse::<f64>().ok(), one[figure]["u"].as_f64(), "{figure}");
            compared += 1;
        }
    }
    assert_eq!(compared, 32);
    let flow = rows(&out.join("flow.csv"));
    assert_eq!(flow.len(), report["flow"].as_array().unwrap().len());
    let readings = rows(&out.join("readings.csv"));
    assert_eq!(readings[0]["number"], "1");
    assert_eq!(readings[0]["spot"], "chamber/1");
    let summary = rows(&out.join("summary.csv"));
    let mean = summary
        .iter()
        .find(|row| row["name"] == "summary.compression_mean")
        .expect("the mean");
    let wanted = report["summary"]["compression_mean"]["value"].as_f64();
    assert_eq!(mean["value"].parse::<f64>().ok(), wanted);

    // A folder that holds something is left as it is.
    run(&data, &export)
        .assert()
        .code(5)
        .stderr(contains("holds something already"));
}
