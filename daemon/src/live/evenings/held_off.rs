//! Named evenings: a person forgets to go on after `hold`, or stops the work by Ctrl-C.

use super::named::{Script, assert_right, evening, written};
use crate::synth::evening::{HandRequest, ShownStop};

/// `hold` to wipe a chamber, a refill, and the chamber is poured: nobody said `resume`. What was
/// poured is told at once, and asked about when the person goes on.
#[test]
fn what_is_poured_on_hold_is_told_and_asked_about() {
    for (nominal, rests_s, counts_down) in [
        (Some(46.0), 8.0, false),
        (None, 8.0, true),
        (Some(46.0), 60.0, true),
        (None, 60.0, false),
    ] {
        let mut plan = evening(&[46.0, 46.3, 45.8]);
        (plan.nominal, plan.make.counts_down) = (nominal, counts_down);
        let (played, asked) = written(&plan, |hand| {
            hand.pours(0, 46.0, rests_s);
            hand.is_done(0);
            hand.station.ask(HandRequest::Hold);
            hand.station.wait(10.0);
            hand.refills_to(0.0);
            hand.pours(1, 46.3, 10.0);
            hand.station.truths[1].done = true;
            assert!(hand.station.story().contains("poured on hold"));
            hand.station.ask(HandRequest::Resume);
            hand.is_done(1);
            hand.fills(2, 45.8);
        });
        assert_right(&played);
        assert!(played.stops[1].asked, "{}", played.told());
        assert_eq!(asked, 1, "{}", played.told());
    }
}

/// Two chambers are poured on hold, and the person remembers in the midst of the second.
#[test]
fn a_pour_goes_on_that_began_on_hold() {
    let plan = evening(&[46.0, 46.3, 45.8]);
    let (played, _) = written(&plan, |hand| {
        hand.pours(0, 46.0, 8.0);
        hand.is_done(0);
        hand.station.ask(HandRequest::Hold);
        hand.refills_to(0.0);
        hand.pours(1, 46.3, 10.0);
        hand.station.truths[1].done = true;
        hand.refills_to(0.0);
        hand.pours(2, 20.0, 0.0);
        hand.station.ask(HandRequest::Resume);
        hand.pours(2, 25.8, 10.0);
        hand.station.truths[2].done = true;
        hand.station.answer_all();
    });
    assert_right(&played);
    assert!(
        played.stops[1].asked && played.stops[2].asked,
        "{}",
        played.told()
    );
}

/// Nothing is poured on hold: the burette is filled, and nobody is asked.
#[test]
fn a_refill_on_hold_is_asked_about_by_nobody() {
    let (played, asked) = written(&evening(&[46.0, 46.3]), |hand| {
        hand.pours(0, 46.0, 8.0);
        hand.is_done(0);
        hand.station.ask(HandRequest::Hold);
        hand.refills_to(0.0);
        hand.station.ask(HandRequest::Resume);
        hand.pours(1, 46.3, 10.0);
        hand.is_done(1);
    });
    assert_right(&played);
    assert_eq!(asked, 0, "{}", played.told());
}

/// Ctrl-C leaves what the death of the daemon leaves: the chamber goes on, or a person is asked.
#[test]
fn ctrl_c_in_mid_pour_leaves_what_a_dead_daemon_leaves() {
    for (nominal, first, rests_s) in [
        (Some(46.0), 20.0, 6.0),
        (Some(46.0), 20.0, 0.0),
        (None, 20.0, 6.0),
        (None, 20.0, 0.0),
        (Some(46.0), 44.0, 3.0),
    ] {
        let mut plan = evening(&[46.0, 46.3, 45.8]);
        plan.nominal = nominal;
        let mut ends = Vec::new();
        for interrupted in [false, true] {
            let (played, asked) = written(&plan, |hand| {
                hand.pours(0, first, rests_s);
                match interrupted {
                    true => hand.station.interrupt(6.0),
                    false => hand.station.lose(true, 6.0),
                }
                hand.station.wait(10.0);
                hand.pours(0, 46.0 - first, 8.0);
                hand.is_done(0);
                hand.fills(1, 46.3);
                hand.fills(2, 45.8);
            });
            if (nominal, rests_s) == (Some(46.0), 6.0) {
                assert_right(&played);
                assert_eq!(asked, 0, "{}", played.told());
            }
            ends.push((
                played
                    .stops
                    .iter()
                    .map(|stop| stop.verdict())
                    .collect::<Vec<_>>(),
                asked,
            ));
        }
        assert_eq!(ends[0], ends[1], "{nominal:?}, {first}, {rests_s}");
    }
}

/// `take` on hold takes nothing by itself, and the burette is heard again once the person goes on.
#[test]
fn take_on_hold_leaves_no_burette_unheard() {
    let (played, _) = written(&evening(&[46.0, 46.3]), |hand| {
        hand.pours(0, 46.0, 8.0);
        hand.is_done(0);
        hand.station.ask(HandRequest::Hold);
        hand.station.ask(HandRequest::Take);
        hand.station.wait(5.0);
        hand.station.ask(HandRequest::Resume);
        hand.fills(1, 46.3);
        assert!(matches!(hand.station.tool.shown(1), ShownStop::Has(_)));
    });
    assert_right(&played);
}
