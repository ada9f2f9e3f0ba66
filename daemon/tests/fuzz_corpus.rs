//! Journals that fuzzing found worth keeping, and the frozen ones, hold what is promised of any.

mod fuzzed;

use benchhand_testbed::corpus::play;

#[test]
fn kept_journals_hold() {
    play("journals", fuzzed::journals);
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
