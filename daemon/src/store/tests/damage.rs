//! A record that is not what was kept, as a whole: cut short, replaced, empty, another job's.

use super::*;
use crate::store::error::StoreError;
use crate::store::job::JobError;
use crate::store::journal::{JournalError, RecordFault};

const JOURNAL: &str = "/data/jobs/v8/journal.ndjson";

fn with_three() -> (TestDisks, Store) {
    let disks = TestDisks::new(7);
    let store = disks.store();
    let mut job = open_v8(&store);
    for n in 1..=3 {
        keep(
            &mut job,
            Fact::Final(reading(&format!("chamber/{n}"), 60.0 + f64::from(n))),
        );
    }
    drop(job);
    (disks, store)
}

fn put(disks: &TestDisks, text: &str) {
    let path = Path::new(JOURNAL);
    disks.disk.replace(path, text.as_bytes()).unwrap();
}

fn lines(text: &str, count: usize) -> String {
    text.split_inclusive('\n').take(count).collect()
}

fn fault(store: &Store) -> RecordFault {
    let (_, opening) = store.view("v8").unwrap();
    let refused = match store.job("v8") {
        Err(StoreError::Job(JobError::Journal(JournalError::Record(fault)))) => fault,
        other => panic!("it was opened: {other:?}"),
    };
    assert_eq!(
        opening.record.as_ref(),
        Some(&refused),
        "readers see the same"
    );
    let verified = store.verify("v8").unwrap_err().to_string();
    assert_eq!(verified, refused.to_string());
    refused
}

/// The story: while nobody works, a copy of last week is put over the folder's journal. What is
/// there chains, but two readings are gone.
#[test]
fn a_record_that_lost_its_end_is_told_and_goes_on_only_when_that_is_accepted() {
    let (disks, store) = with_three();
    let whole = disks.read("jobs/v8/journal.ndjson");
    put(&disks, &lines(&whole, 3));
    let told = fault(&store).to_string();
    assert!(told.contains("ends with fact 3, and 5 were kept"), "{told}");
    assert_eq!(
        store.view("v8").unwrap().0.readings().count(),
        1,
        "the rest is read"
    );
    assert_eq!(store.jobs().unwrap().jobs[0].damage.as_ref(), Some(&told));

    // Put right: taken up as if nothing had been.
    put(&disks, &whole);
    assert_eq!(live(&store.job("v8").unwrap().0, "as received").len(), 3);

    put(&disks, &lines(&whole, 3));
    let accepted = store.accept_damage("v8", "no copy is left").unwrap();
    assert_eq!(accepted.record.unwrap().to_string(), told);
    let (mut job, _) = store.job("v8").unwrap();
    assert_eq!(keep(&mut job, Fact::Final(reading("chamber/2", 62.0))), 5);
    drop(job);
    store.verify("v8").unwrap();
    assert_eq!(store.jobs().unwrap().jobs[0].damage, None);
}

#[test]
fn an_empty_record_and_that_of_another_job_are_told_and_never_accepted() {
    let (disks, store) = with_three();
    drop(store.create_job(new_job("v6")).unwrap());
    put(&disks, &disks.read("jobs/v6/journal.ndjson"));
    let told = fault(&store).to_string();
    assert!(told.contains("record of job \"v6\""), "{told}");
    assert!(store.accept_damage("v8", "whatever").is_err());

    put(&disks, "");
    assert!(matches!(fault(&store), RecordFault::Empty { .. }));
    assert!(store.accept_damage("v8", "whatever").is_err());
    assert_eq!(
        disks.read("jobs/v8/journal.ndjson"),
        "",
        "nothing is written"
    );
}

#[test]
fn a_record_of_the_same_name_with_other_facts_is_not_taken_for_the_one_that_was_kept() {
    let (disks, store) = with_three();
    let other = TestDisks::new(8);
    let second = other.store();
    let mut job = open_v8(&second);
    for n in 1..=5 {
        keep(
            &mut job,
            Fact::Final(reading(&format!("chamber/{n}"), 50.0)),
        );
    }
    drop(job);
    put(&disks, &other.read("jobs/v8/journal.ndjson"));
    assert!(matches!(
        fault(&store),
        RecordFault::Replaced { known: 5, .. }
    ));
}

#[test]
fn an_anchor_that_cannot_be_read_says_nothing() {
    let (disks, store) = with_three();
    let anchor = Path::new("/data/jobs/v8/journal.end");
    disks.disk.replace(anchor, b"\xff{").unwrap();
    let (job, opening) = store.job("v8").unwrap();
    assert_eq!(opening.record, None);
    assert_eq!(live(&job, "as received").len(), 3);
}
