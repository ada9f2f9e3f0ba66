//! The levels of a burette: those that are kept with a pour, and what is left amid one.

use benchhand_wire::Control;

use super::pouring_tests::ScriptedRig;
use crate::capture::PourCounts;
use crate::store::fact::Fact;

/// Two chambers from one filling are told as one, the burette is refilled, and the answer parts them.
#[test]
fn the_levels_of_a_chamber_that_was_parted_are_its_own() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(64.0));
    rig.feed(|s| {
        s.rest(4.0).run(45.1, 4.0).rest(9.0).run(90.5, 4.0);
        s.rest(60.0).run(0.0, 12.0).rest(6.0);
    });
    rig.control(Control::Split);
    rig.control(Control::Keep);
    rig.assert_kept(&[(1, 45.1), (2, 45.4)]);
    let of_the_second = |fact: &Fact| match fact {
        Fact::Held(reading) | Fact::Revised(reading) | Fact::Final(reading) => {
            let levels = reading.labels.get("levels").cloned();
            levels.filter(|_| reading.spot == "chamber/2")
        }
        _ => None,
    };
    let mut kept = rig.notebook.facts.iter().filter_map(of_the_second);
    let levels = kept.next_back().expect("a pour");
    let its_own = levels.starts_with("45.") && levels.contains("to 90.");
    assert!(its_own, "{levels}");
}

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
