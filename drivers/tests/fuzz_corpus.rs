//! Bytes that fuzzing found worth keeping, and what the project ships, hold what is promised of any.

#[allow(dead_code, reason = "what the streams must yield is held elsewhere")]
mod common;
mod fuzzed;

use benchhand_testbed::corpus::play;

use common::cases;

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
