//! What a builder does in the wrong order at dial and manometer. The value is refused, told, or in
//! doubt, and never taken in silence.

use super::*;
use crate::synth::measure::{ArrivalTimes, sweeps};
use crate::synth::{SweepRules, WrongSweep};

fn extreme() -> CaptureSettings {
    CaptureSettings::of(CaptureMode::Extreme)
}

/// Settings that know the gauge's hanging value, as after zeroing.
fn settle() -> CaptureSettings {
    CaptureSettings::Settle(SettleSettings {
        hanging: Some(-8.0),
        ..Default::default()
    })
}

/// The values, each with the question that must be answered before it counts.
fn doubts(events: &[CaptureEvent]) -> Vec<(f64, Option<CaptureNote>)> {
    let value = |event: &CaptureEvent| match event {
        CaptureEvent::Final { taken, .. } => Some((taken.value, taken.doubt)),
        _ => None,
    };
    events.iter().filter_map(value).collect()
}

/// Passes over a top, 2 mm up and down in 10 s each.
fn turn_over(script: &mut Script, top: f64, passes: usize) {
    for _ in 0..passes {
        script
            .follow(10.0, |t| top - 0.08 * (t - 5.0) * (t - 5.0))
            .rest(0.6);
    }
}

fn dial() -> Script {
    Script::new(Unit::Millimetre, 0.01, 0.0025, -1.5)
}

const SEED: u64 = 52_001;

#[test]
fn a_plunger_against_its_stop_is_asked_about_or_gives_nothing() {
    for (least, most) in [(0.08, 0.2), (0.2, 0.5), (0.5, 1.5)] {
        let wrong = WrongSweep::PlungerStop(least, most);
        for rules in [SweepRules::default(), SweepRules::uneven()] {
            let rules = SweepRules {
                wrong: Some(wrong),
                ..rules
            };
            let (f, _) = sweeps(300, SEED, &rules, ArrivalTimes::Even);
            let silent = f.errors.len();
            assert!(silent <= 3, "{least} mm: {silent} kept, {:?}", f.look_at);
        }
    }
}

#[test]
fn sound_sweeps_are_seldom_asked_about() {
    for rules in [SweepRules::default(), SweepRules::uneven()] {
        let (f, _) = sweeps(1_000, SEED, &rules, ArrivalTimes::Even);
        assert!(f.asked <= 20, "{:?}: {}", rules.hand, f.asked);
    }
}

#[test]
fn one_pass_before_the_bridge_is_moved_puts_the_next_place_in_doubt() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 1);
    script.run(-9.0, 30.0).rest(2.0).run(-1.4, 30.0).rest(1.0);
    turn_over(&mut script, 0.51, 2);
    let events = script.play(&extreme());
    let doubt = CaptureNote::LeftUnfinished { good: 1, needed: 2 };
    let got = doubts(&events);
    assert!(
        matches!(got[..], [(value, Some(note))] if note == doubt && (value - 0.51).abs() < 0.01),
        "{events:?}"
    );
    assert!(notes(&events).contains(&CaptureNote::Moved));
}

#[test]
fn four_passes_and_two_at_the_next_place_are_two_readings_without_a_question() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 4);
    script.run(-9.0, 30.0).rest(2.0).run(-1.4, 30.0).rest(1.0);
    turn_over(&mut script, 0.51, 2);
    let got = doubts(&script.play(&extreme()));
    assert!(matches!(got[..], [(_, None), (_, None)]), "{got:?}");
}

#[test]
fn a_gauge_that_was_switched_off_and_on_has_lost_its_zero() {
    for settings in [settle(), extreme()] {
        let mut script = Script::dial(4.0);
        script.rest(4.0).run(5.0, 8.0).rest(0.6);
        // The gauge is switched off. Switched on again, it counts from where its plunger stands.
        script.silence(8.0).jump(0.0).rest(5.0);
        script.run(1.2, 4.0).rest(6.0);
        turn_over(&mut script, 3.2, 2);
        let events = script.play(&settings);
        assert_eq!(finals(&events), [] as [f64; 0], "{events:?}");
        let lost = |note: &CaptureNote| matches!(note, CaptureNote::ZeroLost { .. });
        assert!(notes(&events).iter().any(lost), "{events:?}");
    }
}

/// The gauge is off for less than a gap, on the flank of a sweep, and then counts on from 0.
#[test]
fn a_gauge_that_was_switched_off_for_a_moment_amid_a_sweep_has_lost_its_zero() {
    let height = |t: f64| 3.2 - 0.08 * (t - 5.0) * (t - 5.0);
    for off in [0.4, 0.8, 1.0, 1.6] {
        let mut script = Script::dial(1.2);
        script.rest(4.0).follow(2.0, height).silence(off);
        let on = 2.0 + off;
        script.follow(10.0 - on, |t| height(on + t) - height(on));
        script.rest(0.6);
        turn_over(&mut script, 3.2 - height(on), 2);
        let events = script.play(&extreme());
        assert_eq!(finals(&events), [] as [f64; 0], "{off} s: {events:?}");
        let lost = |note: &CaptureNote| matches!(note, CaptureNote::ZeroLost { .. });
        assert!(notes(&events).iter().any(lost), "{off} s: {events:?}");
    }
}

#[test]
fn a_gauge_that_was_only_unplugged_goes_on_by_itself() {
    let mut script = Script::dial(1.0);
    script.rest(4.0).run(5.0, 8.0).rest(6.0).silence(20.0);
    script.rest(3.0).run(2.0, 8.0).rest(6.0);
    let events = script.play(&settle());
    assert_values(&events, &[5.0, 2.0], 0.002);
    assert!(doubts(&events).iter().all(|d| d.1.is_none()), "{events:?}");
}

#[test]
fn a_bridge_that_is_lifted_before_its_value_is_taken_puts_the_next_in_doubt() {
    let mut script = Script::dial(-8.0);
    script.rest(4.0).run(1.0, 20.0).rest(1.6);
    script.run(-8.0, 20.0).rest(2.0).run(1.25, 20.0).rest(6.0);
    let events = script.play(&settle());
    let got = doubts(&events);
    let [(value, Some(CaptureNote::LeftTooSoon { value: left, .. }))] = got[..] else {
        panic!("{events:?}")
    };
    assert!((value - 1.25).abs() < 0.002 && (left - 1.0).abs() < 0.01);
    // The place after it is in no doubt, nor is a gauge that was shifted about on its place.
    script.run(-8.0, 20.0).rest(2.0).run(1.1, 20.0).rest(1.3);
    script.run(1.15, 0.4).rest(6.0);
    let got = doubts(&script.play(&settle()));
    assert!(matches!(got[..], [(_, Some(_)), (_, None)]), "{got:?}");
}

/// A sign key pressed while the dial rests, and one pressed amid a sweep. The sweep's tops are then
/// the points where the hand turns back; those do not agree, or they stand still.
#[test]
fn a_flipped_sign_gives_no_value_in_silence() {
    let mut script = dial();
    turn_over(&mut script, 0.537, 1);
    script.jump(1.463).rest(2.0);
    for _ in 0..3 {
        script
            .follow(10.0, |t| -0.537 + 0.08 * (t - 5.0) * (t - 5.0))
            .rest(0.6);
    }
    let got = doubts(&script.play(&extreme()));
    assert!(got.iter().all(|d| d.1.is_some()), "{got:?}");
}

fn manometer(test: f64, metering: f64) -> Vec<Sample> {
    let mut both = Vec::new();
    for (channel, level) in [(0, test), (1, metering)] {
        let mut script = Script::new(Unit::InchWater, 0.01, 0.05, level);
        script.step_us = 50_000;
        script.dice = Dice::seeded(SEED + u64::from(channel));
        script.rest(18.0);
        both.extend(script.samples.into_iter().map(|s| Sample { channel, ..s }));
    }
    both.sort_by_key(|s| (s.at_us, s.channel));
    both
}

fn average(samples: Vec<Sample>) -> Vec<(f64, Option<CaptureNote>)> {
    let settings = CaptureSettings::Average(AverageSettings {
        along: vec![1],
        ..Default::default()
    });
    let replayed = replay(samples, &settings, Sigma::unknown());
    let finals = replayed.finals();
    finals.map(|taken| (taken.value, taken.doubt)).collect()
}

#[test]
fn a_mean_without_flow_is_none_and_one_without_metering_pressure_is_asked_about() {
    assert_eq!(average(manometer(0.1, 0.05)), []);
    let got = average(manometer(25.0, 0.05));
    assert!(
        matches!(got[..], [(_, Some(CaptureNote::NoFlow { channel: 1 }))]),
        "{got:?}"
    );
    let got = average(manometer(25.0, 6.0));
    assert!(matches!(got[..], [(_, None)]), "{got:?}");
}

/// The blower's control holds the test pressure; only the metering pressure shows that the valve
/// was opened.
#[test]
fn a_valve_that_is_opened_under_a_held_test_pressure_gives_the_next_reading() {
    let channel = |channel: u8, script: &mut Script| {
        script.step_us = 50_000;
        script.dice = Dice::seeded(SEED + u64::from(channel));
        match channel {
            0 => script.rest(60.0),
            _ => script.rest(25.0).run(9.0, 2.0).rest(60.0 - 25.0 - 1.5),
        };
        let of = |s: Sample| Sample { channel, ..s };
        script.samples.drain(..).map(of).collect::<Vec<_>>()
    };
    let mut test = Script::new(Unit::InchWater, 0.01, 0.05, 28.0);
    let mut metering = Script::new(Unit::InchWater, 0.01, 0.05, 6.0);
    let mut both = channel(0, &mut test);
    both.extend(channel(1, &mut metering));
    both.sort_by_key(|s| (s.at_us, s.channel));
    let settings = CaptureSettings::Average(AverageSettings {
        along: vec![1],
        ..Default::default()
    });
    let replayed = replay(both, &settings, Sigma::unknown());
    let found: Vec<f64> = replayed.finals().map(|t| t.others[0].value).collect();
    assert_eq!(found.len(), 2, "{found:?}");
    for (found, true_one) in found.iter().zip([6.0, 9.0]) {
        assert!((found - true_one).abs() < 0.05, "{found} for {true_one}");
    }
}

/// A blower that is off, is brought up over three seconds, and is then held.
#[test]
fn a_blower_that_is_off_when_the_mean_begins_is_waited_for() {
    for seconds in [2.0, 4.0, 8.0] {
        let mut script = Script::new(Unit::InchWater, 0.01, 0.05, 0.0);
        script.step_us = 50_000;
        script.rest(4.0).run(28.0, 28.0 / seconds).rest(22.0);
        let events = script.play(&CaptureSettings::of(CaptureMode::Average));
        assert_values(&events, &[28.0], 0.05);
    }
}

/// A blower that is shut off amid the mean: the level falls.
#[test]
fn a_blower_that_is_shut_off_amid_the_mean_gives_nothing() {
    let mut script = Script::new(Unit::InchWater, 0.01, 0.05, 28.0);
    script.step_us = 50_000;
    script.rest(8.0).run(0.0, 7.0).rest(20.0);
    let events = script.play(&CaptureSettings::of(CaptureMode::Average));
    assert_eq!(finals(&events), [] as [f64; 0], "{events:?}");
}

#[test]
fn a_flow_that_pulses_is_asked_about() {
    for (share, doubted) in [(0.25, true), (0.02, false)] {
        let mut script = Script::new(Unit::InchWater, 0.01, 0.05, 20.0);
        script.step_us = 50_000;
        script.follow(16.0, |t| 20.0 * (1.0 + share * (9.0 * t).sin()));
        let got = doubts(&script.play(&CaptureSettings::of(CaptureMode::Average)));
        assert_eq!(got.len(), 1);
        let pulsing = matches!(got[0].1, Some(CaptureNote::Pulsing { .. }));
        assert_eq!(pulsing, doubted, "{share}: {got:?}");
    }
}
