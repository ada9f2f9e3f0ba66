//! Inputs that fuzzing found worth keeping, played by ordinary tests.

use std::path::Path;

/// The fewest inputs of a target, and the fewest of which something comes, and nothing.
const FEWEST: (usize, usize) = (20, 5);

/// The kept inputs of a target: name and bytes.
fn kept(target: &str) -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../fuzz/corpus")
        .join(target);
    let entries = std::fs::read_dir(&folder);
    let entries = entries.unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut all: Vec<_> = entries
        .map(|entry| {
            let entry = entry.expect("the folder can be read");
            let name = entry.file_name().to_string_lossy().into_owned();
            (name, std::fs::read(entry.path()).expect("a file"))
        })
        .collect();
    all.sort();
    all
}

/// Plays each kept input of a target; `hold` says whether something came of it.
///
/// # Panics
/// Where `hold` does; the name of the input is printed after that. Also where something must come of
/// some inputs and nothing of others, and does not: the kept ones no longer reach far.
pub fn play(target: &str, hold: fn(&[u8]) -> bool) {
    let all = kept(target);
    assert!(all.len() >= FEWEST.0, "{target} has {} inputs", all.len());
    let mut taken = [0_usize, 0];
    for (name, bytes) in all {
        match std::panic::catch_unwind(|| hold(&bytes)) {
            Ok(one) => taken[usize::from(one)] += 1,
            Err(_) => panic!("fuzz/corpus/{target}/{name} does not hold"),
        }
    }
    let far = taken.into_iter().all(|count| count >= FEWEST.1);
    assert!(far, "{target}: {taken:?}");
}
