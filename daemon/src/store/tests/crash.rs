//! What is left after the worst moment.

use std::io::ErrorKind;
use std::path::Path;

use super::{TestDisks, keep, live, new_job, open_v8, reading};
use crate::store::error::StoreError;
use crate::store::fact::Fact;
use crate::store::job::{Ack, JobError};
use crate::store::journal::JournalError;
use crate::store::line::{FactText, encode};
use benchhand_files::Files;
use benchhand_testbed::disk::{DiskFault, Operation};

const JOURNAL: &str = "/data/jobs/v8/journal.ndjson";

fn chamber(n: u32) -> Fact {
    Fact::Final(reading(&format!("chamber/{n}"), 60.0 + f64::from(n)))
}

/// The story: the plug is pulled while a line is being written. Half of it is on the disk. The
/// next opening must neither stumble over it, nor throw it away, nor glue the next line to it.
#[test]
fn half_a_line_is_set_aside_and_the_next_line_follows_on_the_last_whole_one() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    keep(&mut job, chamber(1));
    drop(job);
    let mut file = disks.disk.open_append(Path::new(JOURNAL)).unwrap();
    file.append(b"{\"v\":1,\"seq\":4,\"at\":\"2026").unwrap();

    let (view, opening) = disks.reader().view("v8").unwrap();
    assert_eq!(
        (view.readings().count(), opening.torn.unwrap().bytes),
        (1, 25)
    );
    let (mut job, opening) = store.job("v8").unwrap();
    let aside = opening.torn.unwrap().set_aside.unwrap();
    assert_eq!(
        disks.disk.read(&aside).unwrap(),
        b"{\"v\":1,\"seq\":4,\"at\":\"2026"
    );
    assert_eq!(keep(&mut job, chamber(2)), 4);
    drop(job);
    assert!(store.job("v8").unwrap().1.torn.is_none());
    assert_eq!(store.verify("v8").unwrap().last_seq, 4);
}

/// The story: only the second of a line's two blocks reached the disk before the power went. So the
/// line ends in a line feed and holds zeros.
#[test]
fn a_last_line_with_blocks_of_zeros_is_set_aside() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    keep(&mut job, chamber(1));
    let whole = disks.read("jobs/v8/journal.ndjson");
    // The power goes: nothing that happens when a job is closed happened.
    std::mem::forget(job);
    let last = whole.trim_end().rfind('\n').unwrap() + 1;
    for offset in last..last + 40 {
        disks.disk.rot(Path::new(JOURNAL), offset, 0);
    }
    let (job, opening) = store.job("v8").unwrap();
    assert_eq!(opening.torn.unwrap().bytes, whole.len() - last);
    assert_eq!(job.view().readings().count(), 0);
}

/// The story: a bit flips in a line that was acknowledged long ago. Nothing may pretend that
/// the record is whole; everything that can be read must still be read.
#[test]
fn a_flipped_bit_is_named_by_its_line_and_the_rest_is_still_read() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    for n in 1..=3 {
        keep(&mut job, chamber(n));
    }
    drop(job);
    let second = disks
        .read("jobs/v8/journal.ndjson")
        .find("chamber/2")
        .unwrap();
    disks.disk.rot(Path::new(JOURNAL), second, b'C');

    let error = store.verify("v8").unwrap_err().to_string();
    assert!(
        error.contains("line 4 of /data/jobs/v8/journal.ndjson is damaged"),
        "{error}"
    );
    assert!(matches!(
        store.job("v8"),
        Err(StoreError::Job(JobError::Journal(JournalError::Damaged(_))))
    ));
    let (view, opening) = store.view("v8").unwrap();
    let spots: Vec<_> = view.readings().map(|reading| &*reading.spot).collect();
    assert_eq!(spots, ["chamber/1", "chamber/3"]);
    assert_eq!(
        opening
            .damage
            .iter()
            .map(|damage| damage.line)
            .collect::<Vec<_>>(),
        [4]
    );
}

/// The story: there is no copy to restore a damaged record from, and the engine stands on the
/// bench. The builder accepts the damage with his reason; the job goes on, its other readings
/// keep their numbers, and the damaged line stays as it was found.
#[test]
fn accepted_damage_lets_the_job_go_on_and_new_damage_does_not() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    for n in 1..=3 {
        keep(&mut job, chamber(n));
    }
    drop(job);
    let whole = disks.read("jobs/v8/journal.ndjson");
    let path = Path::new(JOURNAL);
    disks.disk.rot(path, whole.find("chamber/3").unwrap(), b'C');

    let accepted = store.accept_damage("v8", "no copy is left").unwrap().lines;
    assert_eq!(
        accepted
            .iter()
            .map(|damage| damage.line)
            .collect::<Vec<_>>(),
        [5]
    );
    let (mut job, opening) = store.job("v8").unwrap();
    assert_eq!(opening.known_damage, accepted);
    assert_eq!(live(&job, "as received").len(), 2);
    // 5 was the number of the damaged reading; 6 is the fact that accepts the damage.
    assert_eq!(keep(&mut job, chamber(3)), 7);
    drop(job);
    assert_eq!(store.verify("v8").unwrap().known_damage, accepted);
    assert_eq!(
        disks
            .read("jobs/v8/journal.ndjson")
            .lines()
            .nth(4)
            .unwrap()
            .len(),
        whole.lines().nth(4).unwrap().len()
    );

    disks.disk.rot(path, whole.find("chamber/3").unwrap(), b'X');
    assert!(
        store.job("v8").is_err(),
        "the accepted line changed again and nobody noticed"
    );
}

/// The story: somebody deletes a reading that he does not like with a text editor.
#[test]
fn a_line_that_was_taken_out_is_noticed() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    for n in 1..=3 {
        keep(&mut job, chamber(n));
    }
    drop(job);
    let whole = disks.read("jobs/v8/journal.ndjson");
    let without: String = whole
        .split_inclusive('\n')
        .filter(|line| !line.contains("chamber/2"))
        .collect();
    disks
        .disk
        .replace(Path::new(JOURNAL), without.as_bytes())
        .unwrap();
    let error = store.verify("v8").unwrap_err().to_string();
    assert!(
        error.contains("line 4 of") && error.contains("expected 4, found 5"),
        "{error}"
    );
}

/// The story: somebody changes a value and gives that line a correct sum again. The line after it
/// was written upon the old one.
#[test]
fn a_line_that_was_written_anew_does_not_fit_the_next_one() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    for n in 1..=3 {
        keep(&mut job, chamber(n));
    }
    drop(job);
    let mut entries = store.entries("v8").unwrap();
    let old = entries.swap_remove(3);
    let text = FactText::of(&chamber(9)).unwrap();
    let alone = (old.seq, old.at, &old.beside);
    let new = encode(alone, None, None, &old.prev, &text).unwrap();
    let whole = disks.read("jobs/v8/journal.ndjson");
    let forged = whole.replace(
        whole.lines().nth(3).unwrap(),
        std::str::from_utf8(&new.bytes).unwrap().trim_end(),
    );
    disks
        .disk
        .replace(Path::new(JOURNAL), forged.as_bytes())
        .unwrap();
    let error = store.verify("v8").unwrap_err().to_string();
    assert!(error.contains("line 5 of"), "{error}");
    assert!(
        error.contains(&format!("expected {}, found {}", new.hash, old.hash)),
        "{error}"
    );
}

/// The story: the disk fills up in the middle of a reading's line. The reading is refused, room
/// is made, the same request is sent again: it is kept once, and nothing half-written is left.
#[test]
fn a_full_disk_refuses_a_reading_and_takes_it_when_room_is_made() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    keep(&mut job, chamber(1));
    let before = disks.read("jobs/v8/journal.ndjson");

    disks.files.set_full(true);
    let error = job.append(chamber(2), Some("key-2")).unwrap_err();
    assert!(
        error
            .to_string()
            .ends_with("make room on the disk and try again"),
        "{error}"
    );
    assert_eq!(live(&job, "as received").len(), 1);
    disks.files.set_full(false);
    let ack = job.append(chamber(2), Some("key-2")).unwrap();
    assert_eq!((ack.seq, ack.repeated), (4, false));
    let after = disks.read("jobs/v8/journal.ndjson");
    assert!(after.starts_with(&before));
    assert_eq!(after.matches("chamber/2").count(), 1);
    assert!(store.verify("v8").is_ok());
}

/// The story: the sync fails although the line did reach the disk. The builder presses again.
/// The reading must not be there twice.
#[test]
fn a_line_whose_sync_failed_is_not_there_twice_after_its_repetition() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    disks.files.fail(
        Operation::Sync,
        1,
        DiskFault::DoneAllTheSame(ErrorKind::Other),
    );
    assert!(job.append(chamber(1), None).is_err());
    assert!(live(&job, "as received").is_empty());
    keep(&mut job, chamber(1));
    drop(job);
    assert_eq!(live(&store.job("v8").unwrap().0, "as received").len(), 1);
}

/// The story: an append fails, and the disk does not even let the journal be shortened again.
/// Until it does, everything is refused; nothing is written behind the half line.
#[test]
fn a_journal_that_cannot_be_mended_refuses_until_it_can() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    disks
        .files
        .fail(Operation::Append, 1, DiskFault::Short(ErrorKind::Other));
    disks
        .files
        .fail(Operation::Truncate, 1, DiskFault::Refused(ErrorKind::Other));
    disks
        .files
        .fail(Operation::Truncate, 2, DiskFault::Refused(ErrorKind::Other));
    assert!(job.append(chamber(1), None).is_err());
    let error = job.append(chamber(2), None).unwrap_err();
    assert!(
        matches!(error, JobError::Journal(JournalError::Unsound(_))),
        "{error}"
    );
    keep(&mut job, chamber(3));
    drop(job);
    let (job, opening) = store.job("v8").unwrap();
    assert_eq!(live(&job, "as received"), [("chamber/3".into(), 63.0)]);
    assert!(opening.torn.is_none());
}

fn foreign(result: Result<Ack, JobError>) -> bool {
    use JournalError::{Foreign, Shortened};
    matches!(
        result,
        Err(JobError::Journal(Foreign { .. } | Shortened { .. }))
    )
}

/// The story: something else cuts the journal short while the job is open. Writing on would
/// leave a hole where acknowledged readings were.
#[test]
fn a_journal_that_something_else_shortened_is_not_written_on() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    keep(&mut job, chamber(1));
    disks
        .disk
        .open_append(Path::new(JOURNAL))
        .unwrap()
        .truncate(10)
        .unwrap();
    assert!(foreign(job.append(chamber(2), None)));
    assert!(
        foreign(job.append(chamber(2), None)),
        "it was written on after all"
    );
    assert_eq!(disks.disk.len(Path::new(JOURNAL)).unwrap(), 10);
}

/// The story: the journal is looked at in a text editor and saved there, unchanged. The editor
/// puts a new file in its place; what is appended to the old one nobody would ever find.
#[test]
fn a_journal_that_an_editor_saved_is_not_written_to_under_its_old_file() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut job = open_v8(&store);
    keep(&mut job, chamber(1));
    let same = disks.disk.read(Path::new(JOURNAL)).unwrap();
    disks.disk.replace(Path::new(JOURNAL), &same).unwrap();
    assert!(foreign(job.append(chamber(2), Some("key-2"))));
    drop(job);
    let (mut job, _) = store.job("v8").unwrap();
    assert!(!job.append(chamber(2), Some("key-2")).unwrap().repeated);
    assert_eq!(live(&job, "as received").len(), 2);
}

/// The story: a job is open twice, which is a mistake in a program. Whoever comes second may
/// write; the other must not write over it, nor take its lines away as if they were remains of
/// its own.
#[test]
fn what_another_writer_appended_is_never_taken_away() {
    let disks = TestDisks::new(3);
    let store = disks.store();
    let mut first = open_v8(&store);
    let (mut second, _) = store.job("v8").unwrap();
    keep(&mut second, chamber(1));
    assert!(foreign(first.append(chamber(2), None)));
    disks
        .files
        .fail(Operation::Append, 1, DiskFault::Refused(ErrorKind::Other));
    assert!(foreign(first.append(chamber(2), None)));
    drop((first, second));
    assert_eq!(store.verify("v8").unwrap().lines, 3);
}

/// The story: the power goes while a job is being created. There must be no job without its
/// engine, and the name must not be taken by the remains.
#[test]
fn a_job_is_created_whole_or_not_at_all() {
    let mut created = 0;
    for nth in 1..=40 {
        let disks = TestDisks::new(nth);
        let store = disks.store();
        disks.files.fail_one_in(6);
        let answer = store.create_job(new_job("v8")).map(drop);
        disks.files.fail_one_in(0);
        drop(store);
        disks.disk.cut_power(nth);

        let store = disks.store();
        let names = store.job_names().unwrap();
        let folders = disks.disk.list(Path::new("/data/jobs")).unwrap();
        assert_eq!(folders.len(), names.len(), "seed {nth}: {folders:?}");
        match names.as_slice() {
            [] => assert!(answer.is_err(), "seed {nth}: an acknowledged job is gone"),
            [name] => {
                let (view, opening) = store.view(name).unwrap();
                assert!(
                    view.engine().is_some(),
                    "seed {nth}: a job without its engine"
                );
                assert_eq!(opening, Default::default(), "seed {nth}");
                created += 1;
                continue;
            }
            more => panic!("seed {nth}: {more:?}"),
        }
        open_v8(&store);
    }
    assert!(
        (1..40).contains(&created),
        "{created} of 40 were created: nothing was tried"
    );
}
