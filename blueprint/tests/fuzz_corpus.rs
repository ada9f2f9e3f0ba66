//! Texts that fuzzing found worth keeping, and the examples, hold what is promised of any.

mod fuzzed;

use benchhand_testbed::corpus::play;

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
