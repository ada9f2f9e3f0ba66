//! Runs the executable as a user with few rights, by `setpriv` (util-linux).
//!
//! The administrator may open any port, and builds often run as administrator.

#![cfg(target_os = "linux")]

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use tempfile::TempDir;

use crate::program::executable;

/// The number of a user who owns nothing.
pub const USER: u32 = 65534;

/// Whether this process runs as administrator.
pub fn am_root() -> bool {
    rustix::process::getuid().is_root()
}

/// A folder in which any user may write.
pub fn open_folder() -> TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    std::fs::set_permissions(folder.path(), PermissionsExt::from_mode(0o777)).expect("mine");
    folder
}

/// A copy of the executable that any user may run.
pub fn for_everybody() -> &'static Path {
    static COPY: OnceLock<(TempDir, PathBuf)> = OnceLock::new();
    let (_, path) = COPY.get_or_init(|| {
        let folder = open_folder();
        let path = folder.path().join("benchhand");
        std::fs::copy(executable(), &path).expect("it is copied");
        std::fs::set_permissions(&path, PermissionsExt::from_mode(0o755)).expect("it is mine");
        (folder, path)
    });
    path
}

/// The command that starts the executable as that user, if this process runs as administrator.
pub fn runner() -> Vec<String> {
    let program = for_everybody().display().to_string();
    if !am_root() {
        return vec![program];
    }
    let (user, group) = (format!("--reuid={USER}"), format!("--regid={USER}"));
    let words = ["setpriv", &user, &group, "--clear-groups", &program];
    words.map(str::to_owned).to_vec()
}

/// Gives a device to one user alone.
pub fn give(path: &str, owner: u32) {
    std::fs::set_permissions(path, PermissionsExt::from_mode(0o600)).expect("mine");
    if am_root() {
        let (owner, group) = (Some(owner), Some(owner));
        std::os::unix::fs::chown(path, owner, group).expect("it can be given away");
    }
}
