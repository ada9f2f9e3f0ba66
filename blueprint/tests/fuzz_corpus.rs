//! Texts that fuzzing found worth keeping, and the examples, hold what is promised of any.

mod fuzzed;

use std::path::PathBuf;

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
fn kept_engines_hold() {
    play("engines", fuzzed::engines);
}

#[test]
fn kept_readings_hold() {
    play("readings", fuzzed::readings);
}

#[test]
fn kept_spots_hold() {
    play("spots", fuzzed::spots);
}

#[test]
fn the_examples_hold() {
    assert!(fuzzed::engines(include_bytes!(
        "../../examples/invented-v8.toml"
    )));
    assert!(fuzzed::engines(include_bytes!("files/invented-four.toml")));
    assert!(fuzzed::readings(include_bytes!(
        "../../examples/invented-v8-readings.csv"
    )));
}
