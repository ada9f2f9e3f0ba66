//! What holds whatever bytes a journal has. `fuzz/` makes bytes up, and `daemon/tests/fuzz_corpus.rs`
//! plays those that are kept.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use benchhand_daemon::clock::HandClock;
use benchhand_daemon::store::error::StoreError;
use benchhand_daemon::store::fact::Fact;
use benchhand_daemon::store::{Access, Store};
use benchhand_files::Files;
use benchhand_testbed::disk::MemoryDisk;

const DATA: &str = "/data";
/// The job's name where the first line names none that a folder can have.
const JOB: &str = "v8";
/// What stands before a line's own hash.
const SUM: &[u8] = b",\"sum\":\"";
/// How long a hash is, in hexadecimal.
const HASH: usize = 64;

/// A journal as it is found: as these bytes are, and with every line chained to the one before, so
/// that made-up facts get past the hashes. Says whether one of the two could be opened for writing.
pub fn journals(bytes: &[u8]) -> bool {
    let as_found = holds(bytes);
    holds(&chained(bytes)) || as_found
}

/// Opened for writing or not, a journal is read, its damage is told, and nothing but a torn end is
/// taken from it.
fn holds(bytes: &[u8]) -> bool {
    let (disk, name) = (MemoryDisk::new(), job_of(bytes));
    let folder = PathBuf::from(DATA).join("jobs").join(&name);
    let path = folder.join("journal.ndjson");
    disk.create_dir(&folder).expect("a folder");
    disk.replace(&path, bytes).expect("a file");
    let read = looked_at(&open(&disk, Access::Read), &name);
    assert_eq!(
        disk.read(&path).expect("a file"),
        bytes,
        "reading changes nothing"
    );

    let store = open(&disk, Access::write("made-up input"));
    let (mut job, opening) = match store.job(&name) {
        Ok(opened) => opened,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            assert_eq!(disk.read(&path).expect("a file"), bytes, "{error}");
            return false;
        }
    };
    let (damage, torn_bytes) = read.expect("what is open for writing can be read");
    assert!(!damage && opening.damage.is_empty() && opening.record.is_none());
    assert_eq!(opening.torn.is_some(), torn_bytes > 0);
    // What was sound is there byte for byte; the engine file may have been loaded behind it.
    let sound = bytes.get(..bytes.len() - torn_bytes).expect("a part of it");
    let kept = disk.read(&path).expect("a file");
    assert!(kept.starts_with(sound));

    let keyed = job.append(Fact::Stop {}, Some("made-up"));
    let keyed = keyed.expect("a sound journal is written to");
    let view = job.view().clone();
    drop(job);
    let after = disk.read(&path).expect("a file");
    assert!(after.starts_with(&kept));
    let (again, opening) = store.job(&name).expect("what was written to opens again");
    assert!(opening.torn.is_none() && opening.damage.is_empty());
    assert!(keyed.repeated || after.len() > kept.len());
    assert_eq!(*again.view(), view, "the same facts give the same view");
    assert_eq!(
        disk.read(&path).expect("a file"),
        after,
        "opening changes nothing"
    );
    true
}

/// What a reader says: whether anything is damaged, and how many bytes are torn. `None` where nothing
/// can be read at all.
fn looked_at(store: &Store, name: &str) -> Option<(bool, usize)> {
    let told = |error: StoreError| assert!(!error.to_string().is_empty());
    let _ = store.entries(name).map_err(told);
    let _ = store.jobs().map_err(told);
    let verified = store.verify(name);
    let (_, opening) = store.view(name).map_err(told).ok()?;
    let damage = opening.wrong();
    assert!(damage.iter().all(|words| !words.is_empty()));
    match verified {
        Ok(verified) => Some((damage.is_some(), verified.torn_bytes)),
        Err(error) => {
            told(error);
            Some((true, 0))
        }
    }
}

fn open(disk: &MemoryDisk, access: Access) -> Store {
    let start = "2026-03-02T09:00:00Z".parse().expect("a time");
    let clock = Arc::new(HandClock::new(start));
    Store::open(DATA, Arc::new(disk.clone()), clock, access).expect("a data folder")
}

/// The job that the first line names.
fn job_of(bytes: &[u8]) -> String {
    let first = bytes
        .split(|byte| *byte == b'\n')
        .next()
        .unwrap_or_default();
    let line: Option<serde_json::Value> = serde_json::from_slice(first).ok();
    let named = line.as_ref().and_then(|line| line.get("job")?.as_str());
    let usable = |name: &&str| {
        let letters = |c: char| c.is_ascii_alphanumeric() || c == '-';
        (1..=64).contains(&name.len()) && name.chars().all(letters) && Path::new(name).is_relative()
    };
    named.filter(usable).unwrap_or(JOB).to_owned()
}

/// The same lines, each with the hash of the one before it and with its own.
fn chained(bytes: &[u8]) -> Vec<u8> {
    let (mut all, mut before) = (Vec::new(), "0".repeat(HASH));
    for line in bytes.split_inclusive(|byte| *byte == b'\n') {
        let Some(text) = line.strip_suffix(b"\n") else {
            all.extend_from_slice(line);
            break;
        };
        let mut text = text.to_vec();
        if let Some(at) = text.windows(SUM.len()).rposition(|part| part == SUM) {
            text.truncate(at);
        }
        let prev = b"\"prev\":\"";
        if let Some(at) = text.windows(prev.len()).position(|part| part == prev)
            && let Some(hash) = text.get_mut(at + prev.len()..at + prev.len() + HASH)
        {
            hash.copy_from_slice(before.as_bytes());
        }
        before = blake3::hash(&text).to_hex().to_string();
        all.extend_from_slice(&text);
        all.extend_from_slice(SUM);
        all.extend_from_slice(before.as_bytes());
        all.extend_from_slice(b"\"}\n");
    }
    all
}
