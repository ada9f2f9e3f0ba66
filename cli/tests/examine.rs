//! `examine` from outside: what it says of this machine, of a daemon, of a folder that others may
//! look into, and that it changes nothing.

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, Command as Process, Stdio};

use assert_cmd::Command;
use serde_json::Value;

fn benchhand(data: &Path) -> Command {
    let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
    command
        .env("BENCHHAND_DATA", data)
        .env_remove("BENCHHAND_LOG")
        .env("NO_COLOR", "1");
    command
}

fn good(data: &Path, args: &[&str]) {
    benchhand(data).args(args).assert().success();
}

/// What `examine` found, with its exit code.
fn examined(data: &Path) -> (Vec<Value>, i32) {
    let done = benchhand(data).args(["examine", "--json"]).assert();
    let out = done.get_output();
    let answer: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let findings = answer["findings"].as_array().expect("a list").clone();
    (findings, out.status.code().expect("a code"))
}

/// The findings about a part of the machine.
fn about<'a>(findings: &'a [Value], part: &str) -> Vec<&'a Value> {
    let of_it = |finding: &&Value| finding["about"] == part;
    findings.iter().filter(of_it).collect()
}

fn said(finding: &Value) -> &str {
    finding["found"].as_str().expect("a sentence")
}

/// A daemon, once it answers.
fn serving(data: &Path) -> Child {
    let mut daemon = Process::new(assert_cmd::cargo::cargo_bin("benchhand"))
        .env("BENCHHAND_DATA", data)
        .args(["serve", "--json"])
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut line = String::new();
    let out = daemon.stdout.take().expect("piped");
    BufReader::new(out)
        .read_line(&mut line)
        .expect("it answers");
    assert!(line.contains("address"), "{line}");
    daemon
}

const ENGINE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../examples/invented-v8.toml");

#[test]
fn every_part_is_looked_at_and_nothing_is_made() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let (findings, code) = examined(&data);
    for part in [
        "ports", "programs", "latency", "space", "clock", "daemon", "folders",
    ] {
        assert!(!about(&findings, part).is_empty(), "{part}: {findings:?}");
    }
    for finding in &findings {
        let to_do = finding["todo"]
            .as_str()
            .is_some_and(|todo| !todo.is_empty());
        assert_eq!(to_do, finding["state"] != "fine", "{finding}");
    }
    let wrong = findings.iter().any(|finding| finding["state"] == "wrong");
    assert_eq!(code, i32::from(wrong), "{findings:?}");
    assert!(!data.exists(), "asking makes no folder");
}

#[test]
fn a_gauge_whose_adapter_is_not_plugged_in_is_named() {
    let data = tempfile::tempdir().expect("a folder");
    let data = data.path();
    let port = "/dev/no-such-port";
    good(
        data,
        &[
            "gauge",
            "set",
            "burette",
            "--profile",
            "ascii-volume",
            "--port",
            port,
        ],
    );
    let (findings, code) = examined(data);
    let ports = about(&findings, "ports");
    let burette = ports.iter().find(|one| said(one).contains("burette"));
    let burette = burette.expect("it is spoken of");
    assert_eq!(burette["state"], "wrong");
    assert!(said(burette).contains(port) && said(burette).contains("absent"));
    assert_eq!(code, 1);
}

#[test]
fn a_daemon_that_answers_is_fine_and_one_that_cannot_be_asked_holds_the_folder() {
    let data = tempfile::tempdir().expect("a folder");
    let data = data.path();
    let mut daemon = serving(data);
    let (findings, _) = examined(data);
    let answers = about(&findings, "daemon")[0];
    assert_eq!(answers["state"], "fine");
    let process = format!("process {}", daemon.id());
    assert!(said(answers).contains(&process), "{answers}");
    // Where it listens is not known any more.
    let (known, away) = (data.join("daemon.json"), data.join("away.json"));
    std::fs::rename(&known, &away).expect("moved");
    let (findings, code) = examined(data);
    let held = about(&findings, "daemon")[0];
    assert_eq!(held["state"], "wrong");
    assert!(said(held).contains(&process), "{held}");
    assert_eq!(code, 1);
    std::fs::rename(&away, &known).expect("moved back");
    good(data, &["stop"]);
    assert!(daemon.wait().expect("it ends").success());
    let (findings, _) = examined(data);
    assert_eq!(about(&findings, "daemon")[0]["state"], "fine");
}

#[cfg(unix)]
#[test]
fn a_folder_that_others_may_look_into_is_wrong_until_it_is_closed() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    good(&data, &["job", "new", "number-12", ENGINE]);
    let look = || {
        let (findings, _) = examined(&data);
        about(&findings, "folders")[0].clone()
    };
    assert_eq!(look()["state"], "fine");
    for open in [&data, &data.join("jobs")] {
        let rights = std::fs::Permissions::from_mode(0o755);
        std::fs::set_permissions(open, rights).expect("opened");
    }
    let found = look();
    assert_eq!(found["state"], "wrong");
    let todo = found["todo"].as_str().expect("a sentence");
    let (_, command) = todo.split_once(": ").expect("what to type");
    let typed = Process::new("sh").args(["-c", command]).status();
    assert!(typed.expect("a shell").success(), "{command}");
    assert_ne!(look()["state"], "wrong", "what it says to do helps");
}
