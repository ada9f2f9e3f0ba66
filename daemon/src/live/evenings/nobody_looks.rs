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
