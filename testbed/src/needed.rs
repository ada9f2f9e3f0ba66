//! What a test needs of the machine beyond the toolchain.
//!
//! If something is missing, the test does not run and says so on standard error. In CI
//! (`CI` is set) everything must be there, and such a test fails.

use std::io::Write;
use std::path::PathBuf;

/// The file of a program on the path, if there is one.
#[must_use]
pub fn on_path(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let mut all = std::env::split_paths(&path).map(|folder| folder.join(name));
    all.find(|program| program.is_file())
}

/// Whether a test that needs `what` runs. It runs if `what` was `found`.
///
/// # Panics
/// In CI, when it was not found.
#[must_use]
pub fn is_here(what: &str, found: bool) -> bool {
    if !found {
        let why = format!("{what} is not on this machine");
        assert!(std::env::var_os("CI").is_none(), "{why}");
        let _ = writeln!(std::io::stderr(), "did not run: {why}");
    }
    found
}
