//! A disk that was full for a while puts no later value at a wrong stop in silence.

use benchhand_wire::Control;

use super::pouring_tests::ScriptedRig;
use crate::capture::PourCounts;

/// A rig whose first chamber was poured and not kept; the burette is full again.
fn with_a_value_that_was_not_kept() -> ScriptedRig {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.notebook.full = true;
    rig.feed(|s| {
        s.rest(4.0)
            .run(46.0, 4.0)
            .rest(8.0)
            .run(0.0, 12.0)
            .rest(4.0);
    });
    assert!(rig.said[0].contains("not kept"), "{:#?}", rig.said);
    rig.notebook.full = false;
    rig
}

#[test]
fn the_next_chamber_after_a_value_that_was_not_kept_is_asked_about() {
    let mut rig = with_a_value_that_was_not_kept();
    rig.feed(|s| {
        s.run(47.0, 4.0).rest(8.0);
    });
    assert!(rig.question().contains("chamber 1"), "{}", rig.question());
    rig.assert_kept(&[]);
    // The person had not heard it and poured the second chamber.
    rig.control(Control::Skip);
    rig.assert_kept(&[(2, 47.0)]);
    rig.feed(|s| {
        s.run(0.0, 12.0).rest(4.0).run(45.0, 4.0).rest(8.0);
    });
    assert_eq!(rig.question(), "", "it is asked once");
    rig.assert_kept(&[(2, 47.0), (3, 45.0)]);
}

#[test]
fn whoever_poured_the_same_chamber_again_keeps_it_there() {
    let mut rig = with_a_value_that_was_not_kept();
    rig.feed(|s| {
        s.run(46.1, 4.0).rest(8.0);
    });
    rig.control(Control::Keep);
    rig.assert_kept(&[(1, 46.1)]);
}

#[test]
fn nothing_is_asked_of_whoever_said_that_the_chamber_is_poured_again() {
    let mut rig = with_a_value_that_was_not_kept();
    rig.control(Control::Again);
    rig.feed(|s| {
        s.run(46.1, 4.0).rest(8.0);
    });
    assert_eq!(rig.question(), "");
    rig.assert_kept(&[(1, 46.1)]);
}

#[test]
fn a_value_that_comes_again_once_there_is_room_is_kept_without_a_question() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.notebook.full = true;
    rig.feed(|s| {
        s.rest(4.0).run(46.0, 4.0).rest(8.0);
    });
    rig.notebook.full = false;
    rig.feed(|s| {
        s.run(0.0, 12.0).rest(4.0);
    });
    rig.assert_kept(&[(1, 46.0)]);
    rig.feed(|s| {
        s.run(47.0, 4.0).rest(8.0);
    });
    assert_eq!(rig.question(), "");
    rig.assert_kept(&[(1, 46.0), (2, 47.0)]);
}
