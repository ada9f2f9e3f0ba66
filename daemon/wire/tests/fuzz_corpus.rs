//! Bodies of requests that fuzzing found worth keeping hold what is promised of any.

mod fuzzed;

use benchhand_testbed::corpus::play;

#[test]
fn kept_requests_hold() {
    play("requests", fuzzed::requests);
}
