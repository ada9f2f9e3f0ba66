//! Evenings that are named for what happens in them.

use super::daemon::PlayedDaemon;
use crate::synth::evening::{
    BuretteMake, EveningHand, EveningKind, EveningPlan, HandRequest, PlayedEvening, PlayedTool,
    ShownStop, StopPlan, StopVerdict,
};

/// An evening over chambers of these sizes, in one round, from a burette of 100 cc that stands at
/// its full mark and is known to count up; the nominal chamber is 46 cc.
pub(super) fn evening(chambers: &[f64]) -> EveningPlan {
    EveningPlan {
        make: BuretteMake {
            capacity: 100.0,
            counts_down: false,
            sigma: 0.01,
        },
        direction_known: true,
        nominal: Some(46.0),
        start: 0.0,
        chambers: chambers.len(),
        rounds: 1,
        stops: chambers.iter().map(|&cc| StopPlan::plain(cc)).collect(),
        ..EveningPlan::draw(1, EveningKind::Sound)
    }
}

/// What a hand does in an evening that is written down rather than drawn.
pub(super) trait Script {
    /// The hand pours so much into the chamber of a stop, and the burette rests so many seconds.
    fn pours(&mut self, stop: usize, cc: f64, rests_s: f64);
    /// The hand is done with a stop and looks at the question, if there is one.
    fn is_done(&mut self, stop: usize);
    /// The burette is filled to a level and rests.
    fn refills_to(&mut self, level: f64);
    /// A whole chamber from a full burette.
    fn fills(&mut self, stop: usize, cc: f64);
}

impl Script for EveningHand<'_> {
    fn pours(&mut self, stop: usize, cc: f64, rests_s: f64) {
        self.station.aim(Some(stop));
        self.station
            .tell(&format!("hand: {cc:.2} into stop {}", stop + 1));
        let level = self.station.burette.level();
        self.station.run_to(level + cc, 3.0, 0.2);
        self.station.wait(rests_s);
    }

    fn is_done(&mut self, stop: usize) {
        self.station.truths[stop].done = true;
        self.station.answer_all();
    }

    fn refills_to(&mut self, level: f64) {
        self.fill_to(level, 12.0, "as written");
        self.station.wait(5.0);
    }

    fn fills(&mut self, stop: usize, cc: f64) {
        if self.station.burette.level() > 1.0 {
            self.refills_to(0.0);
        }
        self.pours(stop, cc, 8.0);
        self.is_done(stop);
    }
}

/// Plays what is written, then whatever the tool still wants, to the end.
pub(super) fn written(
    plan: &EveningPlan,
    script: impl FnOnce(&mut EveningHand<'_>),
) -> (PlayedEvening, usize) {
    let mut daemon = PlayedDaemon::new(plan);
    let mut hand = EveningHand::new(plan, &mut daemon);
    hand.station.wait(5.0);
    script(&mut hand);
    hand.leftovers();
    let asked = hand.station.questions_asked();
    (hand.played(), asked)
}

#[track_caller]
pub(super) fn assert_right(played: &PlayedEvening) {
    let right = |s: &crate::synth::evening::JudgedStop| s.verdict() == StopVerdict::Right;
    assert!(played.stops.iter().all(right), "{}", played.told());
}

#[track_caller]
pub(super) fn assert_never_wrong_in_silence(played: &PlayedEvening) {
    assert!(!played.failed(), "{}", played.told());
}

#[test]
fn a_refill_before_the_first_pour_is_no_pour() {
    let mut plan = evening(&[46.0, 46.3]);
    (plan.direction_known, plan.start) = (false, 60.0);
    let (played, _) = written(&plan, |hand| {
        hand.refills_to(0.0);
        hand.pours(0, 46.0, 8.0);
        hand.is_done(0);
        hand.pours(1, 46.3, 8.0);
        hand.is_done(1);
    });
    assert_never_wrong_in_silence(&played);
}

#[test]
fn hold_and_resume_in_the_midst_of_a_pour_do_not_cut_it_in_two() {
    let mut plan = evening(&[46.0, 46.3]);
    plan.direction_known = false;
    let (played, _) = written(&plan, |hand| {
        hand.pours(0, 20.0, 6.0);
        hand.station.ask(HandRequest::Hold);
        hand.station.wait(10.0);
        hand.station.ask(HandRequest::Resume);
        hand.station.wait(2.0);
        hand.pours(0, 26.0, 8.0);
        hand.is_done(0);
        hand.fills(1, 46.3);
    });
    assert_never_wrong_in_silence(&played);
}

#[test]
fn a_scale_that_counts_down_is_refilled_before_its_direction_is_known() {
    let mut plan = evening(&[46.0, 46.3]);
    plan.make.counts_down = true;
    (plan.direction_known, plan.start) = (false, 60.0);
    let (played, _) = written(&plan, |hand| {
        hand.fills(0, 46.0);
        hand.fills(1, 46.3);
    });
    assert_never_wrong_in_silence(&played);
}

#[test]
fn two_chambers_from_one_filling_are_two() {
    let (played, _) = written(&evening(&[46.0, 46.3]), |hand| {
        hand.pours(0, 46.0, 29.0);
        hand.is_done(0);
        hand.pours(1, 46.3, 8.0);
        hand.is_done(1);
    });
    assert_right(&played);
}

/// The chamber holds 52 cc, and the hand pauses where the nominal volume would be.
#[test]
fn a_pause_at_the_expected_value_is_not_the_end() {
    let (played, _) = written(&evening(&[52.0, 52.3, 51.8]), |hand| {
        hand.pours(0, 46.0, 25.0);
        hand.pours(0, 6.0, 8.0);
        hand.is_done(0);
        hand.fills(1, 52.3);
        hand.fills(2, 51.8);
    });
    assert_never_wrong_in_silence(&played);
}

/// The first value is far out of line, and nobody looks before three chambers are poured.
#[test]
fn nobody_answers_over_three_chambers_and_nothing_is_lost() {
    let sizes = [60.0, 46.2, 45.9];
    let (played, asked) = written(&evening(&sizes), |hand| {
        for (stop, cc) in sizes.into_iter().enumerate() {
            if stop > 0 {
                hand.refills_to(0.0);
            }
            hand.pours(stop, cc, 10.0);
            hand.station.truths[stop].done = true;
        }
        hand.station.wait(60.0);
    });
    assert!(asked > 0, "{}", played.told());
    assert_right(&played);
}

#[test]
fn a_nominal_that_is_wrong_for_all_is_asked_about_once() {
    let sizes = [64.0, 64.4, 63.7, 64.1];
    let (played, asked) = written(&evening(&sizes), |hand| {
        for (stop, cc) in sizes.into_iter().enumerate() {
            hand.fills(stop, cc);
        }
    });
    assert_eq!(asked, 1, "{}", played.told());
    assert_right(&played);
}

#[test]
fn a_chamber_that_truly_is_larger_is_kept_after_one_question() {
    let sizes = [46.0, 46.2, 55.4, 45.9, 46.1];
    let (played, asked) = written(&evening(&sizes), |hand| {
        for (stop, cc) in sizes.into_iter().enumerate() {
            hand.fills(stop, cc);
        }
    });
    assert_eq!(asked, 1, "{}", played.told());
    assert!(played.stops[2].asked, "{}", played.told());
    assert_right(&played);
}

/// The first two chambers were filled with a bubble of the same size and agree; the other chambers
/// put both in doubt.
#[test]
fn the_first_two_share_a_bubble_and_are_asked_about_later() {
    let mut plan = evening(&[46.0, 46.2, 45.9, 46.1]);
    plan.nominal = None;
    let (played, _) = written(&plan, |hand| {
        for stop in 0..4 {
            let bubble = if stop < 2 { 7.0 } else { 0.0 };
            if stop > 0 {
                hand.refills_to(0.0);
            }
            let cc = plan.stops[stop].cc;
            hand.pours(stop, cc - bubble, 8.0);
            hand.station.truths[stop].cc = cc;
            hand.is_done(stop);
        }
    });
    assert!(
        played.stops[0].asked && played.stops[1].asked,
        "{}",
        played.told()
    );
    assert_never_wrong_in_silence(&played);
}

#[test]
fn a_chamber_larger_than_the_burette_is_summed_over_its_fillings() {
    let sizes = [64.0, 64.4, 63.7];
    for counts_down in [false, true] {
        let mut plan = evening(&sizes);
        plan.nominal = Some(64.0);
        (plan.make.capacity, plan.make.counts_down) = (50.0, counts_down);
        // Run to the burette's end, and stopped well before it.
        for first in [49.5, 40.0] {
            let (played, asked) = written(&plan, |hand| {
                for (stop, cc) in sizes.into_iter().enumerate() {
                    if stop > 0 {
                        hand.refills_to(0.0);
                    }
                    hand.pours(stop, first, 5.0);
                    hand.refills_to(0.0);
                    hand.pours(stop, cc - first, 8.0);
                    hand.is_done(stop);
                }
            });
            assert_right(&played);
            assert_eq!(asked, 0, "{}", played.told());
        }
    }
}

/// The first chamber of the second round disagrees with the first round.
#[test]
fn a_repeat_that_disagrees_replaces_nothing() {
    let mut plan = evening(&[46.0, 46.3, 47.9, 46.3]);
    (plan.chambers, plan.rounds) = (2, 2);
    let mut third = None;
    let (played, _) = written(&plan, |hand| {
        for stop in 0..4 {
            hand.fills(stop, plan.stops[stop].cc);
        }
        hand.station.wait(60.0);
        third = hand.station.tool.next();
    });
    assert_eq!(third, Some(4), "no third round of it: {}", played.told());
    assert_right(&played);
}

/// The bubble is seen when the next chamber is already being poured.
#[test]
fn again_after_moving_on_asks_which_is_meant() {
    let (played, asked) = written(&evening(&[46.0, 46.3]), |hand| {
        hand.fills(0, 44.0);
        hand.station.wait(20.0);
        hand.station.meant = Some(0);
        hand.station.ask(HandRequest::Again);
        hand.station.answer_all();
        hand.station.empty(0);
        hand.station.truths[0].again = false;
        hand.fills(0, 46.0);
        hand.fills(1, 46.3);
    });
    assert_eq!(asked, 1, "{}", played.told());
    assert_right(&played);
}

#[test]
fn again_after_the_next_pour_began_leaves_the_reading_before_it_alone() {
    let plan = evening(&[46.0, 46.3]);
    let mut daemon = PlayedDaemon::new(&plan);
    let mut hand = EveningHand::new(&plan, &mut daemon);
    hand.station.wait(5.0);
    hand.fills(0, 46.0);
    hand.refills_to(0.0);
    hand.pours(1, 20.0, 3.0);
    hand.station.ask(HandRequest::Again);
    let (first, next) = (hand.station.tool.shown(0), hand.station.tool.next());
    hand.station.empty(1);
    hand.fills(1, 46.3);
    hand.leftovers();
    let played = hand.played();
    assert!(matches!(first, ShownStop::Has(_)), "{}", played.told());
    assert_eq!(next, Some(1), "{}", played.told());
    assert_right(&played);
    assert_eq!(daemon.next(), None);
}
