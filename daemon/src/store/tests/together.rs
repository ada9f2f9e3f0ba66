//! Facts that are written together are kept together or not at all.

use std::path::Path;

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::{DATA, TestDisks, open_v8, reading};
use crate::store::fact::Fact;
use crate::store::job::{Ack, Job, JobError, WritingPlace};
use benchhand_files::Files;

const JOURNAL: &str = "jobs/v8/journal.ndjson";

fn chamber(n: u64) -> Fact {
    Fact::Final(reading(&format!("chamber/{}", n % 8 + 1), 60.0 + n as f64))
}

fn put(job: &mut Job, n: u64) -> (Ack, WritingPlace) {
    job.put_in_line(chamber(n), Some(&format!("k{n}"))).unwrap()
}

/// Writes all that is in line as one batch.
fn write(job: &mut Job) {
    let mut batch = job.take_batch().unwrap();
    batch.write();
    job.take_back(batch);
}

fn values(job: &Job) -> Vec<f64> {
    job.view().readings().map(|one| one.value).collect()
}

#[test]
fn those_in_line_are_held_against_each_other_and_shown_once_they_are_written() {
    let disks = TestDisks::new(1);
    let store = disks.store();
    let mut job = open_v8(&store);
    let (first, place) = put(&mut job, 0);
    let void = Fact::voided(first.seq, "a bubble".into());
    let (_, voided) = job.put_in_line(void.clone(), None).unwrap();
    assert!(matches!(
        job.put_in_line(void, None),
        Err(JobError::Misfit(_))
    ));
    assert!(matches!(
        job.put_in_line(chamber(0), Some("k0")),
        Err(JobError::Writing)
    ));
    assert_eq!(job.kept().readings().count(), 0);
    assert!(job.outcome(place).is_none());
    let before = disks.read(JOURNAL).len();

    write(&mut job);
    assert!(job.outcome(place).unwrap().is_ok() && job.outcome(voided).unwrap().is_ok());
    assert_eq!(job.kept().readings().count(), 1);
    assert_eq!(job.kept().counts().live, 0);
    assert_eq!(job.kept(), job.view());
    let (again, _) = job.put_in_line(chamber(0), Some("k0")).unwrap();
    assert_eq!((again.seq, again.repeated), (first.seq, true));
    let text = disks.read(JOURNAL);
    let lines: Vec<&str> = text[before..].lines().collect();
    assert!(
        lines[0].contains(",\"batch\":2,\"place\":1,\"prev\""),
        "{}",
        lines[0]
    );
    assert!(
        lines[1].contains(",\"batch\":2,\"place\":2,\"prev\""),
        "{}",
        lines[1]
    );
    let read = disks.reader().view("v8").unwrap().0;
    assert_eq!(&read, job.kept());
    store.verify("v8").unwrap();
}

#[test]
fn a_batch_that_is_not_kept_takes_all_behind_it_along_and_leaves_the_job_as_it_was() {
    let disks = TestDisks::new(1);
    let store = disks.store();
    let mut job = open_v8(&store);
    job.append(chamber(0), Some("k0")).unwrap();
    let before = (job.view().clone(), disks.read(JOURNAL));
    let (first, one) = put(&mut job, 1);
    let (_, two) = put(&mut job, 2);
    let mut batch = job.take_batch().unwrap();
    let (_, behind) = put(&mut job, 3);
    disks.files.fail_one_in(1);
    batch.write();
    disks.files.fail_one_in(0);
    job.take_back(batch);
    for place in [one, two, behind] {
        assert!(job.outcome(place).unwrap().is_err());
    }
    assert_eq!(job.view(), &before.0);
    let again = job.append(chamber(1), Some("k1")).unwrap();
    assert_eq!((again.seq, again.repeated), (first.seq, false));
    assert_eq!(values(&job), [60.0, 61.0]);
    assert!(disks.read(JOURNAL).starts_with(&before.1));
    store.verify("v8").unwrap();
}

/// A journal with single lines and batches, with where each write of it ends.
fn written(disks: &TestDisks, batches: &[u64]) -> Vec<usize> {
    let store = disks.store();
    let mut job = open_v8(&store);
    let mut ends = vec![disks.read(JOURNAL).len()];
    let mut n = 0;
    for size in batches {
        for _ in 0..*size {
            put(&mut job, n);
            n += 1;
        }
        write(&mut job);
        ends.push(disks.read(JOURNAL).len());
    }
    ends
}

/// What is left when the journal holds these bytes: how many readings, and of a torn write how many
/// bytes.
fn opened_with(bytes: &[u8]) -> (usize, usize) {
    let disks = TestDisks::new(1);
    written(&disks, &[]);
    let path = Path::new(DATA).join(JOURNAL);
    disks.disk.replace(&path, bytes).unwrap();
    let seen = disks.reader().view("v8").unwrap();
    let store = disks.store();
    let (mut job, opening) = store.job("v8").unwrap();
    assert_eq!(&seen.0, job.view(), "who reads sees the same");
    let left = job.view().readings().count();
    let torn = opening.torn.map_or(0, |torn| torn.bytes);
    assert_eq!(seen.1.torn.map_or(0, |torn| torn.bytes), torn);
    job.append(chamber(99), None).unwrap();
    store.verify("v8").unwrap();
    (left, torn)
}

#[test]
fn a_journal_cut_at_any_byte_holds_each_batch_whole_or_not_at_all() {
    let disks = TestDisks::new(1);
    let sizes = [1, 3, 1, 2, 4];
    let ends = written(&disks, &sizes);
    let bytes = disks.read(JOURNAL).into_bytes();
    for cut in ends[0]..=bytes.len() {
        let writes = ends.iter().filter(|end| **end <= cut).count() - 1;
        let kept: u64 = sizes[..writes].iter().sum();
        let found = opened_with(&bytes[..cut]);
        assert_eq!(found, (kept as usize, cut - ends[writes]), "cut at {cut}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 300,
        rng_seed: RngSeed::Fixed(20261130),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// When the power goes, blocks of the last write may never have reached the disk.
    #[test]
    fn a_batch_with_a_hole_in_it_is_torn_and_what_came_before_stays(
        sizes in prop::collection::vec(1..5_u64, 1..5),
        hole in any::<prop::sample::Index>(),
        length in 1..900_usize,
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let disks = TestDisks::new(1);
        let ends = written(&disks, &sizes);
        let mut bytes = disks.read(JOURNAL).into_bytes();
        let last = ends[ends.len() - 2];
        let from = last + hole.index(bytes.len() - last);
        let until = bytes.len().min(from + length);
        bytes[from..until].fill(0);
        if let Some(cut) = cut {
            bytes.truncate(from + 1 + cut.index(bytes.len() - from));
        }
        let before: u64 = sizes[..sizes.len() - 1].iter().sum();
        prop_assert_eq!(opened_with(&bytes), (before as usize, bytes.len() - last));
    }
}
