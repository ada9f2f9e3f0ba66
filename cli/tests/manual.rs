//! Completions and manual pages from outside: what a shell offers, and pages that come whole or not
//! at all.

use std::path::{Path, PathBuf};
use std::process::Command as Process;

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;

fn benchhand() -> Command {
    Command::cargo_bin("benchhand").expect("the executable is built")
}

fn completions(shell: &str) -> String {
    let out = benchhand().args(["completions", shell]).assert().success();
    String::from_utf8(out.get_output().stdout.clone()).expect("text")
}

/// A program on this machine's path.
fn found(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let all = std::env::split_paths(&path).map(|folder| folder.join(name));
    all.into_iter().find(|file| file.exists())
}

/// What a program prints for a script; `None` where the machine has no such program.
#[expect(clippy::print_stderr, reason = "what was not tried is to be seen")]
fn printed(program: &str, args: &[&str]) -> Option<String> {
    let Some(program) = found(program) else {
        eprintln!("{program} is not on this machine: nothing was tried with it");
        return None;
    };
    let out = Process::new(&program)
        .args(args)
        .output()
        .expect("it starts");
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(out.status.success(), "{}: {said}", program.display());
    Some(String::from_utf8(out.stdout).expect("text"))
}

#[test]
fn bash_offers_the_commands_and_the_options() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = folder.path().join("benchhand.bash");
    std::fs::write(&script, completions("bash")).expect("written");
    let offered = |typed: &[&str]| {
        let words = typed.join(" ");
        let at = typed.len() - 1;
        let line = format!(
            "source {}; COMP_WORDS=({words}); COMP_CWORD={at}; \
             _benchhand benchhand {} {} >/dev/null; printf '%s\\n' \"${{COMPREPLY[@]}}\"",
            script.display(),
            typed[at],
            typed[at - 1],
        );
        printed("bash", &["--norc", "-c", &line])
    };
    let Some(gauges) = offered(&["benchhand", "gauge", "s"]) else {
        return;
    };
    assert_eq!(gauges.lines().collect::<Vec<_>>(), ["set", "study"]);
    let options = offered(&["benchhand", "decide", "mill", "--ra"]).expect("bash is here");
    assert_eq!(options.trim(), "--ratio");
}

#[test]
fn fish_and_zsh_take_their_scripts() {
    let folder = tempfile::tempdir().expect("a folder");
    for shell in ["fish", "zsh"] {
        let script = folder.path().join(shell);
        std::fs::write(&script, completions(shell)).expect("written");
        let script = script.display().to_string();
        printed(shell, &["-n", &script]);
        let text = std::fs::read_to_string(&script).expect("there");
        assert!(text.contains("flow-bench") && text.contains("ratio-tolerance"));
        if shell == "fish" {
            let line = format!("source {script}; complete -C 'benchhand sheet la'");
            if let Some(offered) = printed(shell, &["--no-config", "-c", &line]) {
                assert!(offered.starts_with("labels\t"), "{offered}");
            }
        }
    }
}

#[test]
fn a_shell_that_nobody_knows_is_told_which_there_are() {
    benchhand()
        .args(["completions", "tortoise"])
        .assert()
        .code(2)
        .stdout("")
        .stderr(contains("bash").and(contains("fish")).and(contains("zsh")));
}

fn names(folder: &Path) -> Vec<String> {
    let listed = std::fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> = listed
        .map(|entry| {
            entry
                .expect("listed")
                .file_name()
                .into_string()
                .expect("text")
        })
        .collect();
    names.sort();
    names
}

#[test]
fn the_manual_has_a_page_for_each_command_that_man_can_show() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("manual");
    benchhand()
        .arg("man")
        .arg("--out")
        .arg(&out)
        .assert()
        .success();
    let pages = names(&out);
    for page in [
        "benchhand.1",
        "benchhand-examine.1",
        "benchhand-gauge-check.1",
        "benchhand-steer-take.1",
    ] {
        assert!(pages.contains(&page.to_owned()), "{page}: {pages:?}");
    }
    assert_eq!(names(folder.path()), ["manual"], "no part is left over");
    let page = out.join("benchhand-decide-mill.1").display().to_string();
    let Some(shown) = printed("man", &["--warnings", "-l", &page]) else {
        return;
    };
    for words in [
        "BENCHHAND-DECIDE-MILL(1)",
        "benchhand decide mill [OPTIONS]",
        "--area",
        "EXAMPLES",
        "benchhand decide mill number-12 --ratio 10.8",
    ] {
        assert!(shown.contains(words), "{words:?} is not in {shown}");
    }
}

#[test]
fn a_folder_that_holds_something_is_left_as_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("manual");
    std::fs::create_dir(&out).expect("made");
    std::fs::write(out.join("notes.txt"), "mine").expect("written");
    let to = |out: &Path| {
        let mut command = benchhand();
        command.arg("man").arg("--out").arg(out);
        command.assert()
    };
    to(&out)
        .code(5)
        .stdout("")
        .stderr(contains("holds something"));
    assert_eq!(names(&out), ["notes.txt"]);
    to(&folder.path().join("no/manual")).code(4).stdout("");
    assert_eq!(names(folder.path()), ["manual"], "nothing is left over");
    std::fs::remove_file(out.join("notes.txt")).expect("removed");
    to(&out).success();
    assert!(names(&out).len() > 80);
}
