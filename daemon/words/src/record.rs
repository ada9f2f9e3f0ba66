//! A job's record: whether it is whole, and what its recorded streams give anew.

use benchhand_wire::{Recomputed, Verified};

use crate::told::{ToldTable, ToldText};

/// The result of checking a job's record.
pub fn verified(job: &str, answer: &Verified) -> String {
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

/// The readings from the recorded streams beside those in the journal.
pub fn recomputed(answer: &Recomputed) -> ToldText {
    let mut told = ToldText::default();
    let odd = answer.readings.iter().filter(|r| r.verdict != "same");
    let mut table = ToldTable::new(&[
        ">reading", "spot", ">kept", ">again", "unit", "stream", "verdict",
    ]);
    let mut any = false;
    for reading in odd {
        any = true;
        let again = reading.again.map(|value| value.to_string());
        table.row(vec![
            reading
                .number
                .clone()
                .unwrap_or_else(|| reading.id.to_string()),
            reading.spot.clone(),
            reading.kept.to_string(),
            again.unwrap_or_else(|| "nothing".to_owned()),
            reading.unit.clone(),
            reading.stream.clone(),
            match &reading.held_by {
                Some(station) => format!("{}, held by station {station}", reading.verdict),
                None => reading.verdict.clone(),
            },
        ]);
    }
    if any {
        told += table;
        told += "\n";
    }
    let mut text = format!(
        "{} captured readings computed again: {} the same, {} near (within a tenth of a step), {} different, {} without their stream.",
        answer.readings.len(),
        answer.same,
        answer.near,
        answer.different,
        answer.without_stream
    );
    let elsewhere = answer.readings.iter().filter(|r| r.held_by.is_some());
    let elsewhere = elsewhere.count();
    if elsewhere > 0 {
        text += &format!(
            "\n{elsewhere} of those without their stream are other stations'; compute them again there."
        );
    }
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
    told += text + "\n";
    told
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
