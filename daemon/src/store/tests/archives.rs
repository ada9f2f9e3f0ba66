//! A job as one file: what comes out is what went in, and of anything else nothing is taken.

use std::collections::BTreeMap;

use super::*;
use crate::store::anchor::Anchor;
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::manifest::{ArchiveManifest, PackedStreams};
use crate::store::error::StoreError;
use crate::store::fact::{CopiedJob, ImportedReadings};
use benchhand_testbed::disk::{DiskFault, Operation};

/// A job with readings, their keys, a torn write that was set aside, and a recorded stream that
/// ends in half a line.
pub(super) fn packable() -> (TestDisks, Store) {
    let disks = TestDisks::new(11);
    let store = disks.store();
    let mut job = open_v8(&store);
    for n in 1..=4 {
        let fact = Fact::Final(reading(&format!("chamber/{n}"), 60.0 + f64::from(n)));
        job.append(fact, Some(&format!("key-{n}"))).unwrap();
    }
    keep(&mut job, Fact::voided(4, "a bubble".into()));
    keep(&mut job, cut("milled 1"));
    keep(&mut job, Fact::Final(reading("chamber/1", 59.5)));
    drop(job);
    let mut stream = store.new_stream("v8", "burette-1").unwrap().to;
    std::io::Write::write_all(&mut stream, b"{\"stream\":1}\n{\"at\":0,\"in\":\"00").unwrap();
    put(&disks, "jobs/v8/torn-9-1.txt", b"{\"v\":1,\"seq\":9");
    (disks, store)
}

pub(super) fn put(disks: &TestDisks, path: &str, bytes: &[u8]) {
    disks
        .disk
        .replace(&Path::new(DATA).join(path), bytes)
        .unwrap();
}

/// An archive's bytes, to be read from their beginning.
pub(super) fn carried(archive: &[u8]) -> std::io::Cursor<&[u8]> {
    std::io::Cursor::new(archive)
}

/// A job as one file.
pub(super) struct PackedJob {
    pub(super) bytes: Vec<u8>,
    pub(super) manifest: ArchiveManifest,
    pub(super) streams_left_out: usize,
    pub(super) foreign: Vec<String>,
}

pub(super) fn packed_upto(
    store: &Store,
    job: &str,
    upto: Option<&Anchor>,
    streams: PackedStreams,
) -> Result<PackedJob, StoreError> {
    let packing = store.reader().packing(job, upto, streams, &|_| ())?;
    let mut bytes = Vec::new();
    packing.write(&**store.files(), &mut bytes)?;
    assert_eq!(packing.length(), bytes.len() as u64, "as it was said");
    Ok(PackedJob {
        bytes,
        manifest: packing.manifest,
        streams_left_out: packing.streams_left_out,
        foreign: packing.foreign,
    })
}

pub(super) fn pack(store: &Store) -> PackedJob {
    packed_upto(store, "v8", None, PackedStreams::Packed).unwrap()
}

/// Every file under a folder with its bytes, and every folder.
pub(super) fn snapshot(disks: &TestDisks, folder: &str) -> BTreeMap<String, Option<Vec<u8>>> {
    let mut all = BTreeMap::new();
    let dir = Path::new(DATA).join(folder);
    for listed in disks.disk.list(&dir).unwrap_or_default() {
        let name = format!("{folder}/{}", listed.name);
        if listed.is_dir {
            all.extend(snapshot(disks, &name));
            all.insert(name, None);
        } else {
            let bytes = disks.disk.read(&Path::new(DATA).join(&name)).unwrap();
            all.insert(name, Some(bytes));
        }
    }
    all
}

/// Unpacks, and proves that a refusal changed nothing.
pub(super) fn refused(
    disks: &TestDisks,
    store: &Store,
    archive: &[u8],
    name: Option<&str>,
) -> StoreError {
    let before = snapshot(disks, "jobs");
    let error = store.unpack(&mut carried(archive), name).unwrap_err();
    assert_eq!(snapshot(disks, "jobs"), before, "{error}");
    error
}

#[test]
fn what_is_unpacked_is_what_was_packed_byte_for_byte() {
    let (disks, store) = packable();
    let packed = pack(&store);
    assert_eq!(
        pack(&store).bytes,
        packed.bytes,
        "the same job gives the same file"
    );
    assert!(packed.foreign.is_empty() && packed.streams_left_out == 0);

    let elsewhere = TestDisks::new(12);
    let other = elsewhere.store();
    let unpacked = other.unpack(&mut carried(&packed.bytes), None).unwrap();
    assert_eq!(unpacked.view, store.view("v8").unwrap().0);
    assert_eq!(snapshot(&elsewhere, "jobs"), snapshot(&disks, "jobs"));
    let (mut job, _) = other.job("v8").unwrap();
    assert_eq!(
        keep(&mut job, Fact::Final(reading("chamber/2", 59.0))),
        10,
        "it goes on"
    );
}

#[test]
fn streams_are_left_out_when_that_is_asked_for_and_the_archive_says_so() {
    let (_, store) = packable();
    let packed = packed_upto(&store, "v8", None, PackedStreams::LeftOut).unwrap();
    assert_eq!(packed.streams_left_out, 1);
    let elsewhere = TestDisks::new(12);
    let unpacked = elsewhere
        .store()
        .unpack(&mut carried(&packed.bytes), None)
        .unwrap();
    assert_eq!(unpacked.manifest.streams, PackedStreams::LeftOut);
    let files = snapshot(&elsewhere, "jobs");
    assert_eq!(files.get("jobs/v8/streams"), Some(&None));
    assert!(
        files
            .keys()
            .all(|name| !name.starts_with("jobs/v8/streams/"))
    );
}

#[test]
fn what_is_none_of_the_jobs_files_is_named_and_left_out() {
    let (disks, store) = packable();
    put(&disks, "jobs/v8/notes.txt", b"x");
    put(&disks, "jobs/v8/streams/old.ndjson", b"x");
    let packed = pack(&store);
    assert_eq!(packed.foreign, ["notes.txt", "streams/old.ndjson"]);
    assert!(
        TestDisks::new(12)
            .store()
            .unpack(&mut carried(&packed.bytes), None)
            .is_ok()
    );
}

#[test]
fn a_pack_ends_at_a_whole_line_and_where_the_writer_says() {
    let (disks, store) = packable();
    let whole = pack(&store);
    let journal = disks.read("jobs/v8/journal.ndjson");
    let (half, _) = journal.split_at(journal.len() - 40);
    // What a daemon writes just now; the end that was known is an older one.
    put(&disks, "jobs/v8/journal.ndjson", half.as_bytes());
    let lines: Vec<&str> = half.split_inclusive('\n').collect();
    let hash_of = |line: &str| line[line.len() - 67..line.len() - 3].to_owned();
    let older = format!("{{\"hash\":\"{}\",\"seq\":5}}", hash_of(lines[4]));
    put(&disks, "jobs/v8/journal.end", older.as_bytes());
    let packed = pack(&store);
    assert_eq!((packed.manifest.end.seq, whole.manifest.end.seq), (8, 9));

    let elsewhere = TestDisks::new(12);
    let view = elsewhere
        .store()
        .unpack(&mut carried(&packed.bytes), None)
        .unwrap()
        .view;
    assert_eq!(view.head().unwrap().seq, 8);
    elsewhere.reader().verify("v8").unwrap();

    let acknowledged = Anchor {
        seq: 6,
        hash: hash_of(lines[5]),
    };
    let upto = packed_upto(&store, "v8", Some(&acknowledged), PackedStreams::Packed).unwrap();
    assert_eq!(
        upto.manifest.end, acknowledged,
        "no line that nobody was told of"
    );
    assert!(
        TestDisks::new(12)
            .store()
            .unpack(&mut carried(&upto.bytes), None)
            .is_ok()
    );
}

#[test]
fn a_damaged_record_is_not_packed() {
    let (disks, store) = packable();
    let journal = disks.read("jobs/v8/journal.ndjson").replace("61", "67");
    put(&disks, "jobs/v8/journal.ndjson", journal.as_bytes());
    let told = packed_upto(&store, "v8", None, PackedStreams::Packed)
        .err()
        .unwrap();
    assert!(
        told.to_string().contains("its bytes were changed"),
        "{told}"
    );
}

#[test]
fn a_job_that_is_too_large_is_not_packed() {
    let (_, store) = packable();
    let reader = store.reader();
    let packing = reader
        .packing("v8", None, PackedStreams::Packed, &|_| ())
        .unwrap();
    assert!(packing.at_most(1 << 20).is_ok());
    let told = packing.at_most(2000).unwrap_err();
    assert!(matches!(told, ArchiveFault::TooLarge { most: 2000, .. }));
}

/// The readings of a view without what differs between a job and its copy.
fn readings_of(store: &Store, job: &str) -> Vec<String> {
    let (view, _) = store.view(job).unwrap();
    view.readings()
        .map(|reading| format!("{reading:?}"))
        .collect()
}

#[test]
fn a_copy_has_the_same_facts_and_an_identity_of_its_own() {
    let (disks, store) = packable();
    let packed = pack(&store);
    let unpacked = store
        .unpack(&mut carried(&packed.bytes), Some("v8-b"))
        .unwrap();
    let end = store.view("v8").unwrap().0.head().unwrap().clone();
    let of = CopiedJob {
        job: "v8".into(),
        seq: 9,
        hash: end.hash.clone(),
    };
    assert_eq!(unpacked.view.copy_of(), Some(&of));
    assert_eq!(readings_of(&store, "v8-b"), readings_of(&store, "v8"));

    let verified = store.verify("v8-b").unwrap();
    assert_eq!(verified.last_seq, 9);
    assert_ne!(verified.last_hash, end.hash);
    let (was, copy) = (store.entries("v8").unwrap(), store.entries("v8-b").unwrap());
    assert_eq!(was.len(), copy.len());
    for (was, copy) in was.iter().zip(&copy).skip(1) {
        assert_eq!(
            (was.seq, was.at, &was.key, &was.fact),
            (copy.seq, copy.at, &copy.key, &copy.fact)
        );
        assert_ne!(was.hash, copy.hash);
    }
    let torn = disks.read("jobs/v8-b/torn-9-1.txt");
    assert_eq!(torn, disks.read("jobs/v8/torn-9-1.txt"));

    // Each goes on by itself; a request's key is known in the copy too.
    let (mut job, opening) = store.job("v8-b").unwrap();
    assert_eq!(opening.record, None);
    let again = job
        .append(Fact::Final(reading("chamber/1", 61.0)), Some("key-1"))
        .unwrap();
    assert!(again.repeated);
    assert_eq!(keep(&mut job, Fact::Final(reading("chamber/3", 58.0))), 10);
    drop(job);
    store.verify("v8-b").unwrap();
    assert_eq!(store.verify("v8").unwrap().last_seq, 9);

    // The archive of a copy gives the copy, which still says whose it is.
    let second = packed_upto(&store, "v8-b", None, PackedStreams::Packed).unwrap();
    let elsewhere = TestDisks::new(12);
    let view = elsewhere
        .store()
        .unpack(&mut carried(&second.bytes), None)
        .unwrap()
        .view;
    assert_eq!((view.name(), view.copy_of()), ("v8-b", Some(&of)));
}

#[test]
fn a_copy_keeps_the_numbers_of_an_import_and_the_places_of_a_batch() {
    let (_, store) = packable();
    let (mut job, _) = store.job("v8").unwrap();
    let import = Fact::Import(ImportedReadings {
        file: "notebook.csv".into(),
        hash: "f".repeat(64),
        rows: vec![reading("chamber/5", 65.0), reading("chamber/6", 66.0)],
    });
    assert_eq!(keep(&mut job, import), 10);
    for n in 1..=2 {
        let fact = Fact::Final(reading(&format!("chamber/{n}"), 58.0));
        job.put_in_line(fact, None).unwrap();
    }
    let mut batch = job.take_batch().unwrap();
    batch.write();
    job.take_back(batch);
    drop(job);
    store
        .unpack(&mut carried(&pack(&store).bytes), Some("v8-b"))
        .unwrap();
    let numbers = |job: &str| -> Vec<_> {
        let entries = store.entries(job).unwrap();
        entries.iter().map(|one| (one.seq, one.batch)).collect()
    };
    assert_eq!(numbers("v8-b"), numbers("v8"));
    assert_eq!(store.verify("v8-b").unwrap().last_seq, 13);
    assert_eq!(readings_of(&store, "v8-b"), readings_of(&store, "v8"));
}

#[test]
fn damage_that_was_accepted_stays_accepted_in_a_copy() {
    let (disks, store) = packable();
    let whole = disks.read("jobs/v8/journal.ndjson");
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    // One line with a changed byte, and one that was taken out.
    let damaged = whole
        .replace("\"value\":62.0", "\"value\":66.0")
        .replace(lines[6], "");
    assert_eq!(damaged.lines().count(), lines.len() - 1);
    put(&disks, "jobs/v8/journal.ndjson", damaged.as_bytes());
    let accepted = store.accept_damage("v8", "no copy is left").unwrap();
    assert_eq!(accepted.lines.len(), 2);
    let packed = pack(&store);
    store
        .unpack(&mut carried(&packed.bytes), Some("v8-b"))
        .unwrap();
    assert_eq!(store.verify("v8-b").unwrap().known_damage.len(), 2);
    assert_eq!(readings_of(&store, "v8-b"), readings_of(&store, "v8"));
}

#[test]
fn a_name_that_is_taken_or_cannot_be_one_is_refused() {
    let (disks, store) = packable();
    let packed = pack(&store);
    for name in [None, Some("v8"), Some("V8")] {
        let error = refused(&disks, &store, &packed.bytes, name);
        assert!(
            matches!(error, StoreError::JobExists { .. }),
            "{name:?}: {error}"
        );
    }
    for name in ["", "../v9", "/v9", ".new-v9", "con"] {
        let error = refused(&disks, &store, &packed.bytes, Some(name));
        assert!(matches!(error, StoreError::Name(_)), "{name}: {error}");
    }
    let error = disks
        .reader()
        .unpack(&mut carried(&packed.bytes), Some("v9"))
        .unwrap_err();
    assert!(matches!(error, StoreError::ReadOnly));
}

#[test]
fn a_disk_that_refuses_midway_leaves_no_job() {
    use Operation::{Append, CreateDir, Open, Rename, Replace, Sync, SyncDir};
    let (_, store) = packable();
    let packed = pack(&store);
    // The record is replaced, three other files grow piece by piece.
    let planned = [
        (CreateDir, 1),
        (Replace, 2),
        (Open, 3),
        (Append, 3),
        (Sync, 3),
        (SyncDir, 2),
        (Rename, 1),
    ];
    for (operation, times) in planned {
        for nth in 1..=times {
            let disks = TestDisks::new(nth);
            let other = disks.store();
            let full = DiskFault::Refused(std::io::ErrorKind::StorageFull);
            disks.files.fail(operation, nth, full);
            let error = other.unpack(&mut carried(&packed.bytes), None).unwrap_err();
            assert!(matches!(error, StoreError::Files(_)), "{error}");
            let left = snapshot(&disks, "jobs");
            assert!(left.is_empty(), "{operation:?} {nth}: {left:?}");
            assert!(
                other.unpack(&mut carried(&packed.bytes), None).is_ok(),
                "then it has room"
            );
        }
    }
}
