//! Bytes that fuzzing found worth keeping, and what the project ships, hold what is promised of any.

#[allow(dead_code, reason = "what the streams must yield is held elsewhere")]
mod common;
mod fuzzed;

use std::path::PathBuf;

use common::cases;

/// The kept inputs of a target: name and bytes.
fn kept(target: &str) -> Vec<(String, Vec<u8>)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../fuzz/corpus")
        .join(target);
    let mut all: Vec<_> = std::fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| {
            let entry = entry.unwrap();
            let name = entry.file_name().to_string_lossy().into_owned();
            (name, std::fs::read(entry.path()).unwrap())
        })
        .collect();
    all.sort();
    assert!(all.len() >= 20, "{target} has {} inputs", all.len());
    all
}

/// Plays each input; the name of the one that fails is printed after its panic. Something must come of
/// some inputs and nothing of others, or the kept ones no longer reach far.
fn play(target: &str, hold: fn(&[u8]) -> bool) {
    let mut taken = [0, 0];
    for (name, bytes) in kept(target) {
        match std::panic::catch_unwind(|| hold(&bytes)) {
            Ok(one) => taken[usize::from(one)] += 1,
            Err(_) => panic!("fuzz/corpus/{target}/{name} does not hold"),
        }
    }
    assert!(
        taken.into_iter().all(|count| count >= 5),
        "{target}: {taken:?}"
    );
}

#[test]
fn kept_frames_hold() {
    play("frames", fuzzed::frames);
}

#[test]
fn kept_profiles_hold() {
    play("profiles", fuzzed::profiles);
}

#[test]
fn kept_streams_hold() {
    play("streams", fuzzed::streams);
}

#[test]
fn what_is_shipped_holds() {
    let mut silent = Vec::new();
    for case in cases() {
        assert!(fuzzed::profiles(case.profile.text().as_bytes()));
        let mut written = Vec::new();
        case.stream.write_to(&mut written).unwrap();
        assert!(fuzzed::streams(&written), "{}", case.name);
        let seed = fuzzed::seed_of(case.profile.name(), &case.stream).unwrap();
        if !fuzzed::frames(&seed) {
            silent.push(case.name);
        }
    }
    // Its gauge answers commands at first, and the made-up line answers whenever it likes.
    assert_eq!(silent, ["set-up-volume"]);
}
