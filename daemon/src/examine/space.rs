//! Free space where the data folder lies.

use std::path::Path;

use benchhand_wire::{MachineFinding, MachinePart, MachineState};

use super::{finding, fine, nearest_there};

/// Below this many bytes an evening's recorded streams may not fit. Our own choice: an evening of
/// three gauges takes some megabytes.
const LEAST: u64 = 64 << 20;
/// Below this many bytes it is time to make room.
const LITTLE: u64 = 1 << 30;

/// What is to be said of the space at `data`, which need not be there yet.
pub(crate) fn at(data: &Path) -> MachineFinding {
    match nearest_there(data).and_then(free) {
        Some(bytes) => judged(bytes, data),
        None => finding(
            MachinePart::Space,
            MachineState::Unknown,
            format!("the free space at {} cannot be seen here", data.display()),
            "look at it by the system's own means: some hundred megabytes are enough for long",
        ),
    }
}

/// The bytes that this user may still write.
#[cfg(unix)]
fn free(path: &Path) -> Option<u64> {
    let told = rustix::fs::statvfs(path).ok()?;
    Some(told.f_bavail.saturating_mul(told.f_frsize))
}

#[cfg(not(unix))]
fn free(_: &Path) -> Option<u64> {
    None
}

fn judged(bytes: u64, data: &Path) -> MachineFinding {
    let at = data.display();
    let found = format!("{} free at {at}", in_words(bytes));
    let todo = "make room on that disk, or keep everything elsewhere: --data DIR or BENCHHAND_DATA";
    match bytes {
        LITTLE.. => fine(MachinePart::Space, found),
        LEAST.. => finding(MachinePart::Space, MachineState::Advice, found, todo),
        _ => finding(MachinePart::Space, MachineState::Wrong, found, todo),
    }
}

/// A size as it is said.
pub(crate) fn in_words(bytes: u64) -> String {
    match bytes >> 20 {
        mb @ 10_240.. => format!("{} GB", mb >> 10),
        mb => format!("{mb} MB"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn little_space_is_advised_upon_and_next_to_none_is_wrong() {
        let at = |bytes| judged(bytes, Path::new("/home/anna/benchhand"));
        assert_eq!(at(200 << 30).state, MachineState::Fine);
        assert_eq!(at(LITTLE).state, MachineState::Fine);
        assert_eq!(at(LITTLE - 1).state, MachineState::Advice);
        assert_eq!(at(LEAST - 1).state, MachineState::Wrong);
        let full = at(0);
        assert!(full.found.starts_with("0 MB free"), "{full:?}");
        assert!(full.todo.contains("make room"), "{full:?}");
        assert!(at(200 << 30).found.contains("200 GB"));
    }

    #[cfg(unix)]
    #[test]
    fn a_folder_that_is_not_there_yet_has_the_space_of_the_one_above_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let data = folder.path().join("not/yet");
        assert_ne!(at(&data).state, MachineState::Unknown);
    }
}
