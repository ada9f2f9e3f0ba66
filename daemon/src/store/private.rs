//! Keeps what the store holds to its owner: a builder's figures are nobody else's, and a lock that
//! others can open can be held by them.
//!
//! What is made here has no other rights from the first moment on. This is for folders that an
//! earlier version made, or a person.

use std::path::Path;

use crate::store::layout::Layout;
use benchhand_files::{FileError, Files};

/// Takes every right to the data folder away from all but its owner. What cannot be changed, such as
/// another user's file, is named in the log.
pub(crate) fn keep_to_owner(files: &dyn Files, layout: &Layout) {
    let known = [
        layout.jobs(),
        layout.gauges(),
        layout.profiles(),
        layout.routes(),
        layout.index(),
        layout.lock(),
        layout.holder(),
        layout.endpoint(),
        layout.root().join("index.broken"),
        layout.root().join("pedals.toml"),
        layout.root().join("demo"),
    ];
    let listed = files.list(layout.root()).unwrap_or_default();
    let is_known = |path: &Path| known.iter().any(|one| one == path);
    let mut only_ours = true;
    for one in &listed {
        let path = layout.root().join(&one.name);
        if is_known(&path) {
            keep(files, &path, one.is_dir);
        } else {
            only_ours &= one.name.starts_with('.');
        }
    }
    // A folder that holds other things too may be meant for others.
    if only_ours {
        keep(files, layout.root(), false);
    }
}

/// Keeps a file or folder to its owner, with all that is `below` it.
fn keep(files: &dyn Files, path: &Path, below: bool) {
    if let Err(error) = files.keep_to_owner(path) {
        log(&error);
    }
    let listed = if below {
        files.list(path)
    } else {
        Ok(Vec::new())
    };
    for one in listed.inspect_err(log).unwrap_or_default() {
        keep(files, &path.join(&one.name), one.is_dir);
    }
}

fn log(error: &FileError) {
    tracing::warn!(%error, "others may read what is kept");
}
