//! A job's record: whether it is whole, and what its recorded streams give anew.

use std::collections::BTreeMap;

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
    let (here, elsewhere): (Vec<_>, Vec<_>) =
        answer.readings.iter().partition(|r| r.held_by.is_none());
    let odd = here.iter().filter(|r| r.verdict != "same");
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
            reading.verdict.clone(),
        ]);
    }
    if any {
        told += table;
        told += "\n";
    }
    let mut text = format!(
        "{} captured readings computed again: {} the same, {} near (within a tenth of a step), {} different, {} without their stream.",
        here.len(),
        answer.same,
        answer.near,
        answer.different,
        answer.without_stream.saturating_sub(elsewhere.len())
    );
    let mut by_station: BTreeMap<&str, usize> = BTreeMap::new();
    for station in elsewhere.iter().filter_map(|one| one.held_by.as_deref()) {
        *by_station.entry(station).or_default() += 1;
    }
    for (station, count) in by_station {
        let readings = match count {
            1 => "1 captured reading was".to_owned(),
            count => format!("{count} captured readings were"),
        };
        text += &format!(
            "\n{readings} NOT computed again: the recorded stream lies at station {station}. Do the \
             same at that station, on its page or with `benchhand job recompute`."
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
    use benchhand_wire::RecomputedReading;

    use super::*;

    fn of(held_by: Option<&str>, verdict: &str) -> RecomputedReading {
        RecomputedReading {
            id: 7,
            number: Some("A3".into()),
            held_by: held_by.map(str::to_owned),
            spot: "chamber/1".into(),
            kept: 64.2,
            again: None,
            unit: "cc".into(),
            stream: "burette-001.ndjson".into(),
            at_us: 1,
            verdict: verdict.into(),
            in_window: None,
        }
    }

    #[test]
    fn what_lies_at_other_stations_is_named_with_the_station_and_not_counted_here() {
        let readings = vec![
            of(None, "same"),
            of(Some("B"), "no stream"),
            of(Some("B"), "no stream"),
            of(Some("C"), "no stream"),
        ];
        let told = recomputed(&Recomputed {
            readings,
            same: 1,
            near: 0,
            different: 0,
            without_stream: 3,
            outside_window: 0,
            cut_streams: Vec::new(),
        });
        let text = told.text();
        assert!(
            text.starts_with("1 captured readings computed again: 1 the same"),
            "{text}"
        );
        assert!(text.contains("0 without their stream"), "{text}");
        assert!(text.contains("2 captured readings were NOT computed again: the recorded stream lies at station B."), "{text}");
        assert!(
            text.contains(
                "1 captured reading was NOT computed again: the recorded stream lies at station C."
            ),
            "{text}"
        );
    }

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
