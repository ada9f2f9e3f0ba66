//! Runs the real executable as a user would.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Output, Stdio};
use std::sync::OnceLock;
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::api::Api;
use crate::hosted::HostedDaemon;

/// Longer than any command takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);
/// Time between two checks for the end of a command.
const LOOK_AGAIN: Duration = Duration::from_millis(5);

/// The path of the executable. `cargo test --workspace` builds it beside the tests. If only this
/// package is tested, it is built now.
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
pub struct FinishedRun {
    /// The exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl FinishedRun {
    /// The result of a finished process.
    pub fn of(output: Output) -> FinishedRun {
        FinishedRun {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8_lossy(&output.stdout).into_owned(),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }

    /// The run. Panics if its exit code is not 0.
    #[track_caller]
    pub fn good(self) -> FinishedRun {
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

/// The executable with a separate data folder.
#[derive(Debug, Clone)]
pub struct Program {
    data: PathBuf,
    /// The command that starts the executable, directly or as another user.
    by: Vec<String>,
}

impl Program {
    /// Uses this data folder.
    pub fn at(data: &Path) -> Program {
        Program {
            data: data.to_owned(),
            by: vec![executable().display().to_string()],
        }
    }

    /// Uses this data folder, and is started by this command.
    pub fn started_by(by: Vec<String>, data: &Path) -> Program {
        Program {
            data: data.to_owned(),
            by,
        }
    }

    /// The data folder.
    pub fn data(&self) -> &Path {
        &self.data
    }

    /// A command, not yet started.
    pub fn command<S: AsRef<std::ffi::OsStr>>(&self, args: &[S]) -> Command {
        let mut command = Command::new(&self.by[0]);
        command
            .args(&self.by[1..])
            .arg("--data")
            .arg(&self.data)
            .args(args);
        command.env("NO_COLOR", "1").env_remove("BENCHHAND_DATA");
        command.stdin(Stdio::null());
        command
    }

    /// Runs a command to its end.
    pub fn run(&self, args: &[&str]) -> FinishedRun {
        FinishedRun::of(self.command(args).output().expect("the executable starts"))
    }

    /// Runs a command that must succeed, and reads its JSON.
    #[track_caller]
    pub fn json(&self, args: &[&str]) -> Value {
        let mut with_json = args.to_vec();
        with_json.push("--json");
        self.run(&with_json).good().json()
    }

    /// Starts a command whose standard output is read line by line as it runs.
    pub fn start(&self, args: &[&str]) -> RunningProgram {
        self.start_with(args, Stdio::null())
    }

    /// The same with a given standard input, such as a terminal in which a person types.
    pub fn start_with(&self, args: &[&str], stdin: Stdio) -> RunningProgram {
        let mut command = self.command(args);
        command
            .stdin(stdin)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().expect("the executable starts");
        let out = BufReader::new(child.stdout.take().expect("piped"));
        let err = child.stderr.take().expect("piped");
        // Standard error is read all the time, so a full pipe never stops the command.
        let log = std::thread::spawn(move || {
            let mut log = String::new();
            let _ = BufReader::new(err).read_to_string(&mut log);
            if std::env::var_os("BENCHHAND_TEST_LOG").is_some() {
                let _ = std::io::stderr().write_all(log.as_bytes());
            }
            log
        });
        RunningProgram {
            child,
            out: Some(out),
            log: Some(log),
        }
    }

    /// Starts the daemon and waits until it reports that it is ready.
    #[track_caller]
    pub fn serve(&self, args: &[&str]) -> Daemon {
        let mut with_json = vec!["serve", "--json"];
        with_json.extend(args);
        let mut running = self.start(&with_json);
        let Some(line) = running.line() else {
            let ran = running.end();
            panic!("the daemon did not start ({}): {}", ran.code, ran.err);
        };
        let ready: Value = serde_json::from_str(&line).expect("the daemon says where it is");
        let address = ready["address"].as_str().expect("an address").to_owned();
        let told = std::fs::read_to_string(self.data.join("daemon.json")).expect("its token");
        let told: Value = serde_json::from_str(&told).expect("JSON");
        let token = told["token"].as_str().expect("a token").to_owned();
        Daemon {
            program: self.clone(),
            api: Api { address, token },
            runs: Runs::Process(running),
        }
    }
}

/// A running command.
#[derive(Debug)]
pub struct RunningProgram {
    child: Child,
    out: Option<BufReader<ChildStdout>>,
    log: Option<JoinHandle<String>>,
}

impl RunningProgram {
    /// The next line of standard output. `None` at its end.
    pub fn line(&mut self) -> Option<String> {
        let mut line = String::new();
        let out = self.out.as_mut().expect("it is read until it ends");
        let read = out.read_line(&mut line).expect("it can be read");
        (read > 0).then_some(line)
    }

    /// Reads until `wanted` accepts a line as JSON, and gives it.
    #[track_caller]
    pub fn wait(&mut self, what: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        let mut seen = Vec::new();
        while let Some(line) = self.line() {
            let found: Value = serde_json::from_str(&line).expect("JSON, one object a line");
            if wanted(&found) {
                return found;
            }
            if found["event"] != "value" {
                seen.push(line);
            }
        }
        let log = self.log.take().and_then(|log| log.join().ok());
        panic!(
            "it ended before {what}: {}\n{}",
            seen.concat(),
            log.unwrap_or_default()
        );
    }

    /// Waits until the command has ended. A command that does not end is killed, and the test
    /// fails.
    #[track_caller]
    pub fn end(mut self) -> FinishedRun {
        // Its output is read meanwhile, so a full pipe never stops the command.
        let mut rest = self.out.take().expect("it is read until it ends");
        let out = std::thread::spawn(move || {
            let mut out = String::new();
            let _ = rest.read_to_string(&mut out);
            out
        });
        let until = Instant::now() + PATIENCE;
        let ended = loop {
            match self.child.try_wait().expect("it can be waited for") {
                Some(status) => break status,
                None if Instant::now() > until => {
                    let _ = self.child.kill();
                    let log = self.log.take().and_then(|log| log.join().ok());
                    panic!(
                        "it did not end within {PATIENCE:?}: {}",
                        log.unwrap_or_default()
                    );
                }
                None => std::thread::sleep(LOOK_AGAIN),
            }
        };
        let err = self.log.take().and_then(|log| log.join().ok());
        FinishedRun {
            code: ended.code().unwrap_or(-1),
            out: out.join().unwrap_or_default(),
            err: err.unwrap_or_default(),
        }
    }

    /// Sends the command a signal.
    #[cfg(unix)]
    pub fn signal(&self, signal: rustix::process::Signal) {
        let pid = rustix::process::Pid::from_child(&self.child);
        rustix::process::kill_process(pid, signal).expect("it runs");
    }
}

impl Drop for RunningProgram {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A running daemon.
#[derive(Debug)]
pub struct Daemon {
    /// The program whose commands use this daemon.
    pub program: Program,
    /// A client of its API.
    pub api: Api,
    runs: Runs,
}

/// The process in which a daemon runs.
#[derive(Debug)]
enum Runs {
    Process(RunningProgram),
    Here(HostedDaemon),
}

impl Daemon {
    /// A daemon in this process. The program finds it by its data folder.
    pub fn hosted(program: &Program, hosted: HostedDaemon) -> Daemon {
        let (address, token) = hosted.at();
        Daemon {
            program: program.clone(),
            api: Api { address, token },
            runs: Runs::Here(hosted),
        }
    }

    /// The number of the daemon's process.
    pub fn pid(&self) -> u32 {
        match &self.runs {
            Runs::Process(running) => running.child.id(),
            Runs::Here(_) => std::process::id(),
        }
    }

    /// Kills the daemon, as a power cut would, and waits until it is gone.
    pub fn kill(self) {
        drop(self);
    }

    /// Ends the daemon cleanly and waits for the end. A daemon in another process gets a signal.
    #[track_caller]
    pub fn stop(self) {
        match self.runs {
            Runs::Here(hosted) => hosted.stop(),
            #[cfg(unix)]
            Runs::Process(running) => {
                running.signal(rustix::process::Signal::TERM);
                running.end().good();
            }
            #[cfg(not(unix))]
            Runs::Process(running) => drop(running),
        }
    }

    fn process(self) -> RunningProgram {
        match self.runs {
            Runs::Process(running) => running,
            Runs::Here(_) => panic!("it runs in this process"),
        }
    }

    /// Waits for the end of the daemon. Something else must cause the end.
    pub fn end(self) -> FinishedRun {
        self.process().end()
    }

    /// Sends the daemon's process a signal.
    #[cfg(unix)]
    pub fn tell(&self, signal: rustix::process::Signal) {
        match &self.runs {
            Runs::Process(running) => running.signal(signal),
            Runs::Here(_) => panic!("it runs in this process"),
        }
    }

    /// Sends the daemon a signal and waits for its end.
    #[cfg(unix)]
    pub fn signal(self, signal: rustix::process::Signal) -> FinishedRun {
        self.tell(signal);
        self.process().end()
    }
}
