//! Jobs, their stages and readings, and the results of changes.

use benchhand_wire::{
    CardShown, EngineSet, Entered, Imported, JobDetail, JobList, JobSummary, Moved, ShownReading,
    Voided,
};

use benchhand_words::{copy_of, shop};

use super::figure::{as_taken, digits, unit_after};
use super::table::Table;
use super::{count, cuts, moment, route, wrapped};

/// The line under a list of readings that explains the numbers after ±.
const OWN_U: &str = "± is the reading's own, where one was given, and covers 95 %; \
    what the gauges add is in the report.";

/// The jobs, the last changed first.
pub(crate) fn list(answer: &JobList) -> String {
    if answer.jobs.is_empty() && answer.unreadable.is_empty() {
        return "There is no job yet. Open one: benchhand job new NAME".to_owned();
    }
    let headings = [
        "job",
        "engine",
        "stage",
        "still to measure",
        ">readings",
        "last kept",
        "folder",
    ];
    let mut table = Table::new(&headings);
    for job in &answer.jobs {
        table.row(vec![
            job.name.clone(),
            job.engine.clone(),
            job.stage.clone(),
            job.lacks.join(", "),
            job.readings.to_string(),
            moment(&job.changed),
            job.folder.clone(),
        ]);
    }
    let mut text = match answer.jobs.is_empty() {
        true => String::new(),
        false => table.text(),
    };
    for job in &answer.jobs {
        if let Some(damage) = &job.damage {
            text.push_str(&format!("\n{} is DAMAGED: {damage}", job.name));
        }
    }
    for job in &answer.unreadable {
        text.push_str(&format!("\n{} cannot be read: {}", job.name, job.why));
    }
    text.trim_start_matches('\n').to_owned()
}

/// The result of opening a job.
pub(crate) fn opened(job: &JobSummary) -> String {
    format!(
        "Job {} is open: {}, stage \"{}\".\nIt is kept in {}",
        job.name, job.engine, job.stage, job.folder
    )
}

/// The result of replacing an engine file.
pub(crate) fn engine_set(job: &str, answer: &EngineSet) -> String {
    match answer.id {
        Some(id) => format!(
            "Job {job} has the engine {} now (entry {id}).",
            answer.engine
        ),
        None => format!("Job {job} has this engine already; nothing was kept."),
    }
}

/// The whole content of a job.
pub(crate) fn detail(answer: &JobDetail) -> String {
    let JobDetail {
        summary,
        stages,
        taken_back,
        readings,
        route: running,
        elsewhere,
        notes,
        card,
        copy_of: original,
        units: _,
    } = answer;
    let mut text = format!(
        "Job {}: {}\nopened {}, last kept {}, {}\n{}\n",
        summary.name,
        summary.engine,
        moment(&summary.opened),
        moment(&summary.changed),
        count(
            summary.readings,
            "reading that counts",
            "readings that count"
        ),
        summary.folder
    );
    if let Some(original) = original {
        text += &format!("{}\n", copy_of(original));
    }
    for (name, value) in entries(card) {
        text += &format!("{name} {value}\n");
    }
    for note in notes {
        text += &format!("  ! {note}\n");
    }
    text += "\nStages\n";
    text += &cuts::stages(stages, taken_back);
    if let Some(progress) = running {
        text += &format!("\nRoute\n{}", route::standing(progress));
    }
    for other in elsewhere {
        let station = shop::named(&other.station, &other.name);
        let now = other.now.as_ref().map(shop::route);
        let now = now.map_or(String::new(), |now| format!(": {now}"));
        let told = shop::measured_too(&other.route, &station);
        text += &format!("\n! {told}{now}\n");
    }
    if readings.is_empty() {
        text += "\nNo reading is kept yet.\n";
    } else {
        text += &format!("\nReadings\n{}{OWN_U}\n", table_of(readings));
    }
    text
}

/// The job card, entry by entry.
fn entries(card: &CardShown) -> Vec<(String, &str)> {
    let said = [
        ("customer", &card.customer),
        ("order", &card.order),
        ("block", &card.block),
        ("measured by", &card.measured_by),
    ];
    let heads = card.heads.iter();
    let heads = heads.map(|(bank, mark)| (format!("head on bank {bank}"), mark.as_str()));
    said.into_iter()
        .filter_map(|(name, value)| Some((name.to_owned(), value.as_deref()?)))
        .chain(heads)
        .collect()
}

fn table_of(readings: &[ShownReading]) -> String {
    let headings = [
        ">no.", "spot", ">reading", "state", "stage", ">round", "gauge", "from", "by", "kept",
    ];
    let mut table = Table::new(&headings);
    // A column would cut them where a terminal is narrow.
    let mut told = String::new();
    for reading in readings {
        let mut notes: Vec<String> = reading
            .parts_as_told()
            .iter()
            .map(|(name, figure)| format!("{name} {}", as_taken(figure)))
            .collect();
        if !reading.note.is_empty() {
            notes.push(reading.note.clone());
        }
        table.row(vec![
            reading.said_number(),
            reading.spot.clone(),
            as_taken(reading.as_told()),
            reading.state.clone(),
            reading.stage.clone(),
            reading.round.to_string(),
            reading.gauge.clone().unwrap_or_default(),
            reading.source.clone(),
            reading.by.clone().unwrap_or_default(),
            moment(&reading.at),
        ]);
        if !notes.is_empty() {
            let mark = format!("  {}  ", reading.said_number());
            let note = format!("{}: {}", reading.spot, notes.join("; "));
            told += &wrapped(&mark, &note);
        }
    }
    let title = if told.is_empty() { "" } else { "Notes\n" };
    table.text() + title + &told
}

/// A reading in one line, at the moment it is captured.
pub(crate) fn reading(reading: &ShownReading) -> String {
    let mut text = format!(
        "{:<10} {}  {}  (reading {}",
        reading.state,
        reading.spot,
        as_taken(reading.as_told()),
        reading.said_number()
    );
    if let Some(gauge) = &reading.gauge {
        text += &format!(", {gauge}");
    }
    text += ")";
    if !reading.note.is_empty() {
        text += &format!(" {}", reading.note);
    }
    text
}

/// The result of entering a reading.
pub(crate) fn entered(answer: &Entered) -> String {
    let remark = answer.remark.lines();
    let remark: String = remark.map(|line| format!("\n! {line}")).collect();
    let typed = format!(
        "{}{}",
        digits(answer.value, &answer.unit),
        unit_after(&answer.unit)
    );
    let value = match &answer.told {
        Some(told) => format!("{} ({typed})", as_taken(told)),
        None => typed,
    };
    format!(
        "Kept as reading {}: {} = {value} at stage \"{}\".{remark}",
        answer.said_number(),
        answer.spot,
        answer.stage
    )
}

/// The result of an import.
pub(crate) fn imported(answer: &Imported) -> String {
    let remark = answer.remark.lines();
    let remark: String = remark.map(|line| format!("\n! {line}")).collect();
    format!(
        "{} kept (entry {}).{remark}",
        count(answer.readings, "reading", "readings"),
        answer.id
    )
}

/// The result of voiding a reading.
pub(crate) fn voided(answer: &Voided) -> String {
    let left = match answer.left {
        0 => "none is left there: measure it again".to_owned(),
        n => format!("{} left there", count(n, "reading is", "readings are")),
    };
    format!("Voided at {} (entry {}); {left}.", answer.spot, answer.id)
}

/// The result of moving a reading.
pub(crate) fn moved(answer: &Moved) -> String {
    format!(
        "Moved from {} to {} (entry {}).",
        answer.from, answer.to, answer.id
    )
}

#[cfg(test)]
mod tests {
    use benchhand_wire::{CopyOf, CutTakenBack, Figure, StageInfo};

    use super::*;

    fn summary() -> JobSummary {
        JobSummary {
            name: "v8".into(),
            engine: "invented six litre".into(),
            opened: "2026-03-02T09:14:05Z".into(),
            changed: "2026-03-02T10:00:00Z".into(),
            stage: "milled 1".into(),
            readings: 1,
            folder: "/data/jobs/v8".into(),
            lacks: vec!["chambers 1 to 8".into()],
            damage: None,
        }
    }

    fn taken(id: u64, state: &str, note: &str) -> ShownReading {
        ShownReading {
            id: id + 2,
            number: id,
            station: String::new(),
            spot: "flow/4/intake/7.62mm".into(),
            stage: "as received".into(),
            state: state.into(),
            figure: Figure {
                value: 28.02,
                u: Some(0.05),
                unit: "inH2O".into(),
            },
            raw: None,
            gauge: Some("column".into()),
            source: "captured".into(),
            round: 1,
            at: "2026-03-02T09:30:00Z".into(),
            n: Some(40),
            sd: Some(0.02),
            window_s: Some(4.0),
            parts: vec![(
                "metering".into(),
                Figure {
                    value: 5.5,
                    u: None,
                    unit: "inH2O".into(),
                },
            )],
            told: None,
            told_parts: Vec::new(),
            by: None,
            note: note.into(),
        }
    }

    #[test]
    fn a_job_shows_its_stages_and_also_what_was_voided() {
        let text = detail(&JobDetail {
            summary: summary(),
            copy_of: Some(CopyOf {
                job: "v8-old".into(),
                seq: 214,
                hash: "f".repeat(64),
            }),
            units: None,
            card: CardShown {
                customer: Some("Invented & Sons".into()),
                heads: [("left".to_owned(), "L-12".to_owned())].into(),
                ..CardShown::default()
            },
            stages: vec![
                StageInfo {
                    name: "as received".into(),
                    since: "2026-03-02T09:14:05Z".into(),
                    cut: String::new(),
                    changes: vec![],
                    cylinders: vec![],
                    depth: None,
                    corrected: None,
                },
                StageInfo {
                    name: "milled 1".into(),
                    since: "2026-03-02T09:50:00Z".into(),
                    cut: "0.010 in off both heads".into(),
                    changes: vec!["chamber".into()],
                    cylinders: vec![3],
                    depth: None,
                    corrected: Some("typed wrong".into()),
                },
            ],
            taken_back: vec![CutTakenBack {
                stage: "ported".into(),
                cut: "bowls blended".into(),
                at: "2026-03-02T09:55:00Z".into(),
                reason: "that was another job".into(),
                by: None,
            }],
            readings: vec![taken(7, "final", ""), taken(8, "voided", "fan was on")],
            route: None,
            elsewhere: Vec::new(),
            notes: vec!["a torn last line was set aside".into()],
        });
        for words in [
            "a torn last line was set aside",
            "a copy of v8-old as of entry 214",
            "customer Invented & Sons",
            "head on bank left L-12",
            "milled 1 since 2026-03-02 09:50:00 UTC: 0.010 in off both heads (changes chamber of cylinder 3), corrected: typed wrong",
            "ported was taken back on 2026-03-02 09:55:00 UTC: bowls blended (that was another job)",
            "28.02 ± 0.10 inH2O",
            "metering 5.50 inH2O",
            "voided",
            "fan was on",
        ] {
            assert!(text.contains(words), "{words:?} is missing in\n{text}");
        }
    }

    #[test]
    fn a_void_that_leaves_a_spot_empty_says_so() {
        let text = voided(&Voided {
            id: 9,
            spot: "chamber/3".into(),
            left: 0,
        });
        assert!(text.contains("measure it again"), "{text}");
        let text = voided(&Voided {
            id: 9,
            spot: "chamber/3".into(),
            left: 1,
        });
        assert!(text.contains("1 reading is left there"), "{text}");
    }
}
