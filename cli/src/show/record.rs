//! A job's record: what was accepted of its damage, and the job as one file.

use benchhand_wire::{DamageAccepted, JobPacked, JobUnpacked};
use benchhand_words::copy_of;

use super::count;

/// The result of accepting damage.
pub(crate) fn damage_accepted(job: &str, answer: &DamageAccepted) -> String {
    if answer.damage.is_empty() {
        return format!("The record of job {job} is whole; there was nothing to accept.");
    }
    let mut text = format!("Accepted; job {job} goes on without what is missing:");
    for damage in &answer.damage {
        text.push_str(&format!("\n- {damage}"));
    }
    text
}

/// The result of packing a job.
pub(crate) fn packed(job: &str, out: &str, answer: &JobPacked) -> String {
    let files = usize::try_from(answer.files).unwrap_or(usize::MAX);
    let mut text = format!(
        "{out}: job {job} as of entry {}, {}, {} bytes.\nThe last line's hash is {}",
        answer.seq,
        count(files, "file", "files"),
        answer.bytes,
        answer.head
    );
    if answer.streams_left_out > 0 {
        let left_out = usize::try_from(answer.streams_left_out).unwrap_or(usize::MAX);
        text.push_str(&format!(
            "\nLeft out: {}. From this file no reading can be computed again.",
            count(left_out, "recorded stream", "recorded streams")
        ));
    }
    for name in &answer.foreign {
        text.push_str(&format!(
            "\nLeft out: {name}, which is none of the job's files."
        ));
    }
    text
}

/// The result of unpacking a job.
pub(crate) fn unpacked(answer: &JobUnpacked) -> String {
    let summary = &answer.summary;
    let mut text = format!(
        "Job {} is here: {}, stage \"{}\", {}. Its record is whole.\nIt is kept in {}",
        summary.name,
        summary.engine,
        summary.stage,
        count(
            summary.readings,
            "reading that counts",
            "readings that count"
        ),
        summary.folder
    );
    if let Some(of) = &answer.copy_of {
        text.push_str(&format!("\nIt is {}.", copy_of(of)));
    }
    if answer.without_streams {
        text.push_str("\nIts recorded streams were left out when it was packed.");
    }
    text
}
