//! Bodies of requests that fuzzing found worth keeping hold what is promised of any.

mod fuzzed;

use std::path::PathBuf;

#[test]
fn kept_requests_hold() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../fuzz/corpus/requests");
    let mut taken = [0, 0];
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        let bytes = std::fs::read(&path).unwrap();
        match std::panic::catch_unwind(|| fuzzed::requests(&bytes)) {
            Ok(one) => taken[usize::from(one)] += 1,
            Err(_) => panic!("{} does not hold", path.display()),
        }
    }
    assert!(taken.into_iter().all(|count| count >= 5), "{taken:?}");
}
