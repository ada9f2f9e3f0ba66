//! The numbers by which people call readings.

use super::{TestDisks, keep, open_v8, reading};
use crate::store::fact::{Fact, ImportedReadings, Reading, content_hash};

#[test]
fn readings_are_numbered_from_1_and_a_revision_keeps_the_number() {
    let store = TestDisks::new(1).store();
    let mut job = open_v8(&store);
    let held = keep(&mut job, Fact::Held(reading("chamber/1", 40.0)));
    let more = Reading {
        supersedes: Some(held),
        ..reading("chamber/1", 64.1)
    };
    let revised = keep(&mut job, Fact::Revised(more));
    let second = keep(&mut job, Fact::Final(reading("chamber/2", 64.2)));
    let reason = "slip".to_owned();
    keep(&mut job, Fact::voided(second, reason));
    let rows = vec![reading("chamber/3", 64.3), reading("chamber/4", 64.4)];
    let import = ImportedReadings {
        file: "notebook.csv".into(),
        hash: content_hash(b""),
        rows,
    };
    keep(&mut job, Fact::Import(import));
    let numbers: Vec<(String, u64)> = job
        .view()
        .readings()
        .map(|reading| (reading.spot.clone(), reading.number))
        .collect();
    let wanted = [
        ("chamber/1", 1),
        ("chamber/1", 1),
        ("chamber/2", 2),
        ("chamber/3", 3),
        ("chamber/4", 4),
    ];
    assert_eq!(numbers, wanted.map(|(spot, n)| (spot.to_owned(), n)));
    let newest = job.view().numbered(1).map(|reading| reading.id);
    assert_eq!(newest, Some(revised), "a number names what counts now");
    assert_eq!(job.view().numbered(9), None);
}
