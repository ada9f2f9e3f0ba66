//! Every example of `--help` is run as it stands, by a shell, in a folder with the files that it
//! names and a data folder with the jobs that it names. The engine and all readings are invented.

use std::collections::BTreeSet;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// Examples that need a gauge that sends, a route that runs, or a database server. They are only parsed, beside the
/// commands' definitions; `tests/` measures with virtual gauges.
const PARSED_ONLY: &[&str] = &[
    "benchhand gauge check dial --job number-12 --masters",
    "benchhand gauge direction ",
    "benchhand gauge watch ",
    "benchhand gauge zero dial --job number-12\n",
    "benchhand measure ",
    "benchhand shop join ",
    "benchhand shop prepare ",
    "benchhand shop leave",
    "benchhand steer ",
];

/// Examples that are run together with a daemon, by a test of their own.
const WITH_A_DAEMON: &[&str] = &[
    "benchhand board",
    "benchhand live ",
    "benchhand serve",
    "benchhand stop",
];

/// Examples that end with another code than 0, depending on the machine: what is plugged in.
const OTHER_CODES: &[(&str, &[i32])] = &[
    ("benchhand examine", &[0, 1]),
    ("benchhand gauge find ", &[6]),
    ("benchhand ports /dev/ttyUSB0", &[0, 6, 7, 8]),
];

fn is_one_of(line: &str, all: &[&str]) -> bool {
    all.iter().any(|one| match one.strip_suffix('\n') {
        Some(whole) => line == whole,
        None => line.starts_with(one),
    })
}

fn program() -> PathBuf {
    assert_cmd::cargo::cargo_bin("benchhand")
}

/// The help of a command.
fn help(path: &str) -> String {
    let out = Command::new(program())
        .args(path.split_whitespace())
        .arg("--help")
        .output()
        .expect("the executable starts");
    assert!(out.status.success(), "{path} --help");
    String::from_utf8(out.stdout).expect("text")
}

/// The help of every command below this one, with the command's path.
fn every_help(path: &str, found: &mut Vec<(String, String)>) {
    let text = help(path);
    let listed = text.split("\nCommands:\n").nth(1).unwrap_or_default();
    let listed = listed.split("\n\n").next().unwrap_or_default();
    let names = listed
        .lines()
        .filter_map(|line| line.strip_prefix("  ")?.split(' ').next())
        // The help of `help` is this help; among the controls of a route it is one of them.
        .filter(|name| !name.is_empty() && (*name != "help" || path == "steer v8"));
    for name in names {
        let below = match path {
            "" => name.to_owned(),
            // A control stands behind the job.
            "steer" => format!("steer v8 {name}"),
            _ => format!("{path} {name}"),
        };
        every_help(&below, found);
    }
    found.push((path.to_owned(), text));
}

/// The lines below `Example:` or `Examples:`.
fn examples(help: &str) -> Vec<String> {
    let after = help
        .split("\nExample:\n")
        .nth(1)
        .or_else(|| help.split("\nExamples:\n").nth(1));
    let lines = after.unwrap_or_default().lines();
    lines
        .map_while(|line| line.strip_prefix("  "))
        .map(str::to_owned)
        .collect()
}

/// A folder as the examples take for granted, and a data folder.
struct Scene {
    folder: TempDir,
}

impl Scene {
    fn new() -> Scene {
        let folder = tempfile::tempdir().expect("a folder");
        let scene = Scene { folder };
        std::fs::create_dir(scene.bench()).expect("made");
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
        for (from, to) in [
            ("examples/invented-v8.toml", "engine.toml"),
            ("examples/invented-v8-readings.csv", "readings.csv"),
            ("examples/invented-gaskets.csv", "gaskets.csv"),
            ("examples/invented-parts.csv", "parts.csv"),
            ("examples/invented-study.csv", "study.csv"),
            ("drivers/profiles/ascii-length.toml", "my-gauge.toml"),
            ("recorded-streams/ascii-volume.ndjson", "evening.ndjson"),
        ] {
            std::fs::copy(root.join(from), scene.bench().join(to)).expect(from);
        }
        // The same rows once more would be refused: they are no second round.
        let readings = std::fs::read_to_string(scene.bench().join("readings.csv")).expect("text");
        let before = readings.replacen("chamber/1,64.0,", "chamber/1,64.05,", 1);
        assert_ne!(before, readings);
        std::fs::write(scene.bench().join("before.csv"), before).expect("written");
        let water = "master,shown\n24.94 g,25.0 cc\n49.87 g,50.0 cc\n74.80 g,75.0 cc\n";
        std::fs::write(scene.bench().join("water.csv"), water).expect("written");
        for line in [
            "gauge set burette --profile ascii-volume --port /dev/no-burette --u '0.04 cc' \
             --capacity '100 cc'",
            "gauge set dial --profile bcd13-length --port /dev/no-dial --u '0.0002 in'",
            "job new number-7 engine.toml",
            "enter number-7 chamber/1 64.0 cc",
            "enter number-7 chamber/2 64.1 cc",
            "job new number-9 engine.toml",
            "import number-9 readings.csv",
            "job new number-11 engine.toml",
            "job cut number-11 --stage 'milled 1' --what '0.010 in off both heads' \
             --changes chamber --depth '0.010 in'",
            "job new number-12 engine.toml",
            "import number-12 before.csv",
            "sheet build number-12 --out sent.html",
            "sheet order number-12 --ratio 10.5 --out sent-order.html",
        ] {
            scene.good(&format!("benchhand {line}"));
        }
        scene.good("benchhand backup --out yesterday.backup");
        // A job that came from another machine.
        scene.good("benchhand --data elsewhere job new number-8 engine.toml");
        scene.good("benchhand --data elsewhere job pack number-8 --out number-8.job");
        scene.damage("number-7");
        scene
    }

    /// The folder in which the examples are typed.
    fn bench(&self) -> PathBuf {
        self.folder.path().join("bench")
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// Changes a letter in the middle of a job's journal.
    fn damage(&self, job: &str) {
        let journal = self.data().join("jobs").join(job).join("journal.ndjson");
        let text = std::fs::read_to_string(&journal).expect("a journal");
        let damaged = text.replacen("chamber/1", "chamber/8", 1);
        assert_ne!(text, damaged, "the reading is in the journal");
        std::fs::write(&journal, damaged).expect("written");
    }

    /// A copy that an example may change.
    fn copy(&self) -> Scene {
        let folder = tempfile::tempdir().expect("a folder");
        let done = Command::new("cp")
            .arg("-r")
            .arg(self.folder.path().join("."))
            .arg(folder.path())
            .status();
        assert!(done.expect("cp runs").success());
        Scene { folder }
    }

    /// A command line, not yet started.
    fn typed(&self, line: &str) -> Command {
        let program = program();
        let beside = program.parent().expect("a folder");
        let path = std::env::var("PATH").unwrap_or_default();
        let mut shell = Command::new("sh");
        shell
            .args(["-c", line])
            .current_dir(self.bench())
            .env("PATH", format!("{}:{path}", beside.display()))
            .env("BENCHHAND_DATA", self.data())
            .env_remove("BENCHHAND_LOG")
            .env("NO_COLOR", "1")
            // Nobody is there to turn pages.
            .env("MANPAGER", "cat")
            .stdin(Stdio::null());
        shell
    }

    fn run(&self, line: &str) -> Output {
        self.typed(line).output().expect("a shell")
    }

    #[track_caller]
    fn good(&self, line: &str) -> String {
        let out = self.run(line);
        let said = String::from_utf8_lossy(&out.stderr).into_owned();
        assert!(out.status.success(), "{line}: {said}");
        String::from_utf8_lossy(&out.stdout).into_owned()
    }
}

#[test]
fn every_command_has_examples_and_they_run() {
    let mut helps = Vec::new();
    every_help("", &mut helps);
    assert!(helps.len() > 80, "only {} commands were found", helps.len());
    let scene = Scene::new();
    let (mut ran, mut faults) = (BTreeSet::new(), Vec::new());
    for (command, help) in &helps {
        let examples = examples(help);
        if examples.is_empty() {
            faults.push(format!("{command:?} has no example"));
        }
        // The lines of one example go on where the one before left off.
        let scene = scene.copy();
        for line in &examples {
            if is_one_of(line, PARSED_ONLY) || is_one_of(line, WITH_A_DAEMON) {
                continue;
            }
            if line.starts_with("man ") && !Path::new("/usr/bin/man").exists() {
                continue;
            }
            if line.starts_with("benchhand gauge find") && Path::new("/dev/ttyUSB3").exists() {
                continue;
            }
            // The example of a group is one of its commands' too.
            if !ran.insert(line.clone()) {
                continue;
            }
            let out = scene.run(line);
            let code = out.status.code().unwrap_or(-1);
            let other = OTHER_CODES
                .iter()
                .find(|(begins, _)| line.starts_with(begins));
            let expected = other.map_or(&[0][..], |(_, codes)| codes);
            if !expected.contains(&code) {
                let said = String::from_utf8_lossy(&out.stderr);
                faults.push(format!("{line}\n  ended with {code}: {said}"));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(ran.len() > 60, "only {} examples ran", ran.len());
}

#[test]
fn the_examples_of_the_daemon_run_with_one() {
    let scene = Scene::new();
    let examples_of = |command: &str| examples(&help(command));
    let mut serve = scene
        .typed(&format!("exec {} --json", examples_of("serve")[0]))
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let out = serve.stdout.take().expect("piped");
    let mut lines = BufReader::new(out).lines();
    let ready = lines.next().expect("it answers").expect("a line");
    let ready: Value = serde_json::from_str(&ready).expect("JSON");
    assert!(ready["address"].is_string(), "{ready}");
    let mut live = scene
        .typed(&format!("exec {}", examples_of("live")[0]))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("it starts");
    for line in examples_of("board") {
        assert!(scene.good(&line).contains("http://"), "{line}");
    }
    for line in examples_of("stop") {
        scene.good(&line);
    }
    assert!(serve.wait().expect("it ends").success());
    // It ends with the daemon, whether it came before or after the daemon's end.
    live.wait().expect("it ends");
}
