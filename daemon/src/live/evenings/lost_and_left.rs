//! Named evenings: pours that were lost, left for another stop, added, or cut short by a refill.

use super::named::{Script, assert_never_wrong_in_silence, assert_right, evening, written};
use crate::synth::evening::{HandRequest, StopVerdict};

/// A hand that goes to another chamber ends the chamber before: the last of a filling, let out
/// before the refill, belongs to the chamber that the hand went to.
#[test]
fn what_comes_after_going_to_another_chamber_belongs_to_it() {
    let mut plan = evening(&[46.0, 46.3, 45.8]);
    plan.make.capacity = 70.0;
    let (played, asked) = written(&plan, |hand| {
        hand.pours(0, 46.0, 8.0);
        hand.is_done(0);
        hand.station.ask(HandRequest::Go(2));
        hand.pours(2, 20.0, 4.0);
        hand.refills_to(0.0);
        hand.pours(2, 25.8, 8.0);
        hand.is_done(2);
        hand.fills(1, 46.3);
    });
    assert_right(&played);
    assert_eq!(asked, 0, "{}", played.told());
}

/// Chamber 2 was poured at chamber 1's stop and moved; then the route was sent back to chamber 1
/// before the question came up.
#[test]
fn a_question_about_an_earlier_chamber_returns_to_where_the_route_stood() {
    let mut plan = evening(&[89.5, 90.4, 89.4]);
    (plan.nominal, plan.start) = (Some(90.0), 5.0);
    let (played, _) = written(&plan, |hand| {
        hand.pours(1, 90.4, 10.0);
        hand.station.truths[1].done = true;
        hand.station.ask(HandRequest::Move { from: 0, to: 1 });
        hand.station.wait(10.0);
        hand.station.ask(HandRequest::Go(0));
        hand.refills_to(0.0);
        hand.pours(0, 89.5, 25.0);
        hand.is_done(0);
        hand.fills(2, 89.4);
    });
    assert_right(&played);
}

/// A pour was lost; after `again` it is poured once more, from where the burette stands.
#[test]
fn again_about_a_lost_pour_begins_where_the_burette_rests() {
    let mut plan = evening(&[40.0, 40.3]);
    (plan.nominal, plan.start) = (Some(40.0), 2.0);
    let (played, _) = written(&plan, |hand| {
        hand.station.aim(Some(0));
        hand.station.run_to(10.0, 3.0, 0.2);
        hand.station.lose(false, 4.0);
        hand.station.run_to(30.0, 3.0, 0.2);
        hand.station.wait(12.0);
        hand.station.empty(0);
        hand.is_done(0);
        hand.station.empty(0);
        hand.station.truths[0].again = false;
        // The burette still held enough: no refill, and no long rest.
        hand.pours(0, 40.0, 8.0);
        hand.is_done(0);
        hand.fills(1, 40.3);
    });
    assert_right(&played);
}

/// A delivery that was asked to be added is no beginning of the next chamber, though a refill
/// follows.
#[test]
fn what_was_added_before_a_refill_belongs_to_the_chamber_before() {
    let mut plan = evening(&[48.3, 48.1]);
    (plan.nominal, plan.make.capacity) = (Some(48.0), 50.0);
    let (played, asked) = written(&plan, |hand| {
        hand.pours(0, 46.0, 1.0);
        hand.by_drops(0, 0.9);
        hand.station.wait(6.0);
        hand.station.ask(HandRequest::Add);
        hand.pours(0, 1.0, 1.0);
        hand.by_drops(0, 0.4);
        hand.station.wait(20.0);
        hand.is_done(0);
        hand.fills(1, 48.1);
    });
    assert_right(&played);
    assert_eq!(asked, 0, "{}", played.told());
}

/// The daemon is killed amid a chamber that is larger than the burette: the first refill that it
/// sees is no proof of a new chamber.
#[test]
fn a_refill_of_an_empty_burette_after_a_restart_proves_no_new_chamber() {
    let mut plan = evening(&[82.3, 81.8]);
    (plan.nominal, plan.make.capacity) = (Some(92.0), 50.0);
    let (played, _) = written(&plan, |hand| {
        hand.pours(0, 20.0, 0.0);
        hand.station.lose(true, 6.0);
        let level = hand.station.burette.level();
        hand.pours(0, 49.0 - level, 3.0);
        hand.refills_to(0.0);
        hand.pours(0, 33.3, 10.0);
        hand.is_done(0);
        hand.leftovers();
    });
    assert!(played.stops[0].asked, "{}", played.told());
    assert_never_wrong_in_silence(&played);
}

/// Glass drains for some seconds after a stream, and a refill comes before that. Only drops are to
/// come, so a person is asked about the chamber.
#[test]
fn a_refill_that_cuts_drainage_short_is_asked_about() {
    let mut plan = evening(&[51.6, 51.3]);
    (plan.nominal, plan.make.capacity, plan.make.sigma) = (Some(51.0), 50.0, 0.02);
    for (rest_s, asks) in [(2.0, true), (12.0, false)] {
        let (played, _) = written(&plan, |hand| {
            hand.pours(0, 49.7, 0.0);
            hand.station.burette.drain(0.06, 12.0);
            hand.station.wait(rest_s);
            hand.refills_to(0.0);
            hand.station.aim(Some(0));
            hand.by_drops(0, 1.9);
            hand.station.wait(12.0);
            hand.is_done(0);
            hand.leftovers();
        });
        assert_eq!(played.stops[0].asked, asks, "{rest_s} s: {}", played.told());
        assert_never_wrong_in_silence(&played);
    }
}

/// Two chambers of one filling. The hand gives `hold` amid the second, and liquid runs meanwhile:
/// the second is lost, and the first stands. With no nominal chamber a person is asked.
#[test]
fn liquid_that_runs_while_held_amid_the_second_of_a_filling_accuses_the_second() {
    for (nominal, rests_s) in [
        (Some(30.0), 1.0),
        (Some(30.0), 0.0),
        (None, 1.0),
        (None, 0.0),
    ] {
        let mut plan = evening(&[30.0, 30.3, 29.8]);
        plan.nominal = nominal;
        let (played, _) = written(&plan, |hand| {
            hand.pours(0, 30.0, 12.0);
            hand.is_done(0);
            hand.pours(1, 12.0, rests_s);
            hand.station.ask(HandRequest::Hold);
            hand.pours(1, 13.3, rests_s);
            hand.station.ask(HandRequest::Resume);
            hand.pours(1, 5.0, 12.0);
            hand.is_done(1);
            hand.fills(2, 29.8);
        });
        let [first, second, _] = &played.stops[..] else {
            panic!("three stops");
        };
        assert_eq!(first.verdict(), StopVerdict::Right, "{}", played.told());
        assert_eq!(first.asked, nominal.is_none(), "{}", played.told());
        assert!(second.asked, "{}", played.told());
        assert_never_wrong_in_silence(&played);
    }
}

/// The nominal volume belongs to another engine and is twice as large: two chambers of one filling
/// fit it.
#[test]
fn two_chambers_that_fit_a_nominal_twice_as_large_are_asked_about() {
    for gap_s in [8.0, 20.0, 60.0] {
        let mut plan = evening(&[32.0, 32.2, 31.8, 32.1]);
        plan.nominal = Some(64.0);
        let (played, asked) = written(&plan, |hand| {
            for stop in 0..4 {
                if stop == 2 {
                    hand.refills_to(0.0);
                }
                let cc = [32.0, 32.2, 31.8, 32.1][stop];
                hand.pours(stop, cc - 1.0, 2.0);
                hand.by_drops(stop, 1.0);
                hand.station.wait(gap_s);
                hand.is_done(stop);
            }
        });
        assert_never_wrong_in_silence(&played);
        assert_right(&played);
        // Two questions at most: whether it is one pour or two, and whether the nominal volume is
        // wrong.
        assert!(asked <= 2, "{gap_s} s: {}", played.told());
    }
}

/// The burette is filled beyond the mark and let down to beside it: what was let out went into no
/// chamber.
#[test]
fn what_is_let_out_down_to_beside_the_mark_is_no_part_of_a_chamber() {
    let plan = evening(&[46.0, 46.3]);
    let (played, asked) = written(&plan, |hand| {
        for (stop, cc) in [(0, 46.0), (1, 46.3)] {
            hand.refills_to(-1.6);
            hand.station.aim(None);
            hand.station.run_to(0.28, 1.0, 0.1);
            hand.station.wait(4.0);
            hand.pours(stop, cc, 10.0);
            hand.is_done(stop);
        }
    });
    assert_right(&played);
    assert_eq!(asked, 0, "{}", played.told());
}
