//! Values that wait behind a question about something else.

use benchhand_wire::Control;

use super::pouring_tests::ScriptedRig;
use super::{DoubtedReading, RunOutcome};
use crate::capture::PourCounts;
use crate::route::StopOutcome;
use crate::store::fact::{Fact, WHY_ASKED};

/// What is asked about a kept reading stays asked while the next pour still grows, and that pour is not kept
/// safe as if the question were about it.
#[test]
fn a_question_about_a_kept_reading_outlasts_the_pour_behind_it() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0)
            .run(46.0, 4.0)
            .rest(8.0)
            .run(0.0, 12.0)
            .rest(4.0);
    });
    let Some(StopOutcome::Held(id) | StopOutcome::Taken(id)) =
        rig.run.walk().became().first().copied()
    else {
        panic!("chamber 1 is kept: {:?}", rig.run.walk().became());
    };
    let open = DoubtedReading {
        id,
        spot: "chamber/1".parse().expect("a spot"),
        shown: "46.00 cc".to_owned(),
    };
    let mut out = RunOutcome::default();
    rig.run.broken_off(vec![open], &mut rig.notebook, &mut out);
    let asked = rig.question();
    assert!(asked.contains("was still open"), "{asked}");
    // A rest in mid-pour, then more: the value that waits is revised.
    rig.feed(|s| {
        s.run(45.0, 4.0).rest(8.0).run(46.5, 1.0).rest(8.0);
        s.run(0.0, 12.0).rest(4.0);
    });
    assert_eq!(rig.question(), asked);
    assert_eq!(rig.run.waiting(), 1);
    let of = |fact: &Fact| match fact {
        Fact::Asked(reading) => Some(reading.labels.contains_key(WHY_ASKED)),
        _ => None,
    };
    let why: Vec<bool> = rig.notebook.facts.iter().filter_map(of).collect();
    assert_eq!(why, [false], "it waits behind a question about another");
    rig.control(Control::Keep);
    rig.assert_kept(&[(1, 46.0), (2, 46.5)]);
}
