//! The real executable, run as a user would.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::OnceLock;

use serde_json::Value;

/// Where the executable is: built beside the tests by `cargo test --workspace`; built now where
/// only this package was asked for.
pub fn executable() -> &'static Path {
    static PATH: OnceLock<PathBuf> = OnceLock::new();
    PATH.get_or_init(|| {
        let test = std::env::current_exe().expect("a test has a path");
        let profile = test
            .ancestors()
            .nth(2)
            .expect("tests run from target/PROFILE/deps");
        let path = profile.join(format!("benchhand{}", std::env::consts::EXE_SUFFIX));
        if !path.exists() {
            let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
            let mut build = Command::new(cargo);
            build
                .args(["build", "--package", "benchhand"])
                .current_dir(crate::tree::root());
            if profile.ends_with("release") {
                build.arg("--release");
            }
            assert!(
                build.status().expect("cargo runs").success(),
                "benchhand does not build"
            );
        }
        path
    })
}

/// A run that has ended.
#[derive(Debug)]
pub struct Ran {
    /// The exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    fn of(output: Output) -> Ran {
        Ran {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8_lossy(&output.stdout).into_owned(),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }

    /// The run, which must have done what it was asked.
    #[track_caller]
    pub fn good(self) -> Ran {
        assert_eq!(self.code, 0, "out: {}\nerr: {}", self.out, self.err);
        self
    }

    /// Standard output as one JSON document.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out)
            .unwrap_or_else(|e| panic!("no JSON ({e}): {}\nerr: {}", self.out, self.err))
    }
}

/// The executable with a data folder of its own.
#[derive(Debug, Clone)]
pub struct Program {
    data: PathBuf,
}

impl Program {
    /// Uses this data folder.
    pub fn at(data: &Path) -> Program {
        Program {
            data: data.to_owned(),
        }
    }

    /// The data folder.
    pub fn data(&self) -> &Path {
        &self.data
    }

    /// A command, not yet started.
    pub fn command<S: AsRef<std::ffi::OsStr>>(&self, args: &[S]) -> Command {
        let mut command = Command::new(executable());
        command.arg("--data").arg(&self.data).args(args);
        command.env("NO_COLOR", "1").env_remove("BENCHHAND_DATA");
        command.stdin(Stdio::null());
        command
    }

    /// Runs a command to its end.
    pub fn run(&self, args: &[&str]) -> Ran {
        Ran::of(self.command(args).output().expect("the executable starts"))
    }

    /// Runs a command that must succeed, and reads its JSON.
    #[track_caller]
    pub fn json(&self, args: &[&str]) -> Value {
        let mut with_json = args.to_vec();
        with_json.push("--json");
        self.run(&with_json).good().json()
    }

    /// Starts the daemon and waits until it says that it is ready.
    pub fn serve(&self, args: &[&str]) -> Daemon {
        let mut command = self.command(&["serve", "--json"]);
        command
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().expect("the executable starts");
        let mut out = BufReader::new(child.stdout.take().expect("piped"));
        let mut line = String::new();
        out.read_line(&mut line)
            .expect("standard output can be read");
        if line.is_empty() {
            let output = child.wait_with_output().expect("it ends");
            panic!(
                "the daemon did not start: {}",
                String::from_utf8_lossy(&output.stderr)
            );
        }
        let err = child.stderr.take().expect("piped");
        // What the daemon logs is kept out of the way, so that a full pipe never stops it.
        std::thread::spawn(move || {
            let mut log = String::new();
            let _ = std::io::Read::read_to_string(&mut BufReader::new(err), &mut log);
            if std::env::var_os("BENCHHAND_TEST_LOG").is_some() {
                let _ = std::io::stderr().write_all(log.as_bytes());
            }
        });
        Daemon {
            program: self.clone(),
            child,
        }
    }
}

/// A daemon that runs.
#[derive(Debug)]
pub struct Daemon {
    /// For commands that talk to it.
    pub program: Program,
    child: Child,
}

impl Daemon {
    /// Its process.
    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Kills it as a power cut would, and waits until it is gone.
    pub fn kill(mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Sends it a signal and returns its exit code.
    #[cfg(unix)]
    pub fn signal(mut self, signal: rustix::process::Signal) -> i32 {
        let pid = rustix::process::Pid::from_child(&self.child);
        rustix::process::kill_process(pid, signal).expect("it runs");
        self.child.wait().expect("it ends").code().unwrap_or(-1)
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
