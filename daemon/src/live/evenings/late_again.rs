//! Named evenings: `again` about a chamber before, answered at once or late.

use super::named::{Script, assert_right, evening, written};
use crate::synth::evening::{HandRequest, ShownStop};

/// A bubble is seen in chamber 1 long after its value was said; `again` asks which is meant, and
/// nobody answers before the next chambers were poured. Each of them stands by itself.
#[test]
fn a_late_answer_to_again_files_no_later_pour_in_the_place_of_an_earlier_one() {
    for (meant, since) in [(Some(0), 1), (Some(0), 2), (None, 1), (None, 2)] {
        for nominal in [Some(46.0), None] {
            let mut plan = evening(&[46.0, 46.3, 45.8, 46.1]);
            plan.nominal = nominal;
            let (played, _) = written(&plan, |hand| {
                hand.pours(0, 46.0, 25.0);
                hand.is_done(0);
                hand.station.meant = meant;
                hand.station.ask(HandRequest::Again);
                for stop in 1..=since {
                    hand.refills_to(0.0);
                    hand.pours(stop, [46.0, 46.3, 45.8][stop], 10.0);
                    hand.station.truths[stop].done = true;
                }
                hand.station.answer_all();
                for stop in (since + 1)..4 {
                    hand.refills_to(0.0);
                    hand.pours(stop, [46.0, 46.3, 45.8, 46.1][stop], 10.0);
                    hand.is_done(stop);
                }
            });
            assert_right(&played);
            assert!(!played.story.contains("revised"), "{}", played.told());
        }
    }
}

/// The answer comes while the next chamber runs, from a new filling or from the same one. What runs
/// is kept whole, and asked about: it may be the first chamber once more.
#[test]
fn an_answer_to_again_in_the_midst_of_the_next_chamber_loses_nothing_of_it() {
    for refilled in [true, false] {
        let plan = evening(&[46.0, 46.3, 45.8]);
        let (played, _) = written(&plan, |hand| {
            hand.pours(0, 46.0, 30.0);
            hand.is_done(0);
            hand.station.meant = Some(0);
            hand.station.ask(HandRequest::Again);
            if refilled {
                hand.refills_to(0.0);
            }
            hand.pours(1, 20.0, 0.0);
            hand.station.answer_all();
            hand.pours(1, 26.3, 10.0);
            hand.station.truths[1].done = true;
            assert!(matches!(hand.station.tool.shown(0), ShownStop::Left));
            hand.station.answer_all();
            hand.refills_to(0.0);
        });
        assert_right(&played);
        assert!(
            played.stops[1].asked || played.stops[0].asked,
            "{}",
            played.told()
        );
        assert!(!played.story.contains("revised"), "{}", played.told());
    }
}

/// A value that was said stands when more of the next chamber comes, whatever was asked before.
#[test]
fn more_of_the_next_chamber_after_a_late_answer_voids_no_earlier_value() {
    let plan = evening(&[46.0, 46.3, 45.8]);
    let (played, _) = written(&plan, |hand| {
        hand.pours(0, 46.0, 25.0);
        hand.is_done(0);
        hand.station.ask(HandRequest::Again);
        hand.refills_to(0.0);
        hand.pours(1, 46.3, 10.0);
        hand.station.truths[1].done = true;
        hand.station.answer_all();
        hand.refills_to(0.0);
        hand.pours(2, 20.0, 10.0);
        let second = hand.station.tool.shown(1);
        assert!(matches!(second, ShownStop::Has(cc) if (cc - 46.3).abs() < 0.05));
        hand.pours(2, 25.8, 10.0);
        hand.is_done(2);
    });
    assert_right(&played);
}

/// Right under the value nothing else can be meant than that value.
#[test]
fn again_right_under_the_value_asks_nothing() {
    let plan = evening(&[46.0, 46.3]);
    let (played, asked) = written(&plan, |hand| {
        hand.pours(0, 44.0, 8.0);
        hand.station.meant = Some(0);
        hand.station.ask(HandRequest::Again);
        hand.station.empty(0);
        hand.station.truths[0].again = false;
        hand.fills(0, 46.0);
        hand.fills(1, 46.3);
    });
    assert_eq!(asked, 0, "{}", played.told());
    assert_right(&played);
}

/// `undo` takes an `again` back that was not answered yet.
#[test]
fn again_that_was_not_answered_can_be_taken_back() {
    let (played, asked) = written(&evening(&[46.0, 46.3]), |hand| {
        hand.pours(0, 46.0, 30.0);
        hand.is_done(0);
        hand.station.ask(HandRequest::Again);
        assert!(hand.station.ask(HandRequest::Undo));
        assert!(hand.station.tool.questions().is_empty());
        hand.fills(1, 46.3);
    });
    assert_eq!(asked, 1, "{}", played.told());
    assert_right(&played);
}
