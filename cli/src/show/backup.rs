//! What becomes of the whole data folder.

use benchhand_wire::{BackupRestored, BackupWritten};

use super::count;

/// The result of a backup.
pub(crate) fn backed_up(answer: &BackupWritten) -> String {
    let mut text = format!(
        "{}: {} and {}, {} bytes in all. Index, lock and the daemon's address are not in it.",
        answer.out,
        count(answer.jobs, "job", "jobs"),
        count(answer.files, "file", "files"),
        answer.bytes
    );
    for damaged in &answer.damaged {
        text += &format!("\n! DAMAGED, and in the backup as it was found: {damaged}");
    }
    text
}

/// The result of restoring.
pub(crate) fn restored(answer: &BackupRestored) -> String {
    let mut text = format!(
        "{} is as it was on {}: {} and {}. Every record was checked line by line.",
        answer.data,
        super::moment(&answer.made),
        count(answer.jobs, "job", "jobs"),
        count(answer.files, "file", "files")
    );
    for damaged in &answer.damaged {
        text += &format!("\n! DAMAGED before it was backed up: {damaged}");
    }
    text
}
