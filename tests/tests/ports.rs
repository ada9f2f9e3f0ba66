//! Ports that are absent, busy or forbidden are three different answers, each with its exit code
//! and with what to do.
//!
//! The administrator may open any port and any number of times, and builds are often run as he.
//! So the executable runs under another user here, by `setpriv` (util-linux); where that is
//! missing these tests fail, since they would prove nothing.

#![cfg(target_os = "linux")]

use std::os::fd::OwnedFd;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::process::{Command, Stdio};

use benchhand_drivers::transport::Transport;
use benchhand_drivers::transport::pty::PtyEnd;
use benchhand_drivers::{SerialFormat, SerialSettings};
use benchhand_tests::nobody::{USER, am_root, for_everybody, give, open_folder, runner};
use benchhand_tests::program::{FinishedRun, Program};
use benchhand_tests::shop::example;
use rustix::fs::{Mode, OFlags};
use serde_json::Value;
use tempfile::TempDir;

/// A shop of that user.
struct Theirs {
    folder: TempDir,
}

impl Theirs {
    fn new() -> Theirs {
        Theirs {
            folder: open_folder(),
        }
    }

    /// A command, under that user where this one is the administrator.
    fn command(&self, args: &[&str]) -> Command {
        let runner = runner();
        let mut command = Command::new(&runner[0]);
        command.args(&runner[1..]);
        command
            .arg("--data")
            .arg(self.folder.path().join("data"))
            .args(args);
        command.env("NO_COLOR", "1").env_remove("BENCHHAND_DATA");
        command.stdin(Stdio::null()).current_dir("/");
        command
    }

    #[track_caller]
    fn run(&self, args: &[&str]) -> FinishedRun {
        let output = self.command(args).output();
        FinishedRun::of(
            output.expect("setpriv (package util-linux) is needed to run as another user"),
        )
    }

    /// Opens a job, and enters a dial at this port.
    fn with_dial_at(path: &str) -> Theirs {
        let theirs = Theirs::new();
        let engine = theirs.folder.path().join("engine.toml");
        std::fs::copy(example("invented-v8.toml"), &engine).expect("it is copied");
        theirs
            .run(&["job", "new", "v8", engine.to_str().unwrap()])
            .good();
        let set = [
            "gauge",
            "set",
            "dial",
            "--profile",
            "ascii-length",
            "--port",
            path,
        ];
        theirs.run(&set).good();
        theirs
    }

    fn journal(&self) -> Vec<u8> {
        std::fs::read(self.folder.path().join("data/jobs/v8/journal.ndjson")).expect("a journal")
    }

    /// Each command that needs the gauge must be refused with this code and these words.
    #[track_caller]
    fn refuses(&self, path: &str, state: &str, code: i32, words: &[&str]) {
        let ran = self.run(&["ports", path, "--json"]);
        assert_eq!(ran.code, code, "{}{}", ran.out, ran.err);
        let port: &Value = &ran.json()["ports"][0];
        assert_eq!(
            (&port["path"], &port["state"]),
            (&path.into(), &state.into())
        );
        assert_ne!(port["todo"], "", "{port}");
        assert_eq!(port["gauge"], "dial");

        let before = self.journal();
        let measure = ["measure", "v8", "gasket"];
        let zero = ["gauge", "zero", "dial", "--job", "v8"];
        for args in [&zero[..], &measure[..]] {
            let ran = self.run(args);
            assert_eq!(ran.code, code, "{args:?}: {}{}", ran.out, ran.err);
            for word in words.iter().chain(&[path, "dial", "what to do"]) {
                assert!(ran.err.contains(word), "{word:?} is not said: {}", ran.err);
            }
        }
        let after = String::from_utf8(self.journal()).unwrap();
        assert!(after.as_bytes().starts_with(&before));
        for fact in ["zero", "route_started", "final", "held"] {
            assert!(!after.contains(&format!("\"fact\":\"{fact}\"")), "{after}");
        }
    }
}

/// A pseudo-terminal whose other end belongs to `owner` and may be used by him alone.
fn owned_by(owner: u32) -> PtyEnd {
    let end = PtyEnd::open().expect("a pseudo-terminal");
    give(end.path(), owner);
    end
}

#[test]
fn a_port_that_is_not_there_is_absent() {
    let path = "/dev/benchhand-absent";
    let theirs = Theirs::with_dial_at(path);
    theirs.refuses(path, "absent", 6, &["no such port", "plugged in"]);
}

#[test]
fn a_port_of_somebody_else_is_forbidden() {
    assert!(
        am_root() || cannot_be_mine(),
        "run as administrator, or as a user without /dev/kmsg"
    );
    // Where this user is not the administrator there is no other's pseudo-terminal at hand.
    let end = am_root().then(|| owned_by(0));
    let path = end
        .as_ref()
        .map_or("/dev/kmsg", |end| end.path())
        .to_owned();
    let theirs = Theirs::with_dial_at(&path);
    let group = std::fs::metadata(&path).unwrap().gid().to_string();
    theirs.refuses(
        &path,
        "forbidden",
        8,
        &["this user may not open", "group", &group],
    );
}

fn cannot_be_mine() -> bool {
    let flags = OFlags::RDWR | OFlags::CLOEXEC;
    let opened = rustix::fs::open("/dev/kmsg", flags, Mode::empty());
    opened.err() == Some(rustix::io::Errno::ACCESS)
}

#[test]
fn a_port_that_another_program_holds_is_busy() {
    let mut end = owned_by(USER);
    let path = end.path().to_owned();
    let holder = held(&path);
    let theirs = Theirs::with_dial_at(&path);
    theirs.refuses(
        &path,
        "busy",
        7,
        &["another program holds", "close that program"],
    );

    // Closed there, it can be opened here.
    drop(holder);
    end.let_go().expect("a real port does so by itself");
    let ran = theirs.run(&["ports", &path, "--json"]).good();
    assert_eq!(ran.json()["ports"][0]["state"], "free");
    end.write(b"").expect("the other end is there");
}

/// What another program does that opens a serial port for itself: it takes it exclusively.
fn held(path: &str) -> OwnedFd {
    let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC;
    let port = rustix::fs::open(path, flags, Mode::empty()).expect("it opens");
    rustix::termios::ioctl_tiocexcl(&port).expect("it can be had for one alone");
    port
}

#[test]
fn a_port_that_a_daemon_of_ours_holds_is_in_use_there_and_busy_elsewhere() {
    let end = owned_by(USER);
    let path = end.path().to_owned();
    let (first, second) = (Theirs::with_dial_at(&path), Theirs::with_dial_at(&path));
    let mut serve = first.command(&["serve", "--json"]);
    let mut child = serve
        .stdout(Stdio::piped())
        .spawn()
        .expect("setpriv starts it");
    let mut line = String::new();
    let mut out = std::io::BufReader::new(child.stdout.take().unwrap());
    std::io::BufRead::read_line(&mut out, &mut line).expect("it says that it is ready");
    assert!(line.contains("address"), "{line}");

    // As that user sees it; `ports` asks the daemon, which is told once its line is open.
    let stands = |theirs: &Theirs| {
        let ran = theirs.run(&["ports", &path, "--json"]);
        (
            ran.code,
            ran.json()["ports"][0]["state"].as_str().unwrap().to_owned(),
        )
    };
    let mut seen = stands(&first);
    for _ in 0..200 {
        if seen.1 == "in_use" {
            break;
        }
        seen = stands(&first);
    }
    assert_eq!(seen, (0, "in_use".to_owned()));
    second.refuses(&path, "busy", 7, &["another program holds"]);
    let pid = rustix::process::Pid::from_child(&child);
    rustix::process::kill_process(pid, rustix::process::Signal::TERM).expect("it runs");
    assert!(child.wait().expect("it ends").success());
    // It lets go of what it held.
    assert_eq!(stands(&second), (0, "free".to_owned()));
    assert_eq!(
        end.settings().unwrap().format,
        SerialSettings::new(9600, SerialFormat::N81).format
    );
}

#[test]
fn a_path_that_is_no_port_is_told_from_one_that_is_absent() {
    let theirs = Theirs::new();
    let file = theirs.folder.path().join("notes.txt");
    std::fs::write(&file, "no port").unwrap();
    std::fs::set_permissions(&file, PermissionsExt::from_mode(0o666)).unwrap();
    let ran = theirs.run(&["ports", file.to_str().unwrap(), "--json"]);
    assert_eq!(ran.code, 3, "{}{}", ran.out, ran.err);
    let port = &ran.json()["ports"][0];
    assert_eq!(port["state"], "unusable");
    assert!(
        port["todo"].as_str().unwrap().contains("not a serial port"),
        "{port}"
    );
}

#[test]
fn a_data_folder_of_another_user_is_refused_before_anything_is_written() {
    if !am_root() {
        // The administrator's folder is at hand only where he runs this.
        return;
    }
    let folder = open_folder();
    let data = folder.path().join("data");
    std::fs::create_dir(&data).unwrap();
    std::fs::set_permissions(&data, PermissionsExt::from_mode(0o755)).unwrap();
    let mine = Program::at(&data);
    let engine = example("invented-v8.toml");
    mine.json(&["job", "new", "v8", engine.to_str().unwrap()]);
    let journal = std::fs::read(data.join("jobs/v8/journal.ndjson")).unwrap();
    let user = format!("--reuid={USER}");
    let group = format!("--regid={USER}");
    let output = Command::new("setpriv")
        .args([&user, &group, "--clear-groups"])
        .arg(for_everybody())
        .arg("--data")
        .arg(&data)
        .args(["enter", "v8", "chamber/1", "64.2", "cc"])
        .current_dir("/")
        .output();
    let ran = FinishedRun::of(output.expect("setpriv (package util-linux) is needed"));
    assert_eq!(ran.code, 13, "{}{}", ran.out, ran.err);
    assert!(ran.err.contains("belongs to another user"), "{}", ran.err);
    assert_eq!(
        std::fs::read(data.join("jobs/v8/journal.ndjson")).unwrap(),
        journal
    );
}
