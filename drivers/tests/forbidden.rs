//! A port that this user may not open is reported as forbidden, with what to do, and not as
//! absent.
#![cfg(target_os = "linux")]

use std::os::unix::fs::PermissionsExt;
use std::process::Command;

use benchhand_drivers::transport::OpenError;
use benchhand_drivers::transport::pty::PtyEnd;
use benchhand_drivers::transport::serial::{self, PortState};
use benchhand_drivers::{SerialFormat, SerialSettings};

/// Names the port to the second half of the test, which runs as another user.
const PORT: &str = "BENCHHAND_FORBIDDEN_PORT";

/// The second half: it has no right to the port.
#[test]
#[ignore = "run by the test below, as a user without rights"]
fn opened_without_rights() {
    let path = std::env::var(PORT).expect("run by the other test");
    let error = serial::open(&path, &SerialSettings::new(9600, SerialFormat::N81))
        .map(drop)
        .unwrap_err();
    assert!(matches!(error, OpenError::Forbidden { .. }), "{error:?}");
    assert!(
        error.to_string().contains("add your user to that group"),
        "{error}"
    );
    assert_eq!(serial::probe(&path), PortState::Forbidden);
}

#[test]
fn a_port_without_rights_is_forbidden() {
    let gauge = PtyEnd::open().unwrap();
    std::fs::set_permissions(gauge.path(), std::fs::Permissions::from_mode(0o000)).unwrap();
    let itself = std::env::current_exe().unwrap();
    let args = ["--exact", "opened_without_rights", "--ignored"];
    // The superuser may open any port, so the second half runs as another user.
    let mut other = if rustix::process::geteuid().is_root() {
        let mut other = Command::new("setpriv");
        other
            .args(["--reuid=65534", "--regid=65534", "--clear-groups"])
            .arg(itself);
        other
    } else {
        Command::new(itself)
    };
    let output = other
        .args(args)
        .env(PORT, gauge.path())
        .current_dir("/")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success() && said.contains("1 passed"),
        "{said}{}",
        String::from_utf8_lossy(&output.stderr)
    );
}
