//! The executable from outside, without daemon and gauge: help, wrong usage, exit codes, and that
//! only JSON is printed with `--json`.

use std::path::Path;

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;

/// Every command.
const COMMANDS: &[&str] = &[
    "backup",
    "board",
    "completions",
    "condition",
    "decide",
    "decide chambers",
    "decide compare",
    "decide dome",
    "decide effective",
    "decide fit",
    "decide gasket",
    "decide mill",
    "decide next",
    "decide ports",
    "decide sensitivities",
    "decide target",
    "decide what-if",
    "demo",
    "enter",
    "examine",
    "export",
    "export tables",
    "export workbook",
    "flow-bench",
    "flow-bench leak",
    "flow-bench plate",
    "gauge",
    "gauge history",
    "gauge check",
    "gauge direction",
    "gauge drop",
    "gauge find",
    "gauge list",
    "gauge history",
    "gauge profile",
    "gauge set",
    "gauge study",
    "gauge watch",
    "gauge zero",
    "import",
    "job",
    "job accept-damage",
    "job correct-cut",
    "job cut",
    "job exchange-heads",
    "job engine",
    "job list",
    "job new",
    "job order",
    "job orders",
    "job pack",
    "job recompute",
    "job show",
    "job unpack",
    "job verify",
    "live",
    "man",
    "measure",
    "move",
    "play",
    "ports",
    "replay",
    "report",
    "restore",
    "routes",
    "schema",
    "serve",
    "sheet",
    "sheet build",
    "sheet check",
    "sheet flow",
    "sheet labels",
    "sheet order",
    "sheet work",
    "shop",
    "shop join",
    "shop prepare",
    "shop leave",
    "shop show",
    "steer",
    "steer v8 take",
    "stop",
    "tdc",
    "void",
];

fn benchhand(data: &Path) -> Command {
    let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
    command
        .env("BENCHHAND_DATA", data)
        .env_remove("BENCHHAND_LOG")
        .env("NO_COLOR", "1");
    command
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder for the test")
}

#[test]
fn every_command_explains_itself() {
    let data = folder();
    for command in COMMANDS {
        benchhand(data.path())
            .args(command.split(' '))
            .arg("--help")
            .assert()
            .success()
            .stdout(contains("Usage: benchhand"))
            .stderr("");
    }
    assert_eq!(
        std::fs::read_dir(data.path()).expect("the folder").count(),
        0,
        "asking for help keeps nothing"
    );
}

#[test]
fn no_command_is_hidden_from_the_page_of_commands() {
    let page = include_str!("../../docs/commands.md");
    for command in COMMANDS {
        let named = command
            .split(' ')
            .filter(|word| *word != "v8" && *word != "take");
        let named = named.collect::<Vec<_>>().join(" ");
        assert!(
            page.contains(&format!("benchhand {named}")),
            "docs/commands.md lacks {named:?}"
        );
    }
    for group in [
        "",
        "decide",
        "export",
        "flow-bench",
        "gauge",
        "job",
        "sheet",
    ] {
        for name in listed(group) {
            let named = format!("{group} {name}");
            assert!(
                COMMANDS.contains(&named.trim()),
                "{named:?} is listed by the help and not tried here"
            );
        }
    }
}

/// The commands that the help of a group lists.
fn listed(group: &str) -> Vec<String> {
    let mut command = benchhand(folder().path());
    let help = command
        .args(group.split_whitespace())
        .arg("--help")
        .output()
        .expect("help");
    let help = String::from_utf8(help.stdout).expect("text");
    let after = help.split("Commands:").nth(1).expect("a list of commands");
    let list = after.split("Options:").next().unwrap_or(after);
    let names = list
        .lines()
        .filter_map(|line| line.strip_prefix("  ")?.split(' ').next());
    names
        .filter(|name| !name.is_empty() && *name != "help")
        .map(str::to_owned)
        .collect()
}

#[test]
fn the_help_lists_the_exit_codes() {
    benchhand(folder().path())
        .arg("--help")
        .assert()
        .success()
        .stdout(contains("Exit codes:").and(contains("another process holds the store")));
}

#[test]
fn a_command_line_that_is_not_understood_ends_with_2_and_prints_nothing() {
    for line in [
        "",
        "measures",
        "measure v8",
        "enter v8 chamber/3",
        "enter v8 chamber/3 --from 0cc",
        "gauge set depth --profile ascii-length --sense 3",
        "replay s.ndjson --mode extreme",
        "replay s.ndjson --mode guess",
        "report",
        "report --engine e.toml",
        "report v8 --engine e.toml --readings r.csv",
        "serve --speed 0",
        "void v8 seven --reason x",
        "void v8 7",
    ] {
        benchhand(folder().path())
            .args(line.split_whitespace())
            .assert()
            .code(2)
            .stdout("")
            .stderr(contains("--help"));
    }
}

#[test]
fn a_file_that_is_not_there_is_named_and_ends_with_4() {
    benchhand(folder().path())
        .args([
            "report",
            "--engine",
            "no-such-engine.toml",
            "--readings",
            "r.csv",
            "--json",
        ])
        .assert()
        .code(4)
        .stdout("")
        .stderr(contains("there is no file no-such-engine.toml").and(contains("what to do")));
}

#[test]
fn steering_and_stopping_need_a_daemon_and_a_leftover_file_is_none() {
    let data = folder();
    benchhand(data.path())
        .args(["steer", "v8", "take"])
        .assert()
        .code(14)
        .stdout("")
        .stderr(contains("no daemon runs").and(contains("benchhand serve")));
    // A killed daemon leaves its file behind. Its port is closed now.
    let closed = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = closed.local_addr().expect("bound");
    drop(closed);
    std::fs::write(
        data.path().join("daemon.json"),
        format!(r#"{{"address":"{address}","token":"0","pid":1}}"#),
    )
    .expect("written");
    benchhand(data.path())
        .arg("stop")
        .assert()
        .code(14)
        .stderr(contains("no daemon runs"));
}
