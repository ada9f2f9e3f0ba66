//! Named evenings: a person goes back to a chamber whose pour the route still holds.

use super::daemon::PlayedDaemon;
use super::named::{Script, evening};
use crate::synth::evening::{EveningHand, HandRequest, PlayedTool, ShownStop};

/// How a person goes back.
#[derive(Debug, Clone, Copy)]
enum Way {
    Back,
    Go,
}

/// When the burette is refilled.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Refill {
    Before,
    After,
    Never,
}

/// What was kept at each stop, and where the route stands.
fn kept(tool: &dyn PlayedTool, stops: usize) -> (Vec<Option<f64>>, Option<usize>) {
    let shown = |stop| match tool.shown(stop) {
        ShownStop::Has(cc) => Some((cc * 10.0).round() / 10.0),
        _ => None,
    };
    ((0..stops).map(shown).collect(), tool.next())
}

/// A chamber is poured, its value was said some time ago, and the person goes back to it. What is
/// poured then takes the place of its value, and the route goes on to the next.
#[test]
fn what_is_poured_after_going_back_to_a_held_chamber_is_that_chamber() {
    for (way, refill) in [Way::Back, Way::Go]
        .into_iter()
        .flat_map(|way| [Refill::Before, Refill::After, Refill::Never].map(|refill| (way, refill)))
    {
        for rests_s in [2.0, 3.0, 8.0, 30.0, 60.0] {
            for (nominal, drops) in [(Some(36.0), 0.0), (None, 0.0), (Some(36.0), 0.6)] {
                let mut plan = evening(&[36.0, 36.3, 35.8]);
                plan.nominal = nominal;
                let mut daemon = PlayedDaemon::new(&plan);
                let mut hand = EveningHand::new(&plan, &mut daemon);
                hand.station.wait(5.0);
                hand.pours(0, 35.0 - drops, 0.0);
                hand.by_drops(0, drops);
                hand.station.wait(rests_s);
                if refill == Refill::Before {
                    hand.refills_to(0.0);
                }
                hand.station.ask(match way {
                    Way::Back => HandRequest::Back,
                    Way::Go => HandRequest::Go(0),
                });
                hand.station.empty(0);
                hand.station.wait(6.0);
                if refill == Refill::After {
                    hand.refills_to(0.0);
                }
                hand.pours(0, 36.0, 10.0);
                let (first, next) = kept(hand.station.tool, 3);
                hand.refills_to(0.0);
                hand.pours(1, 36.3, 10.0);
                let (second, after) = kept(hand.station.tool, 3);
                let asked = hand.station.questions_asked();
                let story = hand.played().story;
                let case = format!("{way:?}, {refill:?}, {rests_s} s, {nominal:?}\n{story}");
                assert_eq!(first, [Some(36.0), None, None], "{case}");
                assert_eq!(next, Some(1), "{case}");
                assert_eq!(second, [Some(36.0), Some(36.3), None], "{case}");
                assert_eq!((after, asked), (Some(2), 0), "{case}");
            }
        }
    }
}

/// The same with two chambers from one filling, back to the second or to the first.
#[test]
fn what_is_poured_after_going_back_over_two_chambers_of_one_filling_is_the_chamber_gone_to() {
    for to in [0, 1] {
        for (refill, rests_s) in [
            (Refill::Before, 4.0),
            (Refill::After, 4.0),
            (Refill::Before, 20.0),
            (Refill::After, 20.0),
        ] {
            let plan = evening(&[46.0, 46.3, 45.8]);
            let mut daemon = PlayedDaemon::new(&plan);
            let mut hand = EveningHand::new(&plan, &mut daemon);
            hand.station.wait(5.0);
            hand.pours(0, 46.0, 12.0);
            hand.pours(1, 46.3, rests_s);
            if refill == Refill::Before {
                hand.refills_to(0.0);
            }
            hand.station.ask(HandRequest::Go(to));
            hand.station.empty(to);
            hand.station.wait(6.0);
            if refill == Refill::After {
                hand.refills_to(0.0);
            }
            hand.pours(to, 46.6, 10.0);
            let (stand, next) = kept(hand.station.tool, 3);
            let mut expected = [Some(46.0), Some(46.3), None];
            expected[to] = Some(46.6);
            let case = format!("{to}, {refill:?}, {rests_s} s\n{}", hand.played().story);
            assert_eq!((stand, next), (expected.to_vec(), Some(2)), "{case}");
        }
    }
}

/// Liquid runs into the second chamber when the person goes back: nobody knows which of the two it
/// is for, so its value is asked about and replaces nothing by itself.
#[test]
fn what_runs_while_a_person_goes_back_is_asked_about() {
    let plan = evening(&[46.0, 46.3, 45.8]);
    let mut daemon = PlayedDaemon::new(&plan);
    let mut hand = EveningHand::new(&plan, &mut daemon);
    hand.station.wait(5.0);
    hand.fills(0, 46.0);
    hand.refills_to(0.0);
    hand.pours(1, 46.3, 0.0);
    hand.station.ask(HandRequest::Back);
    hand.station.wait(10.0);
    let (stand, _) = kept(hand.station.tool, 3);
    let asked = hand.station.tool.questions().len();
    let story = hand.played().story;
    assert_eq!(stand, [Some(46.0), None, None], "{story}");
    assert_eq!(asked, 1, "{story}");
}

/// A person who goes to the chamber that is being poured changes nothing.
#[test]
fn going_to_the_chamber_where_the_route_stands_leaves_its_pour_alone() {
    let plan = evening(&[46.0, 46.3]);
    let mut daemon = PlayedDaemon::new(&plan);
    let mut hand = EveningHand::new(&plan, &mut daemon);
    hand.station.wait(5.0);
    hand.station.ask(HandRequest::Go(0));
    hand.pours(0, 46.0, 10.0);
    let (stand, next) = kept(hand.station.tool, 2);
    let asked = hand.station.questions_asked();
    let story = hand.played().story;
    assert_eq!((stand, next), (vec![Some(46.0), None], Some(1)), "{story}");
    assert_eq!(asked, 0, "{story}");
}

/// `undo` of going back leaves the reading that became final meanwhile, and the route stands where
/// it stood.
#[test]
fn going_back_can_be_taken_back() {
    let plan = evening(&[46.0, 46.3]);
    let mut daemon = PlayedDaemon::new(&plan);
    let mut hand = EveningHand::new(&plan, &mut daemon);
    hand.station.wait(5.0);
    hand.pours(0, 46.0, 10.0);
    hand.station.ask(HandRequest::Back);
    hand.station.wait(3.0);
    hand.station.ask(HandRequest::Undo);
    hand.fills(1, 46.3);
    let (stand, next) = kept(hand.station.tool, 2);
    let story = hand.played().story;
    assert_eq!(
        (stand, next),
        (vec![Some(46.0), Some(46.3)], None),
        "{story}"
    );
}

/// What went into a chamber that is passed over is no part of the next one.
#[test]
fn what_went_into_a_chamber_that_is_passed_over_stays_there() {
    let plan = evening(&[46.0, 46.3, 45.8]);
    let mut daemon = PlayedDaemon::new(&plan);
    let mut hand = EveningHand::new(&plan, &mut daemon);
    hand.station.wait(5.0);
    hand.pours(0, 20.0, 8.0);
    hand.station.empty(0);
    // The amount is asked about first; the hand drops it and skips once more.
    hand.station.ask(HandRequest::Skip);
    hand.pours(1, 46.3, 10.0);
    let (stand, next) = kept(hand.station.tool, 3);
    let story = hand.played().story;
    assert_eq!(
        (stand, next),
        (vec![None, Some(46.3), None], Some(2)),
        "{story}"
    );
    assert!(!story.contains("chamber 2 20.0"), "{story}");
}
