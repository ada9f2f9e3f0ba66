//! The whole folder as one file: what is restored is what was there, and of anything else nothing is.

use std::io::Cursor;

use super::archives::{packable, put, snapshot};
use super::*;
use crate::store::backup::restore::restore;
use crate::store::backup::write::back_up;
use crate::store::error::StoreError;
use benchhand_testbed::disk::{DiskFault, Operation};

const NEW: &str = "/restored";

/// A folder with two jobs, a register, a profile, a route and the shop's name.
fn shop() -> (TestDisks, Store) {
    let (disks, store) = packable();
    let mut other = store.create_job(new_job("v6")).unwrap().0;
    keep(&mut other, Fact::Final(reading("chamber/2", 61.0)));
    drop(other);
    for (path, text) in [
        ("gauges/dial.toml", "kind = \"length\"\n"),
        ("profiles/own.toml", "name = \"own\"\n"),
        ("routes/long.toml", "title = \"long\"\n"),
        (
            "shop.toml",
            "name = \"An invented shop\"\nmark = \"mark.svg\"\n",
        ),
        ("mark.svg", "<svg/>"),
        ("daemon.json", "a secret"),
        ("notes.txt", "none of the shop's"),
    ] {
        put(&disks, path, text.as_bytes());
    }
    (disks, store)
}

fn written(store: &Store) -> Vec<u8> {
    let mut bytes = Vec::new();
    let now = "2026-03-02T10:00:00Z".parse().unwrap();
    back_up(store.reader(), now, &mut bytes, &mut |_| ()).unwrap();
    bytes
}

fn restored(disks: &TestDisks, bytes: &[u8]) -> Result<(), StoreError> {
    let length = bytes.len() as u64;
    let (from, to) = (Cursor::new(bytes), Path::new(NEW));
    restore(&disks.files, from, length, to, &mut |_| ()).map(drop)
}

fn there(disks: &TestDisks) -> bool {
    disks.disk.list(Path::new(NEW)).is_ok()
}

#[test]
fn what_is_restored_is_what_was_there_and_no_more() {
    let (disks, store) = shop();
    let bytes = written(&store);
    assert!(!bytes.windows(8).any(|part| part == b"a secret"));
    restored(&disks, &bytes).unwrap();
    for folder in ["jobs", "gauges", "profiles", "routes"] {
        let before = snapshot(&disks, folder);
        let mut after = snapshot(&disks, &format!("{NEW}/{folder}"));
        // What differs is the anchor, which names the last line here.
        let named: Vec<String> = before.keys().cloned().collect();
        after.retain(|name, _| !name.ends_with("journal.end"));
        for name in named.iter().filter(|name| !name.ends_with("journal.end")) {
            let here = after.remove(&format!("{NEW}/{name}"));
            assert_eq!(here.as_ref(), before.get(name), "{name}");
        }
        assert!(after.is_empty(), "{after:?}");
    }
    let root: Vec<String> = disks
        .disk
        .list(Path::new(NEW))
        .unwrap()
        .into_iter()
        .map(|one| one.name)
        .collect();
    assert_eq!(
        root,
        [
            "gauges",
            "jobs",
            "mark.svg",
            "profiles",
            "routes",
            "shop.toml"
        ]
    );
    let again = Store::open(
        NEW,
        Arc::new(disks.files.clone()),
        disks.clock.clone(),
        Access::Read,
    )
    .unwrap();
    for job in ["v6", "v8"] {
        assert_eq!(again.verify(job).unwrap().known_damage.len(), 0);
        assert_eq!(
            again.view(job).unwrap().0.head(),
            store.view(job).unwrap().0.head()
        );
    }
}

#[test]
fn a_backup_that_was_cut_off_or_changed_is_refused_before_a_byte_is_written() {
    let (disks, store) = shop();
    let bytes = written(&store);
    for cut in [
        0,
        100,
        512,
        bytes.len() / 2,
        bytes.len() - 1025,
        bytes.len() - 1,
    ] {
        assert!(restored(&disks, &bytes[..cut]).is_err(), "{cut}");
        assert!(!there(&disks));
    }
    let mut state = 0x2026_1130_u64;
    let (mut refused, mut same) = (0, 0);
    for _ in 0..300 {
        // Xorshift (Marsaglia 2003, from memory).
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        let at = usize::try_from(state % bytes.len() as u64).unwrap();
        let mut changed = bytes.clone();
        changed[at] ^= 1 << (state >> 61);
        match restored(&disks, &changed) {
            Err(_) => {
                refused += 1;
                assert!(!there(&disks), "byte {at}");
            }
            // Bytes that only fill a block up say nothing.
            Ok(()) => {
                same += 1;
                let before = snapshot(&disks, "jobs/v8");
                let after = snapshot(&disks, &format!("{NEW}/jobs/v8"));
                let journal = |all: &std::collections::BTreeMap<String, Option<Vec<u8>>>| {
                    all.iter()
                        .find(|(name, _)| name.ends_with("ndjson"))
                        .map(|(_, b)| b.clone())
                };
                assert_eq!(journal(&before), journal(&after));
                disks.disk.remove(Path::new(NEW)).unwrap();
            }
        }
    }
    assert!(refused > 100, "{refused} refused, {same} the same");
    let mut longer = bytes.clone();
    longer.extend_from_slice(b"more");
    assert!(restored(&disks, &longer).is_err());
}

#[test]
fn nothing_is_restored_over_what_is_there() {
    let (disks, store) = shop();
    let bytes = written(&store);
    disks.disk.create_dir(Path::new(NEW)).unwrap();
    let kept = Path::new(NEW).join("kept.txt");
    disks.disk.replace(&kept, b"mine").unwrap();
    let error = restored(&disks, &bytes).unwrap_err();
    assert!(matches!(error, StoreError::NotEmpty(_)), "{error}");
    assert_eq!(disks.disk.list(Path::new(NEW)).unwrap().len(), 1);
    disks.disk.remove(&kept).unwrap();
    restored(&disks, &bytes).unwrap();
}

#[test]
fn a_disk_that_refuses_midway_leaves_nothing_under_the_name() {
    let (disks, store) = shop();
    let bytes = written(&store);
    let planned = [
        (Operation::Append, 3),
        (Operation::Sync, 3),
        (Operation::SyncDir, 2),
        (Operation::Rename, 1),
    ];
    for (operation, times) in planned {
        for nth in 1..=times {
            let full = DiskFault::Refused(std::io::ErrorKind::StorageFull);
            disks.files.fail(operation, nth, full);
            let error = restored(&disks, &bytes).unwrap_err();
            assert!(
                matches!(error, StoreError::Files(_)),
                "{operation:?} {nth}: {error}"
            );
            assert!(!there(&disks), "{operation:?} {nth}");
        }
    }
    restored(&disks, &bytes).unwrap();
}

#[test]
fn a_damaged_record_is_in_the_backup_as_it_was_found_and_told() {
    let (disks, store) = shop();
    let path = "jobs/v6/journal.ndjson";
    let damaged = disks.read(path).replacen("chamber/2", "chamber/9", 1);
    put(&disks, path, damaged.as_bytes());
    let mut bytes = Vec::new();
    let now = "2026-03-02T10:00:00Z".parse().unwrap();
    let manifest = back_up(store.reader(), now, &mut bytes, &mut |_| ()).unwrap();
    let told: Vec<bool> = manifest
        .jobs
        .iter()
        .map(|job| job.damage.is_some())
        .collect();
    assert_eq!(told, [true, false]);
    restored(&disks, &bytes).unwrap();
    let here = disks.disk.read(&Path::new(NEW).join(path)).unwrap();
    assert_eq!(here, damaged.as_bytes());
}
