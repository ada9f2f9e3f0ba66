//! Version 1 of the journal's format, frozen.
//!
//! `fixtures/journal-v1.ndjson` was written once by version 0.1.0 of this program, for an invented
//! engine, with every kind of fact. It is never written again: every later version must read it as
//! it was meant. A new kind of fact gets a fixture of its own.

use std::path::Path;

use super::{DATA, TestDisks, is_written_again, keep, reading};
use crate::capture::CaptureMode;
use crate::store::fact::{Fact, InputKind, Reading, ReadingSource, StreamAt};
use crate::store::job::{EngineFile, Job};
use crate::store::view::ReadingState;
use benchhand_files::Files;

const JOURNAL: &str = include_str!("fixtures/journal-v1.ndjson");

fn disks() -> TestDisks {
    let disks = TestDisks::new(7);
    drop(disks.store());
    let job = Path::new(DATA).join("jobs/frozen");
    disks.files.create_dir(&job).unwrap();
    disks
        .files
        .replace(&job.join("journal.ndjson"), JOURNAL.as_bytes())
        .unwrap();
    disks
        .files
        .replace(&job.join("engine.toml"), b"bore = \"4.030 in\"\n")
        .unwrap();
    disks
}

fn open(disks: &TestDisks) -> Job {
    let (job, opening) = disks.store().job("frozen").unwrap();
    assert_eq!(
        (opening.engine, opening.torn),
        (EngineFile::Unchanged, None)
    );
    assert_eq!(opening.known_damage.len(), 1);
    job
}

#[test]
fn every_fact_of_version_1_is_in_the_fixture() {
    for fact in [
        "opened",
        "input",
        "zero",
        "check",
        "cut",
        "condition",
        "held",
        "revised",
        "final",
        "finalised",
        "voided",
        "moved",
        "fitted",
        "import",
        "route_started",
        "route_at",
        "route_ended",
        "damage_known",
        "stop",
    ] {
        assert!(
            JOURNAL.contains(&format!("\"fact\":\"{fact}\"")),
            "{fact} is missing"
        );
    }
}

#[test]
fn a_journal_of_version_1_is_read_as_it_was_meant() {
    let job = open(&disks());
    let view = job.view();
    assert_eq!((view.name(), view.title()), ("frozen", Some("invented V8")));
    assert_eq!(view.opened().unwrap().to_string(), "2026-03-02T09:00:00Z");
    let stages: Vec<_> = view.stages().iter().map(|stage| &*stage.name).collect();
    assert_eq!(stages, ["as received", "milled 1"]);
    let cut = view.stages()[1].cut.as_ref().unwrap();
    assert_eq!((&*cut.depths[0].part, cut.depths[0].depth), ("left", 0.25));
    assert_eq!(
        view.input(InputKind::Gauge, "depth-2").unwrap().content,
        "kind = \"length\"\n"
    );
    assert_eq!(view.gauge("depth-2").unwrap().zeros[0].what.raw, 12.345);
    assert_eq!(
        view.gauge("depth-2").unwrap().checks[0].what.passed,
        Some(false)
    );
    let (name, liquid) = view.conditions().next().unwrap();
    assert_eq!(
        (name, liquid.what.text.as_deref()),
        ("liquid", Some("water with a dye"))
    );
    assert_eq!(view.fitted("piston/3").unwrap().what.part, "P7");
    assert_eq!(view.route(), None);
    assert!(view.stopped_clean());
}

/// The field `by` is younger than the first lines of version 1. Those lines name nobody who took
/// their readings; lines that are added to them name somebody.
#[test]
fn a_journal_from_before_initials_opens_and_goes_on_with_them() {
    let disks = disks();
    let mut job = open(&disks);
    assert!(job.view().readings().all(|reading| reading.by.is_none()));
    let mut reading = Reading::new("chamber/6", 64.2, "cc", ReadingSource::Typed);
    reading.by = Some("AB".to_owned());
    let kept = job.append(Fact::Final(reading), None).unwrap().seq;
    let voided = Fact::Voided {
        of: kept,
        reason: "a bubble".to_owned(),
        by: Some("C2".to_owned()),
    };
    job.append(voided, None).unwrap();
    drop(job);
    let (job, _) = disks.store().job("frozen").unwrap();
    let reading = job.view().reading(kept).unwrap();
    assert_eq!(reading.by.as_deref(), Some("AB"));
    let state = ReadingState::Voided {
        reason: "a bubble".to_owned(),
        by: Some("C2".to_owned()),
    };
    assert_eq!(reading.state, state);
    let mut strange = Reading::new("chamber/7", 64.2, "cc", ReadingSource::Typed);
    strange.by = Some("A\u{1b}".to_owned());
    let mut job = job;
    assert!(job.append(Fact::Final(strange), None).is_err());
}

#[test]
fn the_readings_of_version_1_stand_as_they_stood() {
    let job = open(&disks());
    let shown: Vec<_> = job
        .view()
        .readings()
        .map(|reading| {
            let state = match &reading.state {
                ReadingState::Held => "held".to_owned(),
                ReadingState::Final => "final".to_owned(),
                ReadingState::Asked => "asked".to_owned(),
                ReadingState::Superseded { by } => format!("superseded by {by}"),
                ReadingState::Voided { reason, .. } => format!("voided: {reason}"),
            };
            (
                reading.id,
                &*reading.spot,
                reading.value,
                state,
                reading.marked.is_some(),
            )
        })
        .collect();
    let expected = [
        (10, "chamber/1", 40.5, "superseded by 11", false),
        (11, "chamber/1", 64.25, "final", false),
        (13, "chamber/5", 64.1, "final", false),
        (15, "deck/1/front", 0.381, "final", true),
        (17, "chamber/2", 99.0, "voided: bubble", false),
        (20, "chamber/3", 64.0, "final", false),
        (21, "chamber/4", 64.5, "final", false),
        (24, "flow/4/intake/7.62mm", 20.5, "final", false),
    ];
    let expected: Vec<_> = expected
        .iter()
        .map(|(id, spot, value, state, marked)| (*id, *spot, *value, (*state).to_owned(), *marked))
        .collect();
    assert_eq!(shown, expected);

    let deck = job.view().reading(15).unwrap();
    assert_eq!(
        (deck.raw, deck.raw_unit.as_deref()),
        (Some(12.726), Some("mm"))
    );
    assert_eq!(
        (deck.u, deck.n, deck.sd, deck.round),
        (Some(0.002), Some(3), Some(0.0005), Some(1))
    );
    assert_eq!(
        (deck.mode, deck.source),
        (Some(CaptureMode::Extreme), ReadingSource::Captured)
    );
    let stream = StreamAt {
        file: "depth-2-001.ndjson".into(),
        at_us: 1_200_000,
    };
    assert_eq!(deck.stream, Some(stream));
    let flow = job.view().reading(24).unwrap();
    assert_eq!(
        (&*flow.parts[0].role, flow.parts[0].value),
        ("test_pressure", 6.97)
    );
    assert_eq!(flow.labels["orifice"], "3");
}

#[test]
fn what_is_written_today_is_byte_for_byte_what_version_1_wrote() {
    let disks = disks();
    let damaged = 25;
    let sound = JOURNAL
        .split_inclusive('\n')
        .enumerate()
        .filter(|(line, _)| line + 1 != damaged);
    for (_, line) in sound {
        is_written_again(line);
    }
    let mut job = open(&disks);
    assert_eq!(keep(&mut job, Fact::Final(reading("chamber/1", 64.0))), 29);
}
