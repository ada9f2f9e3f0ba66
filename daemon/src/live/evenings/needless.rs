//! Named evenings: refills that nothing called for, and top-ups.

use super::named::{Script, assert_never_wrong_in_silence, assert_right, evening, written};
use crate::synth::evening::ShownStop;

/// What was poured is spilt, the burette is filled again, and the chamber is poured from there. The
/// burette had held enough, so the sum is no plain chamber.
#[test]
fn what_was_spilt_before_a_needless_refill_is_asked_about() {
    for counts_down in [false, true] {
        let mut plan = evening(&[64.3, 64.1]);
        (plan.nominal, plan.make.counts_down) = (Some(64.0), counts_down);
        let (played, _) = written(&plan, |hand| {
            hand.pours(0, 14.0, 5.0);
            hand.station.empty(0);
            hand.refills_to(0.0);
            hand.pours(0, 64.3, 10.0);
            hand.is_done(0);
            hand.fills(1, 64.1);
        });
        assert!(played.stops[0].asked, "{}", played.told());
        assert!(
            played.story.contains("14.00 cc, a rest, and 64.30 cc more"),
            "{}",
            played.told()
        );
        assert!(
            !played.story.contains("near the burette's end"),
            "{}",
            played.told()
        );
        assert_never_wrong_in_silence(&played);
    }
}

/// The same movements, with everything in the chamber: one question, and `keep` keeps the sum.
#[test]
fn a_needless_refill_of_a_true_pour_is_kept_after_one_question() {
    let mut plan = evening(&[64.3, 64.1]);
    plan.nominal = Some(64.0);
    let (played, asked) = written(&plan, |hand| {
        hand.pours(0, 14.0, 5.0);
        hand.refills_to(0.0);
        hand.pours(0, 50.3, 10.0);
        hand.is_done(0);
        hand.fills(1, 64.1);
    });
    assert_eq!(asked, 1, "{}", played.told());
    assert_right(&played);
}

/// A burette that was truly near its end is refilled for the rest: nobody is asked.
#[test]
fn a_refill_near_the_end_is_said_to_be_one_and_not_asked_about() {
    let mut plan = evening(&[64.3, 64.1]);
    (plan.nominal, plan.make.capacity) = (Some(64.0), 50.0);
    let (played, asked) = written(&plan, |hand| {
        for (stop, cc) in [64.3, 64.1].into_iter().enumerate() {
            if stop > 0 {
                hand.refills_to(0.0);
            }
            hand.pours(stop, 48.5, 5.0);
            hand.refills_to(0.0);
            hand.pours(stop, cc - 48.5, 8.0);
            hand.is_done(stop);
        }
    });
    assert_eq!(asked, 0, "{}", played.told());
    assert!(
        played.story.contains("refilled near the burette's end"),
        "{}",
        played.told()
    );
    assert_right(&played);
}

/// The burette is topped up by less than a plain refill after a chamber, in two goes. No chamber
/// becomes less by that, and the next one is counted from the new level.
#[test]
fn a_burette_that_is_topped_up_lowers_no_chamber() {
    for (counts_down, nominal) in [(false, Some(30.0)), (true, Some(30.0)), (true, None)] {
        let mut plan = evening(&[30.2, 30.4]);
        (plan.nominal, plan.make.counts_down, plan.start) = (nominal, counts_down, 5.0);
        let (played, _) = written(&plan, |hand| {
            hand.pours(0, 30.2, 10.0);
            hand.is_done(0);
            for cc in [0.85, 0.9] {
                let level = hand.station.burette.level();
                hand.refills_to(level - cc);
            }
            hand.pours(1, 30.4, 10.0);
            hand.is_done(1);
        });
        assert_right(&played);
    }
}

/// Somebody leans on the stand while a chamber is held: the level comes back, and nothing changes.
#[test]
fn a_level_that_rises_and_comes_back_changes_nothing() {
    let mut plan = evening(&[30.2, 30.4]);
    plan.nominal = Some(30.0);
    let (played, asked) = written(&plan, |hand| {
        hand.pours(0, 30.2, 6.0);
        hand.station.burette.bump(-0.3, 2.0);
        hand.station.wait(8.0);
        hand.is_done(0);
        hand.fills(1, 30.4);
    });
    assert_right(&played);
    assert_eq!(asked, 0, "{}", played.told());
}

/// The first chamber of a head truly is larger and is kept. The others are far less; a person who
/// rests after each refill is asked about each of them, or is told.
#[test]
fn who_rests_behind_a_refill_is_asked_at_last() {
    let sizes = [60.0, 46.2, 45.9];
    let mut open = Vec::new();
    let (played, _) = written(&evening(&sizes), |hand| {
        hand.fills(0, 60.0);
        for (stop, cc) in sizes.into_iter().enumerate().skip(1) {
            hand.refills_to(0.0);
            hand.pours(stop, cc, 8.0);
            hand.station.truths[stop].done = true;
            hand.refills_to(0.0);
            hand.station.wait(51.0);
            let has = matches!(hand.station.tool.shown(stop), ShownStop::Has(_));
            open.push(has || !hand.station.tool.questions().is_empty());
            hand.is_done(stop);
        }
    });
    assert_eq!(open, [true, true], "{}", played.told());
    assert_right(&played);
}

/// The burette is filled in two pulls, or in three, with rests between: no pour, and no question.
#[test]
fn a_refill_in_several_pulls_is_one_refill() {
    for (nominal, rest_s, counts_down) in [
        (Some(46.0), 1.0, false),
        (Some(46.0), 6.0, true),
        (None, 3.0, false),
        (None, 30.0, true),
    ] {
        let mut plan = evening(&[46.0, 46.3, 45.9]);
        (plan.nominal, plan.make.counts_down) = (nominal, counts_down);
        let (played, asked) = written(&plan, |hand| {
            for (stop, cc) in [46.0, 46.3, 45.9].into_iter().enumerate() {
                for level in [30.0, 8.0, 0.0] {
                    if hand.station.burette.level() > level + 1.0 {
                        hand.fill_to(level, 12.0, "a pull");
                        hand.station.wait(rest_s);
                    }
                }
                hand.pours(stop, cc, 10.0);
                hand.is_done(stop);
            }
        });
        assert_eq!(asked, 0, "{}", played.told());
        assert_right(&played);
    }
}
