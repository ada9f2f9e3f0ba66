//! The daemon as a separate process: it is found, asked, not started twice, and ended.
#![cfg(unix)]

use std::io::{BufRead as _, BufReader};
use std::process::{Child, Command, Stdio};

use serde_json::Value;

/// A daemon that answers.
struct Daemon {
    child: Child,
    address: String,
}

fn benchhand(data: &tempfile::TempDir) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_benchhand"));
    command
        .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/files"))
        .env("BENCHHAND_DATA", data.path())
        .env("NO_COLOR", "1");
    command
}

fn serve(data: &tempfile::TempDir) -> Daemon {
    let mut child = benchhand(data)
        .args(["serve", "--json"])
        .stdout(Stdio::piped())
        .spawn()
        .expect("it runs");
    let mut line = String::new();
    BufReader::new(child.stdout.take().expect("its output"))
        .read_line(&mut line)
        .expect("a line");
    let ready: Value = serde_json::from_str(&line).expect("one line of JSON");
    Daemon {
        child,
        address: ready["address"].as_str().expect("an address").to_owned(),
    }
}

fn code(command: &mut Command) -> (Option<i32>, String) {
    let output = command.output().expect("it runs");
    let text = |bytes| String::from_utf8_lossy(bytes).into_owned();
    (
        output.status.code(),
        text(&output.stdout) + &text(&output.stderr),
    )
}

#[test]
fn a_daemon_is_found_asked_not_started_twice_and_ended() {
    let data = tempfile::tempdir().expect("a folder");
    let mut daemon = serve(&data);
    assert!(
        daemon.address.starts_with("127.0.0.1:"),
        "{}",
        daemon.address
    );

    let (opened, text) = code(benchhand(&data).args(["job", "new", "twin", "twin.toml"]));
    assert_eq!(opened, Some(0), "{text}");
    let (listed, text) = code(benchhand(&data).args(["-v", "job", "list"]));
    assert_eq!(listed, Some(0), "{text}");
    assert!(text.contains("a daemon answers"), "{text}");
    assert!(text.contains("twin"), "{text}");

    let (twice, text) = code(benchhand(&data).arg("serve"));
    assert_eq!(twice, Some(10), "{text}");
    assert!(text.contains("benchhand stop"), "{text}");

    let (stopped, text) = code(benchhand(&data).arg("stop"));
    assert_eq!(stopped, Some(0), "{text}");
    assert_eq!(daemon.child.wait().expect("it ends").code(), Some(0));
    let (shown, text) = code(benchhand(&data).args(["job", "show", "twin"]));
    assert_eq!(shown, Some(0), "what it kept is there without it: {text}");
}

#[test]
fn sigterm_ends_the_daemon_cleanly() {
    let data = tempfile::tempdir().expect("a folder");
    let mut daemon = serve(&data);
    let pid = rustix::process::Pid::from_child(&daemon.child);
    rustix::process::kill_process(pid, rustix::process::Signal::TERM).expect("sent");
    assert_eq!(daemon.child.wait().expect("it ends").code(), Some(0));
    let (again, text) = code(benchhand(&data).arg("stop"));
    assert_eq!(again, Some(14), "{text}");
}

#[test]
fn a_daemon_that_was_killed_leaves_a_folder_that_works() {
    let data = tempfile::tempdir().expect("a folder");
    let mut daemon = serve(&data);
    let (opened, text) = code(benchhand(&data).args(["job", "new", "twin", "twin.toml"]));
    assert_eq!(opened, Some(0), "{text}");
    daemon.child.kill().expect("killed");
    daemon.child.wait().expect("it ends");
    assert!(
        data.path().join("daemon.json").exists(),
        "the leftover that is to be passed over"
    );
    let (shown, text) = code(benchhand(&data).args(["job", "show", "twin"]));
    assert_eq!(shown, Some(0), "{text}");
    let (entered, text) = code(benchhand(&data).args(["enter", "twin", "chamber/1", "36.2 cc"]));
    assert_eq!(entered, Some(0), "{text}");
}

#[test]
fn watching_starts_a_daemon_of_its_own_and_ends_it() {
    let data = tempfile::tempdir().expect("a folder");
    let (watched, text) = code(benchhand(&data).args(["gauge", "watch", "depth"]));
    assert_eq!(watched, Some(4), "no such gauge: {text}");
    assert!(
        !data.path().join("daemon.json").exists(),
        "the daemon of its own was ended"
    );
}
