//! What capture must show, on a few hundred signals each; the benchmark runs thousands.

use crate::capture::Mode;
use crate::synth::measure::{Line, flows, pours, settles, sweeps, taken_while_idle, thrusts};
use crate::synth::{FlowRules, IdleRules, Manner, PourRules, ReadBy, SweepRules};

const BOTH: [Line; 2] = [Line::Even, Line::Shaken];
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
    let (f, _) = pours(400, SEED, &late, Line::Even);
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
            f.refused <= if line == Line::Even { 4 } else { 20 },
            "{}",
            f.refused
        );
        let (f, _) = sweeps(200, SEED, &fast, line);
        assert_eq!((f.missed, f.beyond(1.0)), (0, 0), "seeds {:?}", f.look_at);
        assert!(f.refused > 150, "{}", f.refused);
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
    let (still, _) = settles(600, SEED, Manner::AtOnce, Line::Even);
    assert!(still.share_in_time() >= 0.95, "{}", still.share_in_time());
    assert!(still.within(2.0) >= 0.995, "seeds {:?}", still.look_at);
}

#[test]
fn nothing_is_taken_in_eight_idle_hours() {
    for (seed, line) in [(SEED, Line::Even), (SEED + 1, Line::Shaken)] {
        for mode in [Mode::Settle, Mode::Extreme] {
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
    let losing = PourRules {
        evaporates: (0.0, 0.3),
        ..plain.clone()
    };
    let (f, _) = pours(400, SEED, &plain, Line::Even);
    assert_eq!((f.missed, f.beyond(0.03)), (0, 0), "seeds {:?}", f.look_at);
    assert!(f.bias().abs() < 0.003, "{}", f.bias());
    let (f, _) = pours(200, SEED, &losing, Line::Even);
    // So small a slope is often not plain within rests of some seconds and then not taken off.
    assert!(f.missed == 0 && f.beyond(0.5) <= 4, "seeds {:?}", f.look_at);
    assert!(f.bias().abs() < 0.1, "{}", f.bias());
}
