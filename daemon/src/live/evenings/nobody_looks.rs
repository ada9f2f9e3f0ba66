//! Named evenings: a question stands, and the work goes on over several chambers.

use super::named::{Script, assert_right, evening, written};

/// Nothing is expected, each chamber nearly empties the burette, and nobody answers whether the
/// first two are one. The later ones wait in their order, each of its own.
#[test]
fn one_or_two_swallows_no_later_chamber() {
    for (counts_down, drops) in [(false, 0.0), (true, 0.0), (false, 0.8)] {
        let sizes = [46.0, 46.4, 45.8, 46.1, 46.2];
        let mut plan = evening(&sizes);
        (plan.nominal, plan.make.capacity) = (None, 50.0);
        plan.make.counts_down = counts_down;
        let (played, asked) = written(&plan, |hand| {
            for (stop, cc) in sizes.into_iter().enumerate() {
                if stop > 0 {
                    hand.refills_to(0.0);
                }
                hand.pours(stop, cc - drops, 0.0);
                hand.by_drops(stop, drops);
                hand.station.wait(10.0);
                hand.station.truths[stop].done = true;
            }
            hand.station.answer_all();
        });
        assert_right(&played);
        assert!(asked > 0, "{}", played.told());
    }
}

/// Nothing is expected. The first chamber had a bubble; the second is the check of the first. Both
/// are named in the end, whatever the person says of the second.
#[test]
fn a_second_chamber_unlike_the_first_puts_both_in_doubt() {
    for capacity in [100.0, 50.0] {
        for drops in [0.0, 0.8] {
            let mut plan = evening(&[67.9, 67.9, 68.0]);
            (plan.nominal, plan.make.capacity) = (None, capacity);
            let (played, _) = written(&plan, |hand| {
                for (stop, cc) in [60.0, 67.9].into_iter().enumerate() {
                    if stop > 0 {
                        hand.refills_to(0.0);
                    }
                    let mut to_go = cc - drops;
                    if capacity < cc {
                        hand.pours(stop, 49.0, 5.0);
                        hand.refills_to(0.0);
                        to_go -= 49.0;
                    }
                    hand.pours(stop, to_go, 0.0);
                    hand.by_drops(stop, drops);
                    hand.station.wait(10.0);
                    hand.station.truths[stop].cc = 67.9;
                    hand.is_done(stop);
                }
            });
            assert!(
                played.stops[0].asked && played.stops[1].asked,
                "{}",
                played.told()
            );
        }
    }
}
