//! Named evenings: the daemon is killed amid a chamber and started again.

use super::daemon::PlayedDaemon;
use super::named::{Script, assert_right, evening, written};
use crate::synth::evening::{EveningHand, HandRequest, PlayedTool};

/// Nothing runs while the daemon is dead: what had come counts, and nobody is asked.
#[test]
fn what_went_into_a_chamber_holds_over_a_restart() {
    for (counts_down, dead_s) in [(false, 6.0), (true, 6.0), (false, 60.0)] {
        let mut plan = evening(&[46.0, 46.3]);
        (plan.make.counts_down, plan.make.capacity) = (counts_down, 50.0);
        plan.start = if counts_down { 50.0 } else { 0.0 };
        let (played, asked) = written(&plan, |hand| {
            hand.pours(0, 20.0, 6.0);
            hand.station.lose(true, dead_s);
            hand.station.wait(dead_s + 4.0);
            hand.pours(0, 26.0, 8.0);
            hand.is_done(0);
            hand.fills(1, 46.3);
        });
        assert_right(&played);
        assert_eq!(asked, 0, "{}", played.told());
    }
}

/// The daemon is killed twice, and once after a refill amid a chamber larger than the burette.
#[test]
fn fillings_of_a_large_chamber_are_summed_over_restarts() {
    let mut plan = evening(&[64.0, 64.4]);
    (plan.nominal, plan.make.capacity) = (Some(64.0), 50.0);
    let (played, asked) = written(&plan, |hand| {
        hand.pours(0, 30.0, 6.0);
        hand.station.lose(true, 5.0);
        hand.station.wait(10.0);
        hand.pours(0, 15.0, 6.0);
        hand.refills_to(0.0);
        hand.station.lose(true, 5.0);
        hand.station.wait(10.0);
        hand.pours(0, 19.0, 8.0);
        hand.is_done(0);
        hand.refills_to(0.0);
        hand.pours(1, 49.0, 6.0);
        hand.refills_to(0.0);
        hand.pours(1, 15.4, 8.0);
        hand.is_done(1);
    });
    assert_right(&played);
    assert_eq!(asked, 0, "{}", played.told());
}

/// Liquid runs, or the burette is filled, while nobody listens: the whole is asked about, and it is
/// what went in.
#[test]
fn what_ran_while_the_daemon_was_dead_is_asked_about_with_the_whole() {
    for refilled in [false, true] {
        let (played, asked) = written(&evening(&[46.0, 46.3]), |hand| {
            hand.pours(0, 20.0, 6.0);
            hand.station.lose(true, 20.0);
            match refilled {
                true => hand.refills_to(0.0),
                false => hand.pours(0, 10.0, 2.0),
            }
            hand.station.wait(20.0);
            hand.pours(0, if refilled { 26.0 } else { 16.0 }, 8.0);
            hand.is_done(0);
            hand.fills(1, 46.3);
        });
        assert_right(&played);
        assert!(played.stops[0].asked, "{}", played.told());
        assert_eq!(asked, 1, "{}", played.told());
    }
}

/// The hand begins the chamber anew; what had come before does not come back with a restart.
#[test]
fn what_was_taken_back_before_a_restart_is_not_counted_after_it() {
    let (played, _) = written(&evening(&[46.0, 46.3]), |hand| {
        hand.pours(0, 20.0, 6.0);
        hand.station.ask(HandRequest::Again);
        hand.station.empty(0);
        hand.station.lose(true, 5.0);
        hand.station.wait(10.0);
        hand.pours(0, 46.0, 8.0);
        hand.is_done(0);
        hand.fills(1, 46.3);
    });
    assert_right(&played);
}

/// The hand goes back to a chamber to measure it anew: the route stands there after a restart, the
/// old reading is not asked about, and the new one takes its place.
#[test]
fn a_chamber_that_was_gone_back_to_is_measured_anew_after_a_restart() {
    for rests_s in [1.0, 60.0] {
        let plan = evening(&[46.0, 46.3]);
        let mut daemon = PlayedDaemon::new(&plan);
        let mut hand = EveningHand::new(&plan, &mut daemon);
        hand.station.wait(5.0);
        hand.fills(0, 44.0);
        hand.station.wait(rests_s);
        hand.station.ask(HandRequest::Go(0));
        hand.station.empty(0);
        hand.station.truths[0].again = false;
        hand.station.lose(true, 5.0);
        hand.station.wait(10.0);
        let (asked, next) = (hand.station.questions_asked(), hand.station.tool.next());
        hand.fills(0, 46.0);
        hand.fills(1, 46.3);
        hand.leftovers();
        let played = hand.played();
        assert_eq!((asked, next), (0, Some(0)), "{}", played.told());
        assert_right(&played);
        assert_eq!(daemon.next(), None);
    }
}
