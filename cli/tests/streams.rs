//! `play` and `replay` on recorded streams, without daemon, store or port.

use std::fs;

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;
use serde_json::Value;

/// An ASCII dial that rests, moves, and rests again.
fn stream() -> String {
    let header = concat!(
        r#"{"stream":1,"profile":"ascii-length","line":{"baud":9600,"format":"8N1"},"#,
        r#""origin":"synthesised","note":"made for this test"}"#
    );
    let mut text = format!("{header}\n");
    for tick in 0..100u32 {
        let value = match tick {
            0..30 => 0.0,
            30..40 => 0.1 * f64::from(tick - 30),
            _ => 1.0,
        };
        text += &format!(
            "[{},\"rx\",\"{value:+.3} mm\\r\\n\"]\n",
            (tick + 1) * 100_000
        );
    }
    text
}

fn run(text: &str, arguments: &[&str]) -> (tempfile::TempDir, Command) {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("dial.ndjson"), text).expect("written");
    let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
    command
        .current_dir(folder.path())
        .env("NO_COLOR", "1")
        .args(arguments);
    (folder, command)
}

fn lines(output: &[u8]) -> Vec<Value> {
    let text = std::str::from_utf8(output).expect("text");
    text.lines()
        .map(|line| serde_json::from_str(line).expect("one object a line"))
        .collect()
}

#[test]
fn a_stream_is_decoded_one_sample_a_line() {
    let (_folder, mut command) = run(&stream(), &["play", "dial.ndjson", "--json"]);
    let output = command
        .assert()
        .success()
        .stderr("")
        .get_output()
        .stdout
        .clone();
    let samples = lines(&output);
    assert_eq!(samples.len(), 100);
    assert_eq!(samples[35]["value"], 0.5);
    assert_eq!(samples[35]["unit"], "mm");
    assert_eq!(samples[35]["at_us"], 3_600_000);
}

#[test]
fn the_table_says_where_a_stream_comes_from() {
    let (_folder, mut command) = run(&stream(), &["play", "dial.ndjson"]);
    command
        .assert()
        .success()
        .stdout(contains("the stream is synthesised"));
}

#[test]
fn settling_is_captured_where_it_came_to_rest_after_a_departure() {
    let (_folder, mut command) = run(
        &stream(),
        &["replay", "dial.ndjson", "--mode", "settle", "--json"],
    );
    let output = command
        .assert()
        .success()
        .stderr("")
        .get_output()
        .stdout
        .clone();
    let events = lines(&output);
    let last = events.last().expect("a capture");
    assert_eq!(last["state"], "final");
    assert!(
        (last["value"].as_f64().expect("a number") - 1.0).abs() < 1e-9,
        "{last}"
    );
    assert_eq!(last["unit"], "mm");
    for field in ["n", "sd", "at_us"] {
        assert!(last[field].is_number(), "{field} in {last}");
    }
    assert!(
        last["at_us"].as_u64().expect("whole") > 4_000_000,
        "not before it came to rest"
    );
}

#[test]
fn a_damaged_stream_is_shown_at_its_line() {
    let damaged = stream().replacen("[200000,", "[2000x0,", 1);
    let (_folder, mut command) = run(&damaged, &["play", "dial.ndjson", "--json"]);
    command.assert().code(3).stdout("").stderr(
        contains("dial.ndjson:3:")
            .and(contains("[2000x0,"))
            .and(contains("what to do")),
    );
}

/// A profile that is not built in is given beside the stream. Without it the refusal says how.
#[test]
fn a_stream_of_a_gauge_of_ones_own_is_played_with_its_own_profile() {
    let own = stream().replace("ascii-length", "my-dial");
    let (folder, mut command) = run(&own, &["play", "dial.ndjson", "--json"]);
    command.assert().code(4).stderr(contains("--profile-file"));
    let built_in = include_str!("../../drivers/profiles/ascii-length.toml");
    let mine = built_in.replace("\"ascii-length\"", "\"my-dial\"");
    fs::write(folder.path().join("my-dial.toml"), &mine).expect("written");
    let with_profile = |arguments: &[&str]| {
        let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
        command.current_dir(folder.path()).args(arguments);
        command.args(["dial.ndjson", "--profile-file", "my-dial.toml", "--json"]);
        let output = command.assert().success().get_output().stdout.clone();
        lines(&output)
    };
    assert_eq!(with_profile(&["play"]).len(), 100);
    let events = with_profile(&["replay", "--mode", "settle"]);
    assert_eq!(events.last().expect("a capture")["state"], "final");
    fs::write(folder.path().join("my-dial.toml"), "profile = 1\n").expect("written");
    let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
    command.current_dir(folder.path()).args([
        "play",
        "dial.ndjson",
        "--profile-file",
        "my-dial.toml",
    ]);
    command.assert().code(3).stderr(contains("my-dial.toml:"));
}

/// The demo's dial counts in fives of its last digit. Eight crowns rest under it. By its last
/// digit alone, one of them would never rest.
#[test]
fn a_dial_that_counts_in_fives_is_judged_by_what_it_can_show() {
    let file = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../recorded-streams/demo/dial-crowns.ndjson"
    );
    let replay = |more: &[&str]| {
        let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
        command.args(["replay", file, "--mode", "settle", "--json"]);
        command.args(more);
        command.assert()
    };
    let told = replay(&["--resolution", "0.0005 in"]).success();
    let rests = lines(&told.get_output().stdout);
    assert_eq!(rests.iter().filter(|r| r["state"] == "final").count(), 8);
    for wrong in ["0.0005 cc", "0.0005", "-0.0005 in"] {
        let asked = format!("--resolution={wrong}");
        replay(&[&asked])
            .code(3)
            .stderr(contains("resolution").or(contains("0.0005")));
    }
}

/// Notes are printed, and an empty answer says why. A mode that does not fit is refused.
#[test]
fn a_replay_says_what_was_noticed_and_why_nothing_came_of_it() {
    let (_folder, mut command) = run(
        &stream(),
        &[
            "replay",
            "dial.ndjson",
            "--mode",
            "extreme",
            "--turn",
            "high",
        ],
    );
    command
        .assert()
        .success()
        .stdout(contains("Nothing was captured").and(contains("0.25 mm")));
    let bad = stream().replacen("+0.000 mm", "+0.0x0 mm", 1);
    assert_ne!(bad, stream());
    let (_folder, mut command) = run(&bad, &["replay", "dial.ndjson", "--mode", "settle"]);
    command.assert().success().stdout(contains("  ! "));
    let settle = ["replay", "dial.ndjson", "--mode", "settle", "--json"];
    let (_folder, mut command) = run(&bad, &settle);
    let events = command.assert().success().stderr(contains(" s: "));
    for line in lines(&events.get_output().stdout) {
        assert!(["held", "revised", "final"].contains(&line["state"].as_str().expect("a state")));
    }
    let (_folder, mut command) = run(&bad, &[&settle[..], &["--notes"]].concat());
    let events = command.assert().success().stderr("");
    let told = lines(&events.get_output().stdout);
    assert!(
        told.iter()
            .any(|l| l["state"] == "note" && l["text"].is_string())
    );
    for (args, said) in [
        (vec!["--mode", "pour"], "--mode settle or extreme"),
        (
            vec!["--mode", "settle", "--turn", "high"],
            "--turn high with --mode settle",
        ),
        (
            vec!["--mode", "settle", "--resolution", "0.01 cc"],
            "unit of resolution",
        ),
    ] {
        let all = [vec!["replay", "dial.ndjson"], args].concat();
        let (_folder, mut command) = run(&stream(), &all);
        command
            .assert()
            .code(3)
            .stderr(contains(said).and(contains("Some(").not()));
    }
    let (_folder, mut command) = run("", &["replay", "dial.ndjson", "--mode", "settle"]);
    command
        .assert()
        .code(3)
        .stderr(contains("header").and(contains("cutting").not()));
}
