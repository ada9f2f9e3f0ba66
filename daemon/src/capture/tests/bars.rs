//! What capture must show, on a few hundred signals each; the benchmark runs thousands.

use crate::capture::CaptureMode;
use crate::synth::measure::{
    ArrivalTimes, flows, pours, settles, sweeps, taken_while_idle, thrusts,
};
use crate::synth::{
    Dice, FlowRules, HandEvenness, IdleRules, Manner, PourRules, ReadBy, SweepRules, pour_route,
};

const BOTH: [ArrivalTimes; 2] = [ArrivalTimes::Even, ArrivalTimes::Shaken];
const SEED: u64 = 90_001;

#[test]
fn pours_are_right_in_time_and_at_their_own_spot() {
    let rules = PourRules {
        pours: 4,
        refills: 0.2,
        ..Default::default()
    };
    for line in BOTH {
        let (f, plain) = pours(400, SEED, &rules, line);
        assert_eq!(
            f.missed, 0,
            "attached to the wrong spot, seeds {:?}",
            f.look_at
        );
        assert_eq!(f.beyond(0.05), 0, "seeds {:?}", f.look_at);
        assert!(f.beyond(0.03) <= 1, "seeds {:?}", f.look_at);
        assert!(f.bias().abs() < 0.003, "{}", f.bias());
        assert!(f.share_in_time() >= 0.95, "{}", f.share_in_time());
        // The measure is not blind: a plain threshold fails it.
        assert!(plain.missed + plain.beyond(0.05) > 200);
    }
}

#[test]
fn drainage_that_begins_with_the_last_drop_is_followed() {
    let late = PourRules {
        pours: 4,
        drains_late: 1.0,
        ..Default::default()
    };
    let (f, _) = pours(400, SEED, &late, ArrivalTimes::Even);
    assert_eq!((f.missed, f.beyond(0.05)), (0, 0), "seeds {:?}", f.look_at);
    assert!(f.within(0.03) >= 0.985, "seeds {:?}", f.look_at);
    assert!(f.bias().abs() < 0.003, "{}", f.bias());
}

#[test]
fn sweeps_are_within_a_count_or_refused_with_a_reason() {
    let fast = SweepRules {
        speed: (20.0, 60.0),
        ..Default::default()
    };
    for line in BOTH {
        let (f, _) = sweeps(400, SEED, &SweepRules::default(), line);
        assert_eq!((f.missed, f.beyond(1.0)), (0, 0), "seeds {:?}", f.look_at);
        assert!(
            f.refused <= if line == ArrivalTimes::Even { 4 } else { 20 },
            "{}",
            f.refused
        );
        let (f, _) = sweeps(200, SEED, &fast, line);
        assert_eq!((f.missed, f.beyond(1.0)), (0, 0), "seeds {:?}", f.look_at);
        assert!(f.refused > 150, "{}", f.refused);
    }
}

#[test]
fn an_uneven_hand_is_seldom_refused_and_never_wrong() {
    let pulls = SweepRules {
        hand: HandEvenness::InPulls,
        ..SweepRules::uneven()
    };
    for rules in [SweepRules::uneven(), pulls] {
        let (f, _) = sweeps(1_000, SEED, &rules, ArrivalTimes::Even);
        assert_eq!((f.missed, f.beyond(1.0)), (0, 0), "seeds {:?}", f.look_at);
        assert!(f.refused <= 20, "{:?}: {}", rules.hand, f.refused);
    }
}

#[test]
fn thrust_sides_are_within_one_count_and_rock_within_two() {
    for line in BOTH {
        let (means, rocks) = thrusts(300, SEED, line);
        assert_eq!(
            (means.beyond(1.0), rocks.beyond(2.0)),
            (0, 0),
            "seeds {:?}",
            means.look_at
        );
        assert!(means.missed <= 3, "seeds {:?}", means.look_at);
    }
}

#[test]
fn settles_are_within_two_counts_and_never_early() {
    for line in BOTH {
        let (f, plain) = settles(600, SEED, Manner::Any, line);
        assert_eq!((f.missed, f.early), (0, 0), "seeds {:?}", f.look_at);
        assert!(f.within(2.0) >= 0.99, "seeds {:?}", f.look_at);
        assert!(plain.within(2.0) < 0.6);
    }
    let (still, _) = settles(600, SEED, Manner::AtOnce, ArrivalTimes::Even);
    assert!(still.share_in_time() >= 0.95, "{}", still.share_in_time());
    assert!(still.within(2.0) >= 0.995, "seeds {:?}", still.look_at);
}

#[test]
fn nothing_is_taken_in_eight_idle_hours() {
    for (seed, line) in [(SEED, ArrivalTimes::Even), (SEED + 1, ArrivalTimes::Shaken)] {
        for mode in [CaptureMode::Settle, CaptureMode::Extreme] {
            let taken = taken_while_idle(mode, seed, &IdleRules::default(), line);
            assert_eq!(taken, 0, "{mode:?}, seed {seed}");
        }
    }
}

#[test]
fn the_error_given_with_a_mean_is_honest() {
    let f = flows(
        300,
        SEED,
        &FlowRules {
            drift: (0.0, 0.0),
            ..Default::default()
        },
    );
    let all = f.figures.errors.len() as f64;
    assert_eq!(f.figures.missed, 0);
    let (ours, plain) = (f.covered as f64 / all, f.covered_plain as f64 / all);
    assert!(ours > 0.88, "{ours}");
    assert!(plain < 0.5, "{plain}");
}

#[test]
fn a_burette_on_a_balance_is_as_good_as_one_with_a_scale_of_its_own() {
    let plain = PourRules::by_mass(ReadBy::BalanceUnderBurette);
    let (f, _) = pours(400, SEED, &plain, ArrivalTimes::Even);
    assert_eq!((f.missed, f.beyond(0.03)), (0, 0), "seeds {:?}", f.look_at);
    assert!(f.bias().abs() < 0.003, "{}", f.bias());
    // Where liquid evaporates, no pour is lost and none is counted for another. What is reached
    // beyond that stands in docs/capture.md.
    let (f, _) = pours(200, SEED, &losing(), ArrivalTimes::Even);
    assert_eq!(f.missed, 0, "seeds {:?}", f.look_at);
}

/// Pours by mass, with an evaporation of up to 0.3 g a minute.
fn losing() -> PourRules {
    PourRules {
        evaporates: (0.0, 0.3),
        ..PourRules::by_mass(ReadBy::BalanceUnderBurette)
    }
}

/// What every pour must show, with a balance that loses mass.
#[test]
#[ignore = "not reached: rests of some seconds do not tell so slow a run; docs/capture.md says how near"]
fn evaporation_changes_no_pour_on_a_balance() {
    let (f, _) = pours(200, SEED, &losing(), ArrivalTimes::Even);
    let (much, little) = (f.beyond(0.05), f.beyond(0.03));
    assert!(
        f.missed == 0 && little == 0 && f.bias().abs() < 0.003,
        "of {}: {little} beyond 0.03 g, {much} beyond 0.05 g, bias {:+.3} g, {} lost",
        f.errors.len(),
        f.bias(),
        f.missed
    );
}

/// No rule can reach the bar above. Proof: an estimator that knows when each rest began and ended,
/// the exact noise and the distribution of the rates, and that uses every rest of the route, knows
/// the rate only to the standard error of a slope (least squares: twelve variances over n T squared
/// for each rest). It takes off that error times the time of the delivery.
#[test]
fn nobody_who_is_told_everything_but_the_rate_takes_evaporation_off_to_the_bar() {
    let (mut much, mut little, mut all) = (0, 0, 0);
    for seed in SEED..SEED + 200 {
        let mut dice = Dice::seeded(seed);
        let sigma = dice.pick(&[0.005, 0.01, 0.02]);
        let rules = PourRules {
            sigma: Some(sigma),
            ..losing()
        };
        let made = pour_route(seed, &rules);
        let seconds = |from: u64, to: u64| to.saturating_sub(from) as f64 / 1e6;
        let knows = |t: f64| rules.hertz * t.powi(3) / (12.0 * sigma * sigma);
        let of_rests: f64 = made
            .pours
            .iter()
            .map(|p| {
                let before = seconds(p.rested_from_us, p.begun_at_us);
                knows(before) + knows(seconds(p.still_at_us, p.over_at_us))
            })
            .sum();
        // Uniform from 0 to 0.3 g a minute, as a Gaussian of the same variance.
        let known_before = 12.0 / (0.3_f64 / 60.0).powi(2);
        let rate_sd = (of_rests + known_before).sqrt().recip();
        for pour in &made.pours {
            let sd = rate_sd * seconds(pour.begun_at_us, pour.still_at_us);
            let off = dice.gauss(sd).abs();
            all += 1;
            much += usize::from(off > 0.05);
            little += usize::from(off > 0.03);
        }
    }
    let share = |count: usize| count as f64 / f64::from(all);
    let told = format!(
        "{:.1} % beyond 0.03 g, {:.1} % beyond 0.05 g",
        100.0 * share(little),
        100.0 * share(much)
    );
    assert!(share(little) > 0.05, "{told}");
}
