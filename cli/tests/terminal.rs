//! The differences in a terminal, tested on a pseudo-terminal: colour, tables, and that commands
//! work there at all. (A library that refused to colour traces once ended every command in a
//! terminal, and none outside one.)
#![cfg(unix)]

use std::fs::File;
use std::io::Read as _;
use std::process::{Command, Stdio};

use rustix::fs::{Mode, OFlags};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

/// Runs the executable with a terminal for all three streams. Gives the exit code and the
/// terminal's text.
fn in_terminal(arguments: &[&str], environment: &[(&str, &str)]) -> (Option<i32>, String) {
    in_terminal_of(0, arguments, environment)
}

/// The same with a terminal of so many columns; 0 where it does not say how many.
fn in_terminal_of(
    columns: u16,
    arguments: &[&str],
    environment: &[(&str, &str)],
) -> (Option<i32>, String) {
    let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).expect("a pseudo-terminal");
    grantpt(&ours).expect("granted");
    unlockpt(&ours).expect("unlocked");
    let name = ptsname(&ours, Vec::new()).expect("its name");
    let theirs = rustix::fs::open(&name, OFlags::RDWR | OFlags::NOCTTY, Mode::empty())
        .expect("its other end");
    let size = rustix::termios::Winsize {
        ws_row: 40,
        ws_col: columns,
        ws_xpixel: 0,
        ws_ypixel: 0,
    };
    rustix::termios::tcsetwinsize(&theirs, size).expect("its size");
    let stdio = || Stdio::from(theirs.try_clone().expect("a copy"));
    let mut command = Command::new(env!("CARGO_BIN_EXE_benchhand"));
    command
        .args(arguments)
        .env_remove("NO_COLOR")
        .env("TERM", "xterm");
    command.envs(environment.iter().copied());
    command.current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/files"));
    command.stdin(stdio()).stdout(stdio()).stderr(stdio());
    let mut child = command.spawn().expect("it runs");
    // Only the child may hold the other end. Otherwise the loop below would never end.
    drop(command);
    drop(theirs);
    let reader = std::thread::spawn(move || {
        let mut ours = File::from(ours);
        let mut shown = Vec::new();
        let mut buffer = [0; 4096];
        // A terminal whose other end is closed gives an error, not an end.
        while let Ok(n @ 1..) = ours.read(&mut buffer) {
            shown.extend_from_slice(&buffer[..n]);
        }
        String::from_utf8_lossy(&shown).into_owned()
    });
    let status = child.wait().expect("it ends");
    (status.code(), reader.join().expect("read"))
}

const REPORT: [&str; 6] = [
    "report",
    "--engine",
    "twin.toml",
    "--readings",
    "twin.csv",
    "--full",
];
const FAULTY: [&str; 5] = ["report", "--engine", "twin.csv", "--readings", "twin.csv"];

#[test]
fn a_report_works_in_a_terminal() {
    let (code, shown) = in_terminal(&REPORT, &[]);
    assert_eq!(code, Some(0), "{shown}");
    assert!(shown.contains("Cautions"), "{shown}");
    // This terminal reports a width of 0. The table is not wrapped to it.
    assert!(shown.contains("10.060 ± 0.0"), "{shown}");
    assert!(!shown.contains("panicked"), "{shown}");
}

#[test]
fn no_line_of_the_long_report_is_wider_than_the_terminal() {
    for columns in [72, 100] {
        let (code, shown) = in_terminal_of(columns, &REPORT, &[]);
        assert_eq!(code, Some(0), "{shown}");
        let wide = shown
            .lines()
            .find(|line| line.trim_end().chars().count() > usize::from(columns));
        assert_eq!(wide, None, "{columns}: {shown}");
    }
}

#[test]
fn an_error_is_coloured_in_a_terminal_unless_no_color_is_set() {
    let (code, shown) = in_terminal(&FAULTY, &[]);
    assert_eq!(code, Some(3), "{shown}");
    assert!(shown.contains("\u{1b}["), "coloured: {shown:?}");
    for environment in [("NO_COLOR", "1"), ("TERM", "dumb")] {
        let (code, shown) = in_terminal(&FAULTY, &[environment]);
        assert_eq!(code, Some(3), "{shown}");
        assert!(
            !shown.contains("\u{1b}["),
            "plain with {environment:?}: {shown:?}"
        );
        assert!(shown.contains("twin.csv:"), "{shown}");
    }
}
