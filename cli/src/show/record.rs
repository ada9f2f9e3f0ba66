//! A job's record: whether it is whole, what was accepted of its damage, what its streams give anew.

use benchhand_wire::{DamageAccepted, JobPacked, JobUnpacked, Recomputed, Verified};
use benchhand_words::copy_of;

use super::count;
use super::table::Table;

/// The result of checking a job's record.
pub(crate) fn verified(job: &str, answer: &Verified) -> String {
    match &answer.broken {
        None => {
            let mut text = format!(
                "The record of job {job} is whole: {} lines, the last one's hash is {}",
                answer.lines, answer.head
            );
            if answer.torn > 0 {
                text.push_str(&format!(
                    "\nAfter them stand {} bytes of a write that never ended; nothing of it was \
                     acknowledged, and the next change sets it aside.",
                    answer.torn
                ));
            }
            for damage in &answer.accepted {
                text.push_str(&format!("\nAccepted before: {damage}"));
            }
            text
        }
        Some(broken) => format!(
            "The record of job {job} is DAMAGED: {broken}\nKeep a copy of the job's folder as it \
             is now. Where no sound copy is left: benchhand job accept-damage {job} --reason TEXT"
        ),
    }
}

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
        "{out}: job {job} as of fact {}, {}, {} bytes.\nThe last line's hash is {}",
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

/// The readings from the recorded streams beside those in the journal.
pub(crate) fn recomputed(answer: &Recomputed) -> String {
    let mut text = String::new();
    let odd = answer.readings.iter().filter(|r| r.verdict != "same");
    let mut table = Table::new(&[
        ">entry", "spot", ">kept", ">again", "unit", "stream", "verdict",
    ]);
    let mut any = false;
    for reading in odd {
        any = true;
        let again = reading.again.map(|value| value.to_string());
        table.row(vec![
            reading.id.to_string(),
            reading.spot.clone(),
            reading.kept.to_string(),
            again.unwrap_or_else(|| "nothing".to_owned()),
            reading.unit.clone(),
            reading.stream.clone(),
            reading.verdict.clone(),
        ]);
    }
    if any {
        text += &table.text();
        text += "\n";
    }
    text += &format!(
        "{} captured readings computed again: {} the same, {} near (within a tenth of a step), {} different, {} without their stream.",
        answer.readings.len(),
        answer.same,
        answer.near,
        answer.different,
        answer.without_stream
    );
    if answer.outside_window > 0 {
        text += &format!(
            "\n! {} of those without their stream lie outside the samples that the record holds of them.",
            answer.outside_window
        );
    }
    for cut in &answer.cut_streams {
        text +=
            &format!("\nA recorded stream is cut short: {cut}. What stands before is made out.");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_broken_record_is_said_loudly() {
        let text = verified(
            "v8",
            &Verified {
                torn: 0,
                accepted: Vec::new(),
                lines: 9,
                head: "ab".into(),
                broken: Some("line 4 was changed".into()),
            },
        );
        assert!(text.contains("DAMAGED: line 4 was changed"), "{text}");
    }
}
