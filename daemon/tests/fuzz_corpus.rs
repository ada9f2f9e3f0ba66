//! Journals that fuzzing found worth keeping, and the frozen ones, hold what is promised of any.

mod fuzzed;

use std::path::PathBuf;

/// The kept inputs: name and bytes.
fn kept() -> Vec<(String, Vec<u8>)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../fuzz/corpus/journals");
    let mut all: Vec<_> = std::fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| {
            let entry = entry.unwrap();
            let name = entry.file_name().to_string_lossy().into_owned();
            (name, std::fs::read(entry.path()).unwrap())
        })
        .collect();
    all.sort();
    assert!(all.len() >= 20, "{} inputs", all.len());
    all
}

#[test]
fn kept_journals_hold() {
    let mut taken = [0, 0];
    for (name, bytes) in kept() {
        match std::panic::catch_unwind(|| fuzzed::journals(&bytes)) {
            Ok(one) => taken[usize::from(one)] += 1,
            Err(_) => panic!("fuzz/corpus/journals/{name} does not hold"),
        }
    }
    assert!(taken.into_iter().all(|count| count >= 5), "{taken:?}");
}

#[test]
fn the_frozen_journals_hold() {
    for bytes in [
        &include_bytes!("../src/store/tests/fixtures/journal-v1.ndjson")[..],
        include_bytes!("../src/store/tests/fixtures/journal-v1-checks.ndjson"),
        include_bytes!("../src/store/tests/fixtures/journal-v1-orders.ndjson"),
    ] {
        assert!(fuzzed::journals(bytes));
        let half = &bytes[..bytes.len() / 2];
        assert!(fuzzed::journals(half), "its half line is torn");
    }
}
