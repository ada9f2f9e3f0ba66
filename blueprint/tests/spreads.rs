//! Verdicts on spreads, by simulation with fixed seeds.

use benchhand_blueprint::decide::{VerdictAnswer, spread_verdict};
use benchhand_blueprint::figure::Estimate;

#[test]
fn a_spread_is_judged_by_what_equal_parts_would_show() {
    let parts = |values: &[f64], u: f64| -> Vec<Estimate> {
        let part = |(at, value): (usize, &f64)| {
            Estimate::input(format!("part {at}"), *value, Some(u), f64::INFINITY)
        };
        values.iter().enumerate().map(part).collect()
    };
    let close = [64.0, 64.1, 63.95, 64.05, 64.0, 63.9, 64.05, 64.0];
    let apart = [64.0, 64.1, 63.95, 64.05, 65.2, 63.9, 64.05, 64.0];
    let answer = |values: &[f64], u, tolerance| {
        let found = spread_verdict(&parts(values, u), tolerance, 4000, 1).expect("a verdict");
        (found.answer, found)
    };
    assert_eq!(answer(&close, 0.02, 0.5).0, VerdictAnswer::Within);
    assert_eq!(answer(&apart, 0.02, 0.5).0, VerdictAnswer::Outside);
    let noisy = [64.0, 64.3, 63.8, 64.1, 63.9, 63.7, 64.2, 64.0];
    let (undecided, found) = answer(&noisy, 0.2, 0.5);
    assert_eq!(undecided, VerdictAnswer::CannotTell);
    // docs/formulas.md: eight equal values with σ 0.1 show 0.28 on average.
    assert!((found.of_equals.expect("known") / 0.2 - 2.847).abs() < 0.05);
    let unknown: Vec<Estimate> = (0..3)
        .map(|at| Estimate::input(format!("p{at}"), 1.0, None, f64::INFINITY))
        .collect();
    let found = spread_verdict(&unknown, 0.5, 100, 1).expect("a verdict");
    assert_eq!(
        (found.answer, found.of_equals),
        (VerdictAnswer::CannotTell, None)
    );
}

/// Eight parts with a true spread exactly at the tolerance: neither answer may be proven more often
/// than the level allows. 400 jobs; 2.5 % are 10, its standard deviation is 3.
#[test]
fn a_spread_at_its_tolerance_is_hardly_ever_proven_within_or_outside() {
    use rand::SeedableRng;
    use rand_distr::Distribution;
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(20_260_302);
    let normal = rand_distr::Normal::new(0.0, 0.1).expect("a distribution");
    let one_off = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -0.25, 0.25];
    let camps = [-0.25, -0.25, -0.25, -0.25, 0.25, 0.25, 0.25, 0.25];
    for truth in [one_off, camps] {
        let (mut within, mut outside) = (0, 0);
        for _ in 0..400 {
            let seen: Vec<Estimate> = truth
                .iter()
                .enumerate()
                .map(|(at, part)| {
                    let value = part + normal.sample(&mut rng);
                    Estimate::input(format!("part {at}"), value, Some(0.1), f64::INFINITY)
                })
                .collect();
            match spread_verdict(&seen, 0.5, 800, 7)
                .expect("a verdict")
                .answer
            {
                VerdictAnswer::Within => within += 1,
                VerdictAnswer::Outside => outside += 1,
                VerdictAnswer::CannotTell => {}
            }
        }
        assert!(
            within <= 20 && outside <= 20,
            "within {within}, outside {outside} of 400"
        );
    }
}

/// One pair of repeats that disagrees has one degree of freedom, and could be anywhere.
fn with_one_poor(truth: &[f64], noise: &mut impl FnMut() -> f64, poor: usize) -> Vec<Estimate> {
    let part = |(at, part): (usize, &f64)| {
        let (u, dof) = if at == poor {
            (0.16, 1.0)
        } else {
            (0.07, f64::INFINITY)
        };
        Estimate::input(format!("part {at}"), part + u * noise(), Some(u), dof)
    };
    truth.iter().enumerate().map(part).collect()
}

#[test]
fn a_part_that_is_hardly_known_does_not_hide_that_two_others_are_too_far_apart() {
    let chambers = [117.6, 118.2, 117.9, 118.0, 118.4, 119.3, 117.8, 118.0];
    let seen = with_one_poor(&chambers, &mut || 0.0, 2);
    let found = spread_verdict(&seen, 0.8, 4000, 1).expect("a verdict");
    assert_eq!(found.answer, VerdictAnswer::Outside, "{found:?}");
    // Where the part that is hardly known is itself the end, nothing is proven.
    let seen = with_one_poor(
        &[64.0, 64.1, 65.0, 64.0, 64.05, 64.1, 64.0, 64.05],
        &mut || 0.0,
        2,
    );
    let found = spread_verdict(&seen, 0.8, 4000, 1).expect("a verdict");
    assert_eq!(found.answer, VerdictAnswer::CannotTell, "{found:?}");
}

/// Eight parts, one of them hardly known, whose true spread is at the tolerance: as above.
#[test]
fn a_spread_at_its_tolerance_is_hardly_ever_proven_outside_beside_a_poor_part() {
    use rand::SeedableRng;
    use rand_distr::Distribution;
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(20_261_130);
    let normal = rand_distr::Normal::new(0.0, 1.0).expect("a distribution");
    let mut noise = || normal.sample(&mut rng);
    let camps = [-0.25, -0.25, -0.25, -0.25, 0.25, 0.25, 0.25, 0.25];
    let outside = (0..400).filter(|_| {
        let seen = with_one_poor(&camps, &mut noise, 2);
        let found = spread_verdict(&seen, 0.5, 800, 7).expect("a verdict");
        found.answer == VerdictAnswer::Outside
    });
    let outside = outside.count();
    assert!(outside <= 20, "outside {outside} of 400");
}
