//! A job's record: whether it is whole, and what its recorded streams give anew.

use benchhand_wire::{Recomputed, RecomputedElsewhere, RecomputedReading, Verified};

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

/// How many readings of another station were not made out anew there.
fn not_again(there: &RecomputedElsewhere) -> usize {
    there.readings.saturating_sub(there.again)
}

/// Whether what is missing comes in a moment, so that it is worth while to ask again.
pub fn awaited(answer: &Recomputed) -> bool {
    answer.elsewhere.iter().any(|one| one.awaited)
}

/// The readings from the recorded streams beside those in the journal.
pub fn recomputed(answer: &Recomputed) -> ToldText {
    let mut told = ToldText::default();
    let again = |station: &str| {
        let of = answer.elsewhere.iter().find(|one| one.station == station);
        of.is_some_and(|of| of.again > 0)
    };
    let told_of = |r: &&RecomputedReading| r.held_by.as_deref().is_none_or(again);
    let odd = answer.readings.iter().filter(told_of);
    let odd = odd.filter(|r| r.verdict != "same");
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
    let untold = answer.elsewhere.iter().map(not_again).sum::<usize>();
    let mut text = format!(
        "{} captured readings computed again: {} the same, {} near (within a tenth of a step), {} different, {} without their stream.",
        answer.readings.len().saturating_sub(untold),
        answer.same,
        answer.near,
        answer.different,
        answer.without_stream.saturating_sub(untold)
    );
    for there in &answer.elsewhere {
        let station = &there.station;
        let readings = |count: usize| match count {
            1 => "1 captured reading was".to_owned(),
            count => format!("{count} captured readings were"),
        };
        if there.again > 0 {
            text += &format!(
                "\n{} computed again at station {station}, which holds the recorded streams.",
                readings(there.again)
            );
        }
        if let (Some(why), count) = (&there.away, not_again(there)) {
            text += &format!(
                "\nOf station {station}, {} NOT computed again. {why}.",
                readings(count)
            );
        }
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

    fn there(station: &str, readings: usize, again: usize, away: &str) -> RecomputedElsewhere {
        RecomputedElsewhere {
            station: station.to_owned(),
            readings,
            again,
            away: (!away.is_empty()).then(|| away.to_owned()),
            awaited: !away.is_empty(),
        }
    }

    #[test]
    fn what_other_stations_hold_is_counted_once_they_have_computed_it_and_named_until_then() {
        let readings = vec![
            of(None, "same"),
            of(Some("B"), "same"),
            of(Some("B"), "different"),
            of(Some("C"), "no stream"),
        ];
        let answer = Recomputed {
            readings,
            same: 2,
            near: 0,
            different: 1,
            without_stream: 1,
            outside_window: 0,
            cut_streams: Vec::new(),
            elsewhere: vec![
                there("B", 2, 2, ""),
                there(
                    "C",
                    1,
                    0,
                    "What was recorded lies at station C (deck stand): it is asked for",
                ),
            ],
        };
        assert!(awaited(&answer));
        let text = recomputed(&answer).text();
        for told in [
            "3 captured readings computed again: 2 the same, 0 near (within a tenth of a step), 1 different, 0 without their stream.",
            "2 captured readings were computed again at station B",
            "Of station C, 1 captured reading was NOT computed again. What was recorded lies at station C (deck stand): it is asked for.",
        ] {
            assert!(text.contains(told), "{told}\n{text}");
        }
        assert_eq!(text.matches("burette-001").count(), 1, "{text}");
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
