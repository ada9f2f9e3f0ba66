//! Turning points: top dead centre and a rocked bore gauge.

use super::*;
use crate::synth::SweepRules;
use crate::synth::measure::{ArrivalTimes, sweeps};

fn settings() -> CaptureSettings {
    CaptureSettings::of(CaptureMode::Extreme)
}

fn dial() -> Script {
    Script::new(Unit::Millimetre, 0.01, 0.0025, -1.5)
}

/// Passes over a top as a crank makes them, 2 mm up and down in 10 s.
fn turn_over(script: &mut Script, top: f64, passes: usize) {
    for _ in 0..passes {
        script
            .follow(10.0, |t| top - 0.08 * (t - 5.0) * (t - 5.0))
            .rest(0.6);
    }
}

#[test]
fn two_passes_that_agree_make_a_reading_and_more_of_them_do_not_make_another() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 4);
    assert_values(&script.play(&settings()), &[0.537], 0.005);
}

#[test]
fn a_bridge_that_is_moved_makes_no_turning_point_and_opens_the_next_place() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 2);
    // The gauge is lifted with its plunger out, set down on another place, lifted and set down
    // again.
    script
        .run(-9.0, 30.0)
        .rest(2.0)
        .run(0.2, 30.0)
        .rest(2.0)
        .run(-9.0, 30.0)
        .rest(1.0);
    script.run(-1.4, 30.0).rest(1.0);
    turn_over(&mut script, 0.537, 2);
    assert_values(&script.play(&settings()), &[0.537, 0.537], 0.005);
}

#[test]
fn a_bridge_that_is_lifted_by_an_easy_hand_opens_the_next_place_too() {
    let mut script = dial();
    // The places lie within 0.1 mm of each other: only the lift tells them apart.
    for top in [0.537, 0.541, 0.532] {
        turn_over(&mut script, top, 2);
        script
            .rest(1.0)
            .run(-4.5, 7.0)
            .rest(0.6)
            .run(top - 0.9, 7.0)
            .rest(1.0)
            .run(top - 2.0, 1.0)
            .rest(0.5);
    }
    assert_values(&script.play(&settings()), &[0.537, 0.541, 0.532], 0.005);
}

#[test]
fn a_crank_that_is_jerked_once_and_turned_back_is_no_lift() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 2);
    script
        .rest(1.0)
        .run(-4.5, 7.0)
        .rest(1.0)
        .run(-1.46, 1.0)
        .rest(1.0);
    turn_over(&mut script, 0.537, 2);
    assert_values(&script.play(&settings()), &[0.537], 0.005);
}

/// The crank is jerked from rest to rest, out and in, as an easy hand lifts a bridge; the bridge
/// stands where it stood.
#[test]
fn a_crank_that_is_jerked_out_and_in_is_asked_about_and_an_ordinary_lift_is_not() {
    let lift = |script: &mut Script, out: f64| {
        // From rest to rest in less than 0.8 s.
        let speed = if out < -8.0 { 11.0 } else { 7.0 };
        script.rest(1.0).run(out, speed).rest(0.8);
        script.run(-1.46, speed).rest(1.0);
    };
    let played = |moves: &[(f64, f64)]| {
        let mut script = dial();
        // The bridge is lifted from the zero face: the plunger hangs at -9 mm.
        script
            .rest(1.0)
            .run(-9.0, 7.0)
            .rest(1.5)
            .run(-1.46, 7.0)
            .rest(1.0);
        turn_over(&mut script, 0.537, 2);
        for &(out, top) in moves {
            lift(&mut script, out);
            turn_over(&mut script, top, 2);
        }
        doubted(&script.play(&settings()))
    };
    let jerked = CaptureNote::LiftedOrJerked;
    let jerk = played(&[(-4.5, 0.537)]);
    assert!(
        matches!(jerk[..], [(_, None), (_, Some(note))] if note == jerked),
        "{jerk:?}"
    );
    // Places that are alike, and lifts that let the plunger hang.
    let lifts = played(&[(-9.0, 0.541), (-9.02, 0.532), (-8.97, 0.538)]);
    assert_eq!(lifts.len(), 4, "{lifts:?}");
    assert!(lifts.iter().all(|(_, doubt)| doubt.is_none()), "{lifts:?}");
    // Another place, with the plunger held: no crank has two tops.
    let other = played(&[(-4.5, 0.437)]);
    assert!(matches!(other[..], [(_, None), (_, None)]), "{other:?}");
}

/// The values, each with its doubt.
fn doubted(events: &[CaptureEvent]) -> Vec<(f64, Option<CaptureNote>)> {
    let value = |event: &CaptureEvent| match event {
        CaptureEvent::Final { taken, .. } => Some((taken.value, taken.doubt)),
        _ => None,
    };
    events.iter().filter_map(value).collect()
}

#[test]
fn passes_that_disagree_are_said_and_the_next_that_agree_are_taken() {
    let mut script = dial();
    turn_over(&mut script, 0.50, 1);
    turn_over(&mut script, 0.56, 2);
    let events = script.play(&settings());
    assert_values(&events, &[0.56], 0.005);
    assert!(
        matches!(notes(&events)[..], [CaptureNote::PassesDisagree { .. }]),
        "{events:?}"
    );
}

#[test]
fn a_pass_that_is_too_fast_is_refused_and_said() {
    let mut script = dial();
    for _ in 0..3 {
        script
            .follow(0.8, |t| 0.5 - 12.0 * (t - 0.4) * (t - 0.4))
            .rest(0.5);
    }
    let events = script.play(&settings());
    assert_eq!(finals(&events), [] as [f64; 0]);
    assert!(
        notes(&events)
            .iter()
            .any(|n| matches!(n, CaptureNote::TooFast { .. })),
        "{events:?}"
    );
}

#[test]
fn one_good_pass_is_not_enough_and_the_end_says_so() {
    let mut script = dial();
    turn_over(&mut script, 0.5, 1);
    assert_eq!(
        notes(&script.play(&settings())),
        [CaptureNote::PassesMissing { good: 1, needed: 2 }]
    );
}

#[test]
fn a_bore_gauge_rocked_through_its_smallest_reading() {
    let bore = ExtremeSettings {
        turn: TurningPoint::Low,
        least_fall_mm: 0.05,
        passes: 3,
        ..Default::default()
    };
    let mut script = Script::new(Unit::Millimetre, 0.002, 0.001, 0.3);
    // The gauge is rocked by ±3° in 4 s about a bore of 100 mm: 100·(1/cos φ − 1) above the least.
    let rock = |t: f64| 0.0524 * (std::f64::consts::TAU * t / 8.0).cos();
    script.follow(26.0, |t| 0.0234 + 100.0 * (1.0 / rock(t).cos() - 1.0));
    assert_values(
        &script.play(&CaptureSettings::Extreme(bore)),
        &[0.0234],
        0.002,
    );
}

#[test]
fn again_forgets_and_take_accepts_one_pass() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 4);
    let mut capture = start(&settings(), Sigma::unknown());
    let mut out = Vec::new();
    for (i, sample) in script.samples.iter().enumerate() {
        if i == 100 {
            capture.control(CaptureControl::Take, sample.at_us, &mut out);
        }
        if i == 110 {
            capture.control(CaptureControl::Again, sample.at_us, &mut out);
        }
        capture.sample(sample, &mut out);
    }
    let readings: Vec<u32> = out
        .iter()
        .filter_map(|e| e.reading().map(|r| r.1))
        .collect();
    assert_eq!(readings, [0, 0], "{out:?}");
    assert!(out.contains(&CaptureEvent::Withdrawn {
        pour: 0,
        why: CaptureNote::Again
    }));
}

#[test]
fn passes_from_before_a_gap_do_not_count() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 1);
    script.silence(5.0);
    turn_over(&mut script, 0.537, 1);
    assert_eq!(finals(&script.play(&settings())), [] as [f64; 0]);
}

/// Bumps of up to 3 mm on a gauge at rest; each dies within half a second.
#[test]
fn bumps_of_a_resting_gauge_are_no_passes() {
    for (turn, sign) in [
        (TurningPoint::High, -1.0),
        (TurningPoint::Low, 1.0),
        (TurningPoint::High, 1.0),
    ] {
        let settings = CaptureSettings::Extreme(ExtremeSettings {
            turn,
            ..Default::default()
        });
        for apart in [1.5, 5.0, 60.0] {
            let mut script = Script::dial(1.0);
            script.rest(20.0);
            for i in 0..8 {
                let (size, tau) = (0.4 + 0.35 * f64::from(i), 0.05 + 0.02 * f64::from(i));
                script
                    .follow(0.5, |t| 1.0 + sign * size * (-t / tau).exp())
                    .jump(1.0)
                    .rest(apart);
            }
            assert_eq!(
                finals(&script.play(&settings)),
                [] as [f64; 0],
                "{turn:?} {apart}"
            );
        }
    }
}

#[test]
fn a_lift_of_three_millimetres_arms_the_next_place_and_a_fast_crank_does_not() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 2);
    // The pass ends 2 mm below its top.
    script.jump(-3.2).rest(2.5).jump(-1.46).rest(1.0);
    turn_over(&mut script, 0.541, 2);
    assert_values(&script.play(&settings()), &[0.537, 0.541], 0.005);
    let mut script = dial();
    turn_over(&mut script, 0.537, 2);
    // The hand goes from rest to rest over the top in 0.7 s, back in 1 s, and slowly once more.
    for seconds in [0.7, 1.0] {
        let half = 0.5 * seconds;
        script
            .follow(seconds, |t| 0.537 - 2.0 * ((t - half) / half).powi(2))
            .rest(1.0);
    }
    turn_over(&mut script, 0.537, 2);
    assert_values(&script.play(&settings()), &[0.537], 0.005);
}

#[test]
fn passes_that_agree_far_from_the_value_taken_are_another_place() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 2);
    turn_over(&mut script, 0.237, 2);
    assert_values(&script.play(&settings()), &[0.537, 0.237], 0.005);
}

/// A dial of a thousandth under an even hand: its steps are finer than what the piston moves by
/// between two samples.
#[test]
fn a_fine_dial_under_an_even_hand_is_seldom_refused_and_never_wrong() {
    for speed in [3.0, 6.0, 9.0] {
        let (f, _) = sweeps(300, 61_001, &SweepRules::fine(speed), ArrivalTimes::Even);
        let refused = f.refused + f.missed + f.asked;
        let worst = f
            .errors
            .iter()
            .fold(0.0, |worst: f64, e| worst.max(e.abs()));
        assert!(refused <= 6, "{speed} deg/s: {refused} of 300 refused");
        assert!(worst <= 5.0, "{speed} deg/s: {worst} counts");
    }
}

/// The bridge is set down with the crank 3° before the top: going over it from there is no pass, and
/// whoever counts it for one is told.
#[test]
fn a_turn_that_begins_near_its_top_is_said_to_be_too_short() {
    let height = |t: f64| 0.537 - 0.08 * (t - 1.0) * (t - 1.0);
    let mut script = dial();
    script.jump(0.457).rest(1.0).follow(6.0, height);
    let events = script.play(&settings());
    assert_eq!(finals(&events), [] as [f64; 0]);
    assert!(
        notes(&events).contains(&CaptureNote::TooShort),
        "{events:?}"
    );
    let mut script = dial();
    turn_over(&mut script, 0.537, 4);
    assert!(!notes(&script.play(&settings())).contains(&CaptureNote::TooShort));
}
