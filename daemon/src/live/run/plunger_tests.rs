//! A dial whose number runs the other way than the register says, on a run without disk or clock.
//!
//! The rig's dial is zeroed at 10 mm, and the register says that its number grows as the plunger is
//! pushed in.

use benchhand_wire::{Control, QuestionAbout};

use super::zeroing_tests::ScriptedRig;

/// The dial is held in the hand for so many seconds and hangs free.
fn hangs_at(rig: &mut ScriptedRig, value: f64, seconds: u32) {
    for _ in 0..10 * seconds {
        rig.shows(value);
    }
}

#[test]
fn a_dial_that_hangs_free_on_the_pushed_in_side_is_asked_about() {
    let mut rig = ScriptedRig::new(false);
    hangs_at(&mut rig, 15.2, 2);
    let said = |rig: &ScriptedRig| rig.out.said.iter().any(|s| s.text.contains("5.200 mm"));
    assert!(said(&rig), "it is told at once: {:?}", rig.out.said);
    rig.set_down(10.2);
    let (about, text) = rig.asked().expect("a question");
    assert_eq!(about, QuestionAbout::Handling);
    for part in ["deck 1 thrust", "5.200 mm further in", "gauge direction"] {
        assert!(text.contains(part), "{text}");
    }
    assert!(rig.kept().is_empty());

    // A person who knows better is not asked again.
    rig.control(&Control::Keep);
    hangs_at(&mut rig, 15.2, 2);
    rig.set_down(10.3);
    assert_eq!(rig.asked(), None);
    assert_eq!(rig.kept().len(), 2);
}

#[test]
fn a_plunger_that_comes_out_between_the_places_is_as_stated() {
    let mut rig = ScriptedRig::new(false);
    hangs_at(&mut rig, 4.8, 2);
    rig.set_down(9.8);
    assert_eq!(rig.asked(), None);
    // A finger on the plunger is no direction any more.
    hangs_at(&mut rig, 15.2, 2);
    rig.set_down(9.7);
    assert_eq!(rig.asked(), None);
    assert_eq!(rig.kept().len(), 2);
}

#[test]
fn a_plunger_that_is_pushed_in_in_passing_is_not_asked_about() {
    let mut rig = ScriptedRig::new(false);
    for step in 0..40 {
        rig.shows(11.0 + f64::from(step % 20) * 0.2);
    }
    rig.set_down(9.8);
    assert_eq!(rig.asked(), None);
}

#[test]
fn what_a_dial_showed_by_an_old_zero_says_nothing_after_a_new_one() {
    let mut rig = ScriptedRig::new(false);
    hangs_at(&mut rig, 15.2, 2);
    // Its zero key was pressed amid the travel: 15.2 mm is where it hangs, 20 mm its zero face.
    rig.zeroed(20.0);
    rig.set_down(19.8);
    assert_eq!(rig.asked(), None);
    assert_eq!(rig.kept(), [("deck/1/thrust".to_owned(), 0.2)]);
}
