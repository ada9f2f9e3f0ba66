//! What is left in the burette amid a chamber.

use super::pouring_tests::ScriptedRig;
use crate::capture::PourCounts;

/// 0.10 cc is left in the burette and some 39 are to come.
#[test]
fn an_empty_burette_amid_a_chamber_wants_a_refill() {
    let mut rig = ScriptedRig::new(5.08, PourCounts::Down, Some(44.6));
    rig.feed(|s| {
        s.rest(4.0).run(0.1, 4.0).rest(9.0);
    });
    assert_eq!(rig.run.wants_refill(), Some(true), "{:?}", rig.said);
    rig.feed(|s| {
        s.run(50.0, 12.0).rest(9.0);
    });
    assert_eq!(rig.run.wants_refill(), Some(false), "{:?}", rig.said);
}
