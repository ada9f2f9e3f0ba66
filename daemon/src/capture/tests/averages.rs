//! Means of what never rests.

use super::*;
use crate::synth::{FlowRules, flow};

fn settings() -> CaptureSettings {
    CaptureSettings::Average(AverageSettings {
        along: vec![1],
        ..Default::default()
    })
}

#[test]
fn two_channels_are_averaged_over_the_same_window() {
    let made = flow(
        3,
        &FlowRules {
            seconds: 16.0,
            drift: (0.0, 0.0),
            ..Default::default()
        },
    );
    let replayed = replay(made.samples.iter().copied(), &settings(), Sigma::unknown());
    let taken: Vec<&CapturedValue> = replayed.finals().collect();
    assert_eq!(taken.len(), 1);
    let other = &taken[0].others[0];
    assert_eq!((other.channel, other.unit), (1, Unit::InchWater));
    assert!(taken[0].n.abs_diff(other.n) <= 1);
    for (value, se, truth) in [
        (taken[0].value, taken[0].se, made.truth[0]),
        (other.value, other.se, made.truth[1]),
    ] {
        assert!(
            (value - truth).abs() < 4.0 * se.unwrap(),
            "{value} for {truth}"
        );
    }
}

fn manometer() -> Script {
    let mut script = Script::new(Unit::InchWater, 0.01, 0.05, 0.0);
    script.step_us = 50_000;
    script
}

#[test]
fn no_flow_is_not_averaged_and_each_new_level_is_a_reading() {
    let mut script = manometer();
    script
        .rest(20.0)
        .run(10.0, 2.0)
        .rest(20.0)
        .run(15.0, 2.0)
        .rest(20.0)
        .run(0.0, 5.0)
        .rest(20.0);
    assert_values(&script.play(&settings()), &[10.0, 15.0], 0.05);
}

#[test]
fn a_drift_during_the_window_is_said() {
    let mut script = manometer();
    script.follow(15.5, |t| 20.0 * (1.0 + 0.03 * (t / 15.5 - 0.5)));
    let events = script.play(&settings());
    assert_values(&events, &[20.0], 0.05);
    let drift = notes(&events);
    let Some(CaptureNote::Drift { over_window, .. }) = drift.first() else {
        panic!("{events:?}")
    };
    assert!((over_window - 0.58).abs() < 0.1, "{over_window}");
    let mut steady = manometer();
    steady.jump(20.0).rest(15.5);
    assert_eq!(notes(&steady.play(&settings())), []);
}

#[test]
fn a_stream_that_ends_early_gives_the_mean_of_what_there_is() {
    let mut script = manometer();
    script.jump(12.0).rest(5.0);
    assert_values(&script.play(&settings()), &[12.0], 0.1);
    let mut short = manometer();
    short.jump(12.0).rest(2.0);
    assert_eq!(finals(&short.play(&settings())), [] as [f64; 0]);
}

#[test]
fn the_window_begins_anew_after_a_gap() {
    let mut script = manometer();
    script
        .jump(12.0)
        .rest(12.0)
        .silence(3.0)
        .jump(12.5)
        .rest(16.0);
    let events = script.play(&settings());
    assert_values(&events, &[12.5], 0.05);
}

#[test]
fn the_error_of_independent_samples_is_s_over_root_n() {
    let mut dice = Dice::seeded(11);
    let values: Vec<f64> = (0..400).map(|_| dice.gauss(1.0)).collect();
    let mean = mean_with_error(&values);
    let plain = mean.sd.unwrap() / 20.0;
    assert!((mean.se.unwrap() / plain - 1.0).abs() < 0.25, "{mean:?}");
    assert_eq!(mean_with_error(&[3.0; 50]).se, Some(0.0));
}

#[test]
fn a_short_bump_of_the_flow_makes_no_second_reading() {
    let mut script = manometer();
    script.follow(20.0, |_| 20.0);
    script.follow(0.5, |t| 20.0 - 12.0 * (-t / 0.15).exp());
    script.follow(20.0, |_| 20.0);
    script.follow(20.0, |_| 14.0);
    let values = finals(&script.play(&CaptureSettings::of(CaptureMode::Average)));
    assert_eq!(values.len(), 2, "{values:?}");
    assert!((values[0] - 20.0).abs() < 0.1 && (values[1] - 14.0).abs() < 0.1);
}

/// The hand lets the blower down while the mean still waits for a level that only seems to climb.
#[test]
fn a_level_that_is_left_while_its_mean_waits_is_taken_without_what_came_after() {
    let rules = FlowRules {
        seconds: 18.0,
        surge: (0.01, 0.02),
        drift: (0.0, 0.0),
        ..Default::default()
    };
    let mut waited = 0;
    for seed in 0..60 {
        let made = flow(seed, &rules);
        let end_us = made.samples.last().map_or(0, |sample| sample.at_us);
        let mut samples = made.samples.clone();
        for i in 1..=60 {
            for mut one in made.samples[..2].iter().copied() {
                one.at_us += end_us + 50_000 * i;
                one.value = Some(0.0);
                samples.push(one);
            }
        }
        let replayed = replay(samples, &settings(), Sigma::unknown());
        let taken: Vec<&CapturedValue> = replayed.finals().collect();
        assert_eq!(taken.len(), 1, "seed {seed}");
        waited += u32::from(taken[0].at_us + 500_000 > end_us);
        let off = taken[0].value / made.truth[0] - 1.0;
        assert!(off.abs() < 0.03, "seed {seed}: {off}");
        let pulses = matches!(taken[0].doubt, Some(CaptureNote::Pulsing { .. }));
        assert!(!pulses, "seed {seed}: {:?}", taken[0].doubt);
    }
    assert!(waited > 0, "no mean waited: nothing was tried");
}

/// The blower holds 28 inH2O of test pressure by itself; the valve is opened further and further while
/// the metering pressure runs to its new level.
#[test]
fn a_run_of_the_other_channel_alone_is_no_part_of_the_mean() {
    for (from, to, ramp_s) in [
        (3.6, 0.57, 3.0),
        (3.7, 0.55, 2.0),
        (0.57, 3.7, 6.0),
        (2.0, 3.0, 4.0),
    ] {
        let (mut test, mut metering) = (manometer(), manometer());
        test.jump(28.0).rest(50.0 + ramp_s);
        metering.jump(from).rest(25.0).run(to, ramp_s).rest(25.0);
        let test = test.samples.into_iter();
        let both = test.zip(metering.samples).flat_map(|(test, metering)| {
            [
                test,
                Sample {
                    channel: 1,
                    ..metering
                },
            ]
        });
        let replayed = replay(both, &settings(), Sigma::unknown());
        let taken: Vec<f64> = replayed.finals().map(|one| one.others[0].value).collect();
        assert_eq!(taken.len(), 2, "{from} to {to}: {taken:?}");
        assert!((taken[0] - from).abs() < 0.02, "{from} to {to}: {taken:?}");
        assert!(
            (taken[1] / to - 1.0).abs() < 0.01,
            "{from} to {to}: {taken:?}"
        );
    }
}

/// Both pressures fall together, as when the blower's voltage sags: their ratio, by which the flow goes,
/// is known far better than either. Where one surges by itself, the ratio is known no better than that, and
/// the flow by half of it.
#[test]
fn what_both_pressures_do_together_is_no_error_of_the_flow() {
    let beside = |seed: u64, own: f64| {
        let mut dice = Dice::seeded(seed);
        let mut samples = Vec::new();
        let mut swell = 0.0;
        for at in 0..400_u32 {
            let t = f64::from(at) / 20.0;
            swell = 0.95 * swell + dice.gauss(0.01);
            let together = 1.0 + 0.02 * (t / 3.0).sin() + swell;
            for (channel, level) in [(0_u8, 20.0), (1, 8.0)] {
                let value = level * together * (1.0 + dice.gauss(own));
                samples.push(Sample {
                    at_us: u64::from(at) * 50_000 + u64::from(channel) * 2_000,
                    channel,
                    value: Some(value),
                    unit: Unit::InchWater,
                    resolution: 0.01,
                    status: SampleStatus::default(),
                });
            }
        }
        let replayed = replay(samples, &settings(), Sigma::unknown());
        let taken = &replayed.finals().next().expect("a mean").others[0];
        let share = taken.se.expect("a window") / taken.value;
        (share, taken.flow_se.expect("pairs"))
    };
    let (own, flow) = beside(5, 0.001);
    assert!(flow < 0.05 * own, "{flow} of {own}");
    // Some 300 independent pairs: half of 0.02 times the root of two, over the root of their number.
    let (_, flow) = beside(6, 0.02);
    assert!((0.0005..0.0015).contains(&flow), "{flow}");
}

/// A bench that shows the flow itself while its test pressure surges: the flow at the reference goes by the
/// root of that pressure, so half of what the pressure errs by is in it.
#[test]
fn a_surge_of_the_test_pressure_is_half_in_a_flow_that_is_shown() {
    let mut dice = Dice::seeded(7);
    let mut samples = Vec::new();
    for at in 0..400_u32 {
        let test = (20.0 * (1.0 + dice.gauss(0.02)), Unit::InchWater);
        for (channel, (value, unit)) in [(0_u8, test), (1, (200.0, Unit::CubicFootPerMinute))] {
            samples.push(Sample {
                at_us: u64::from(at) * 50_000 + u64::from(channel) * 2_000,
                channel,
                value: Some(value),
                unit,
                resolution: 0.01,
                status: SampleStatus::default(),
            });
        }
    }
    let replayed = replay(samples, &settings(), Sigma::unknown());
    let taken = replayed.finals().next().expect("a mean");
    let test = taken.se.expect("a window") / taken.value;
    let flow = taken.others[0].flow_se.expect("pairs");
    assert!((flow / test - 0.5).abs() < 0.05, "{flow} of {test}");
    assert_eq!(taken.others[0].se, Some(0.0), "the flow itself stood still");
}

/// Frames of two pressures, one after the other as the bench sends them.
fn frames(frames: impl Iterator<Item = (f64, f64)>, order: [u8; 2], apart_us: u64) -> Vec<Sample> {
    let sent = |(at, (test, metering)): (usize, (f64, f64))| {
        let place = move |nth: usize| Sample {
            at_us: at as u64 * 250_000 + nth as u64 * apart_us,
            channel: order[nth],
            value: Some([test, metering][usize::from(order[nth])]),
            unit: Unit::InchWater,
            resolution: 0.01,
            status: SampleStatus::default(),
        };
        [place(0), place(1)]
    };
    frames.enumerate().flat_map(sent).collect()
}

/// The blower is switched on between two frames; the metering pressure of the frame before comes after
/// the test pressure of that frame.
#[test]
fn what_lies_before_the_flow_is_in_the_mean_of_no_channel() {
    for order in [[0, 1], [1, 0]] {
        for apart_us in [0, 4_000] {
            let mut dice = Dice::seeded(9);
            let still = std::iter::repeat_n((0.02, 0.01), 12);
            let flow = (0..80).map(|_| (28.0 + dice.gauss(0.02), 3.90 + dice.gauss(0.01)));
            let samples = frames(still.chain(flow), order, apart_us);
            let replayed = replay(samples, &settings(), Sigma::unknown());
            let taken = replayed.finals().next().expect("a mean");
            let metering = &taken.others[0];
            let (value, sd) = (metering.value, metering.sd.unwrap());
            let of = format!("{order:?}, {apart_us} us: {value} sd {sd}");
            assert!((value - 3.90).abs() < 0.005 && sd < 0.03, "{of}");
            assert!(taken.n.abs_diff(metering.n) <= 1, "{of}, n {}", metering.n);
        }
    }
}

/// Both pressures flutter together from frame to frame: pairs of one frame show it, pairs of two
/// neighbours do not.
#[test]
fn the_ratio_is_that_of_the_channels_of_one_frame() {
    for order in [[0, 1], [1, 0]] {
        for apart_us in [0, 4_000] {
            let mut dice = Dice::seeded(10);
            let still = std::iter::repeat_n((0.02, 0.01), 12);
            let flow = (0..80).map(|_| {
                let both = 1.0 + dice.gauss(0.01);
                (28.0 * both, 3.90 * both * (1.0 + dice.gauss(1e-4)))
            });
            let samples = frames(still.chain(flow), order, apart_us);
            let replayed = replay(samples, &settings(), Sigma::unknown());
            let taken = replayed.finals().next().expect("a mean");
            let se = taken.others[0].flow_se.expect("pairs");
            assert!(se < 1e-4, "{order:?}, {apart_us} us: {se}");
        }
    }
}
