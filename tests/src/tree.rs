//! The project's own files, for tests that read them.

use std::path::{Path, PathBuf};

/// The project's root folder.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().expect("tests/ stands in the root").to_owned()
}

/// Every file below `folder` whose name ends with `ending`, without build results.
pub fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut left = vec![folder.to_owned()];
    while let Some(dir) = left.pop() {
        let Ok(entries) = std::fs::read_dir(&dir) else {
            continue;
        };
        for entry in entries.flatten() {
            let path = entry.path();
            let name = entry.file_name().to_string_lossy().into_owned();
            if path.is_dir() {
                if name != "target" && name != "node_modules" && !name.starts_with(".git") {
                    left.push(path);
                }
            } else if name.ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// A file's text. Panics with its path if it cannot be read.
pub fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// A path relative to the root, with forward slashes.
pub fn from_root(path: &Path) -> String {
    path.strip_prefix(root())
        .unwrap_or(path)
        .to_string_lossy()
        .replace('\\', "/")
}
