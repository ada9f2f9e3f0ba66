//! What is asked about a pour, and what becomes of the answers.

use benchhand_blueprint::Quantity;
use benchhand_drivers::Unit;
use benchhand_wire::Control;

use super::RunOutcome;
use super::pouring_tests::ScriptedRig;
use crate::capture::PourCounts;
use crate::known::typed::ReadOff;
use crate::store::fact::Fact;

#[test]
fn a_wrong_nominal_is_asked_about_once() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(64.0, 4.0).rest(6.0);
    });
    assert!(
        rig.question().contains("64.00 cc, expected about 46.0"),
        "{}",
        rig.question()
    );
    rig.control(Control::Keep);
    rig.feed(|s| {
        s.run(0.0, 12.0).rest(4.0).run(64.5, 4.0).rest(6.0);
    });
    assert_eq!(rig.question(), "");
    rig.assert_kept(&[(1, 64.0), (2, 64.5)]);
}

#[test]
fn while_nobody_answers_later_pours_wait_in_their_order() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0)
            .run(64.0, 4.0)
            .rest(6.0)
            .run(0.0, 12.0)
            .rest(4.0);
        s.run(63.0, 4.0)
            .rest(6.0)
            .run(0.0, 12.0)
            .rest(4.0)
            .run(65.0, 4.0)
            .rest(6.0);
    });
    rig.assert_kept(&[]);
    assert_eq!(rig.run.waiting(), 2);
    rig.control(Control::Keep);
    rig.assert_kept(&[(1, 64.0), (2, 63.0), (3, 65.0)]);
}

#[test]
fn a_value_far_off_does_not_move_the_route_on_and_take_does_not_keep_it() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(70.0, 4.0).rest(6.0);
    });
    let mut out = RunOutcome::default();
    let refused = rig
        .run
        .control(&Control::Take, 0, &mut rig.notebook, &mut out);
    assert!(refused.is_err());
    rig.assert_kept(&[]);
    assert_eq!(rig.run.walk().at(), Some(0));
    rig.control(Control::Again);
    rig.feed(|s| {
        s.run(0.0, 12.0).rest(4.0).run(46.0, 4.0).rest(6.0);
    });
    rig.assert_kept(&[(1, 46.0)]);
}

/// Nobody answers and the work is broken off: the waiting values are in the journal and do not
/// count.
#[test]
fn what_waits_for_an_answer_is_kept_safe_and_counts_only_once_answered() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0)
            .run(64.0, 4.0)
            .rest(6.0)
            .run(0.0, 12.0)
            .rest(4.0);
        s.run(63.0, 4.0).rest(6.0).run(0.0, 12.0).rest(4.0);
    });
    let asked = |facts: &[Fact]| {
        let of = |fact: &Fact| match fact {
            Fact::Asked(reading) => Some(reading.value.round()),
            _ => None,
        };
        facts.iter().filter_map(of).collect::<Vec<_>>()
    };
    assert_eq!(asked(&rig.notebook.facts), [64.0, 63.0]);
    rig.assert_kept(&[]);
    rig.control(Control::Keep);
    rig.assert_kept(&[(1, 64.0), (2, 63.0)]);
    let supersedes = |fact: &Fact| match fact {
        Fact::Final(reading) => reading.supersedes,
        _ => None,
    };
    let replaced: Vec<u64> = rig.notebook.facts.iter().filter_map(supersedes).collect();
    assert_eq!(
        replaced.len(),
        2,
        "each takes the place of what was kept safe"
    );
}

#[test]
fn a_pour_that_waits_behind_the_question_is_announced_at_once() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(70.0, 4.0).rest(6.0).run(0.0, 12.0);
    });
    rig.moved = 0;
    rig.feed(|s| {
        s.rest(5.0).run(71.0, 6.0).rest(6.0);
    });
    assert_eq!(rig.run.waiting(), 1);
    assert!(rig.moved > 0, "the route says how many wait");
}

#[test]
fn an_answer_that_the_question_does_not_have_is_refused_with_those_that_it_has() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(70.0, 4.0).rest(6.0);
    });
    let asked = rig.question();
    let refused = rig.run.control(
        &Control::Delivered,
        0,
        &mut rig.notebook,
        &mut RunOutcome::default(),
    );
    let refused = refused.unwrap_err();
    assert_eq!(refused.found, asked);
    assert!(
        refused
            .to_string()
            .contains("keep, again, refill, or type the right value"),
        "{refused}"
    );
    assert_eq!(rig.question(), asked, "the question still waits");
    rig.assert_kept(&[]);
}

/// The engine file states 64 and the chambers hold 45. Two chambers from one filling are asked
/// about as one, and the answer parts them, before the refill and after it.
#[test]
fn two_pours_that_are_asked_about_as_one_are_parted_at_their_rest() {
    for refilled in [false, true] {
        let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(64.0));
        rig.feed(|s| {
            s.rest(4.0)
                .run(45.1, 4.0)
                .rest(9.0)
                .run(90.5, 4.0)
                .rest(60.0);
        });
        if refilled {
            rig.feed(|s| {
                s.run(0.0, 12.0).rest(6.0);
            });
        }
        let asked = rig.question();
        assert!(asked.contains("90.50"), "{asked}");
        assert!(asked.contains("split"), "{asked}");
        rig.control(Control::Split);
        // Each value is far from what the engine file states; one answer outranks the file.
        rig.control(Control::Keep);
        rig.assert_kept(&[(1, 45.1), (2, 45.4)]);
    }
}

#[test]
fn an_undo_after_a_reading_says_what_takes_the_reading_back() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(46.0, 4.0).rest(8.0);
    });
    let (undo, mut out) = (Control::Undo, RunOutcome::default());
    let refused = rig.run.control(&undo, 0, &mut rig.notebook, &mut out);
    let said = refused.unwrap_err().to_string();
    for control in ["`again`", "`back`", "`move`"] {
        assert!(said.contains(control), "{said}");
    }
    rig.assert_kept(&[(1, 46.0)]);
}

#[test]
fn one_pour_without_a_rest_is_not_parted_and_nothing_of_it_is_lost() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(70.0, 4.0).rest(6.0);
    });
    let asked = rig.question();
    let mut out = RunOutcome::default();
    let refused = rig
        .run
        .control(&Control::Split, 0, &mut rig.notebook, &mut out);
    assert!(refused.is_err());
    assert_eq!(rig.question(), asked);
    rig.control(Control::Keep);
    rig.assert_kept(&[(1, 70.0)]);
}

/// The amount is too little to be told, and the person goes on: it stays where it was poured,
/// before a refill and after it.
#[test]
fn what_was_poured_so_far_stays_where_it_was_poured() {
    for refilled in [false, true] {
        let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(64.0));
        rig.feed(|s| {
            s.rest(4.0).run(20.0, 4.0).rest(8.0);
        });
        if refilled {
            rig.feed(|s| {
                s.run(0.0, 12.0).rest(4.0);
            });
        }
        let go = Control::Go {
            spot: "chamber/3".to_owned(),
        };
        let mut out = RunOutcome::default();
        let asked = rig.run.control(&go, 0, &mut rig.notebook, &mut out);
        assert!(asked.is_err(), "20 cc is asked about where it was poured");
        let question = rig.question();
        assert!(question.starts_with("chamber 1: 20.00"), "{question}");
        rig.control(Control::Again);
        rig.control(go);
        assert_eq!(rig.run.walk().at(), Some(2));
        rig.feed(|s| {
            s.run(0.0, 12.0).rest(5.0).run(64.0, 4.0).rest(8.0);
        });
        rig.assert_kept(&[(3, 64.0)]);
    }
}

/// A value that is asked about at one chamber does not count at another chamber in silence, though
/// it would fit there.
#[test]
fn a_value_in_doubt_that_goes_along_is_asked_about_where_it_comes_to() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.notebook.odd = Some(("chamber/2", 70.0));
    rig.feed(|s| {
        s.rest(4.0).run(70.0, 4.0).rest(6.0);
    });
    rig.control(Control::Go {
        spot: "chamber/2".to_owned(),
    });
    rig.assert_kept(&[]);
    let question = rig.question();
    assert!(
        question.starts_with("chamber 2: 70.0") && question.contains("poured meanwhile"),
        "{question}"
    );
    // Taken back, the value is asked about where it was poured, as before.
    rig.control(Control::Undo);
    assert_eq!(rig.run.walk().at(), Some(0));
    let question = rig.question();
    assert!(
        question.starts_with("chamber 1: 70.0") && !question.contains("meanwhile"),
        "{question}"
    );
}

/// A person types a volume.
fn types(rig: &mut ScriptedRig, value: f64) {
    let read = ReadOff {
        value: Quantity {
            value,
            unit: Unit::CubicCentimetre,
        },
        along: None,
        labels: Vec::new(),
    };
    let mut out = RunOutcome::default();
    let typed = rig
        .run
        .typed(&read, (None, false), 0, &mut rig.notebook, &mut out);
    typed.expect("it waits");
}

/// What is typed while another question is open comes in the order in which it was typed.
#[test]
fn what_is_typed_behind_a_question_keeps_its_order() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    types(&mut rig, 46.0);
    rig.control(Control::Again);
    assert!(rig.question().starts_with("is chamber 1 meant"));
    types(&mut rig, 45.0);
    types(&mut rig, 46.5);
    rig.control(Control::Again);
    let question = rig.question();
    assert!(
        question.starts_with("chamber 1: 45.0") && question.contains("typed meanwhile"),
        "{question}"
    );
    rig.control(Control::Keep);
    rig.assert_kept(&[(1, 45.0), (2, 46.5)]);
}

/// `undo` takes back the last control; an answer is not taken back.
#[test]
fn undo_after_an_answer_takes_back_nothing_older() {
    let mut rig = ScriptedRig::new(60.0, PourCounts::Unknown, Some(46.0));
    rig.control(Control::Hold);
    rig.control(Control::Resume);
    rig.feed(|s| {
        s.rest(4.0).run(0.0, 12.0).rest(5.0);
    });
    rig.control(Control::Refill);
    let mut out = RunOutcome::default();
    let undone = rig
        .run
        .control(&Control::Undo, 0, &mut rig.notebook, &mut out);
    assert!(undone.is_err());
    assert!(!rig.run.on_hold());
}

/// Nobody answers which reading `again` means, two chambers are poured, and the person goes on.
#[test]
fn what_waits_behind_which_again_stays_where_it_was_poured_when_a_person_goes_on() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0)
            .run(46.0, 4.0)
            .rest(8.0)
            .run(0.0, 12.0)
            .rest(6.0);
    });
    rig.control(Control::Again);
    rig.feed(|s| {
        s.run(45.0, 4.0).rest(8.0).run(0.0, 12.0).rest(6.0);
    });
    rig.control(Control::Go {
        spot: "chamber/4".to_owned(),
    });
    rig.feed(|s| {
        s.run(47.0, 4.0).rest(8.0);
    });
    rig.assert_kept(&[(1, 46.0), (2, 45.0), (4, 47.0)]);
}

/// Nobody looks while the rest is let out and refilled: all that is no reading, and one word says so.
#[test]
fn all_that_waits_behind_a_question_is_dropped_at_once() {
    let mut rig = ScriptedRig::new(0.0, PourCounts::Up, Some(46.0));
    rig.feed(|s| {
        s.rest(4.0).run(64.0, 4.0).rest(6.0).run(0.0, 12.0);
        s.rest(4.0).run(63.0, 4.0).rest(6.0).run(0.0, 12.0);
        s.rest(4.0).run(65.0, 4.0).rest(6.0);
    });
    assert_eq!(rig.run.waiting(), 2);
    rig.control(Control::Drop);
    assert_eq!(rig.run.waiting(), 0);
    assert!(rig.question().starts_with("chamber 1: 64.0"), "it stands");
    let voided = |fact: &&Fact| matches!(fact, Fact::Voided { reason, .. } if reason == "dropped");
    let records = rig.notebook.facts.iter().filter(voided).count();
    assert_eq!(
        records, 1,
        "what was kept safe is not asked about again after a restart"
    );
    let again = rig.run.control(
        &Control::Drop,
        0,
        &mut rig.notebook,
        &mut RunOutcome::default(),
    );
    assert!(again.unwrap_err().found.contains("nothing waits"));
    rig.control(Control::Keep);
    rig.feed(|s| {
        s.run(0.0, 12.0).rest(4.0).run(63.5, 4.0).rest(6.0);
    });
    rig.assert_kept(&[(1, 64.0), (2, 63.5)]);
}
