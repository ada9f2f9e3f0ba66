//! Rests of a length gauge.

use super::*;

fn settings() -> CaptureSettings {
    CaptureSettings::of(CaptureMode::Settle)
}

#[test]
fn a_rest_is_taken_once_after_the_gauge_was_moved() {
    let mut script = Script::dial(1.0);
    script
        .rest(4.0)
        .run(5.0, 8.0)
        .rest(20.0)
        .run(2.0, 8.0)
        .rest(20.0);
    assert_values(&script.play(&settings()), &[5.0, 2.0], 0.002);
}

#[test]
fn nothing_is_taken_from_a_gauge_that_was_never_moved() {
    let mut script = Script::dial(1.0);
    script.rest(120.0);
    assert_eq!(script.play(&settings()), []);
}

#[test]
fn a_gauge_that_moves_from_the_first_moment_on_is_taken_when_it_rests() {
    let mut script = Script::dial(1.0);
    script.run(6.0, 3.0).rest(4.0);
    assert_values(&script.play(&settings()), &[6.0], 0.002);
}

#[test]
fn spikes_and_knocks_are_no_departures() {
    let mut script = Script::dial(1.0);
    script.rest(10.0);
    for _ in 0..20 {
        script.raw(Some(3.2), SampleStatus::default()).rest(5.0);
        script
            .follow(0.5, |t| 1.0 + 0.8 * (-t / 0.1).exp())
            .jump(1.0)
            .rest(5.0);
    }
    assert_eq!(finals(&script.play(&settings())), [] as [f64; 0]);
}

#[test]
fn a_spike_in_the_window_does_not_move_the_value() {
    let mut script = Script::dial(1.0);
    script
        .rest(4.0)
        .run(5.0, 8.0)
        .rest(1.0)
        .raw(Some(7.5), SampleStatus::default())
        .rest(5.0);
    assert_values(&script.play(&settings()), &[5.0], 0.002);
}

#[test]
fn a_ringing_plunger_is_waited_for() {
    let mut script = Script::dial(1.0);
    let ring = |t: f64| 5.0 - 4.0 * (-t / 0.7).exp() * (3.0 * t).cos();
    script.rest(4.0).follow(14.0, ring);
    assert_values(&script.play(&settings()), &[5.0], 0.002);
}

#[test]
fn a_plunger_that_hangs_free_is_refused() {
    let hanging = SettleSettings {
        hanging: Some(-8.0),
        ..Default::default()
    };
    let mut script = Script::dial(1.0);
    script
        .rest(4.0)
        .run(-8.0, 20.0)
        .rest(6.0)
        .run(2.0, 20.0)
        .rest(6.0);
    let events = script.play(&CaptureSettings::Settle(hanging));
    assert_values(&events, &[2.0], 0.002);
    assert_eq!(notes(&events), [CaptureNote::Hanging]);
}

#[test]
fn a_gauge_that_repeats_its_last_frame_on_the_way_is_not_believed() {
    let mut script = Script::dial(1.0);
    script.rest(20.0).run(3.0, 4.0);
    for _ in 0..60 {
        script.raw(Some(3.117), SampleStatus::default());
    }
    script.run(6.0, 4.0).rest(5.0);
    let events = script.play(&settings());
    assert_values(&events, &[6.0], 0.002);
    assert!(notes(&events).contains(&CaptureNote::RepeatsLastFrame));
}

#[test]
fn a_quiet_gauge_that_shows_one_value_is_believed() {
    let mut script = Script::new(Unit::Millimetre, 0.01, 0.0, 1.0);
    script.rest(20.0).run(3.0, 4.0).rest(5.0);
    assert_values(&script.play(&settings()), &[3.0], 0.002);
}

#[test]
fn a_pressed_zero_or_direction_key_stops_and_asks() {
    for to in [0.0, -5.0] {
        let mut script = Script::dial(1.0);
        script.rest(4.0).run(5.0, 8.0).rest(6.0).jump(to).rest(20.0);
        let events = script.play(&settings());
        assert_values(&events, &[5.0], 0.002);
        assert!(!notes(&events).is_empty(), "{events:?}");
    }
}

#[test]
fn travel_that_runs_out_is_said_and_counts_as_moved() {
    let out_of_travel = SampleStatus {
        overrange: true,
        ..Default::default()
    };
    let mut script = Script::dial(5.0);
    script.rest(5.0);
    for _ in 0..10 {
        script.raw(None, out_of_travel);
    }
    script.rest(5.0);
    let events = script.play(&settings());
    assert_values(&events, &[5.0], 0.002);
    assert_eq!(notes(&events), [CaptureNote::Overrange]);
}

#[test]
fn samples_from_before_a_gap_are_not_mixed_with_those_after() {
    let mut script = Script::dial(1.0);
    script
        .rest(4.0)
        .run(5.0, 8.0)
        .rest(1.2)
        .silence(6.0)
        .jump(5.3)
        .rest(6.0);
    let events = script.play(&settings());
    assert_values(&events, &[5.3], 0.002);
    let taken = events.iter().find_map(|e| e.reading()).unwrap().2;
    assert!(taken.window.iter().all(|(_, v)| (v - 5.3).abs() < 0.01));
}

#[test]
fn the_gauges_own_flag_comes_first() {
    let mut script = Script::dial(1.0);
    script.rest(4.0).run(5.0, 8.0).rest(5.0);
    let moved_at = 4_000_000;
    for sample in &mut script.samples {
        sample.status.stable = Some(sample.at_us < moved_at);
    }
    assert_eq!(finals(&script.play(&settings())), [] as [f64; 0]);
    for sample in &mut script.samples {
        sample.status.stable = Some(true);
    }
    assert_values(&script.play(&settings()), &[5.0], 0.002);
}

#[test]
fn both_pushes_at_a_thrust_side_make_deck_and_rock() {
    let mut script = Script::new(Unit::Inch, 0.0005, 0.0001, 0.25);
    script
        .rest(4.0)
        .run(0.013, 1.0)
        .rest(5.0)
        .run(0.007, 0.1)
        .rest(5.0);
    let replayed = replay(script.samples, &settings(), Sigma::unknown());
    let taken: Vec<&CapturedValue> = replayed.finals().collect();
    let deck = thrust_deck(taken[0], taken[1]).unwrap();
    assert!(
        (deck.mean - 0.010).abs() < 0.0003 && (deck.rock - 0.003).abs() < 0.0003,
        "{deck:?}"
    );
    let metric = CapturedValue {
        unit: Unit::Millimetre,
        ..taken[1].clone()
    };
    assert!(thrust_deck(taken[0], &metric).is_err());
}

#[test]
fn take_and_again_and_hold_are_obeyed() {
    let mut capture = start(&settings(), Sigma::unknown());
    let (mut out, mut script) = (Vec::new(), Script::dial(1.0));
    script
        .rest(5.0)
        .run(4.0, 8.0)
        .rest(5.0)
        .run(2.0, 8.0)
        .rest(5.0);
    for (i, sample) in script.samples.iter().enumerate() {
        match i {
            40 => capture.control(CaptureControl::Take, sample.at_us, &mut out),
            45 => capture.control(CaptureControl::Again, sample.at_us, &mut out),
            95 => capture.control(CaptureControl::Hold, sample.at_us, &mut out),
            _ => {}
        }
        capture.sample(sample, &mut out);
    }
    let said: Vec<_> = out
        .iter()
        .map(|e| e.reading().map(|(_, n, t)| (n, t.value.round())))
        .collect();
    assert_eq!(said, [Some((0, 1.0)), None, Some((0, 4.0))], "{out:?}");
    assert_eq!(capture.live().phase, CapturePhase::Paused);
}

/// Somebody leans on the unit's key: values in inches are none of this gauge's, and capture goes on
/// by itself once the unit is set back.
#[test]
fn a_gauge_in_another_unit_gives_nothing_until_it_is_set_back() {
    let mut script = Script::dial(1.0);
    script.rest(4.0).run(6.0, 4.0).rest(4.0);
    let first = script.samples.len();
    script.run(2.0, 4.0).rest(4.0).run(6.0, 4.0).rest(4.0);
    let pressed = first..script.samples.len();
    // Back at the value before: no new value either.
    script.rest(4.0).run(1.0, 4.0).rest(4.0);
    let last_rest = script.samples.len() - 35;
    for sample in &mut script.samples[pressed.start..pressed.end] {
        sample.unit = Unit::Inch;
        sample.value = sample.value.map(|v| v / 25.4);
    }
    assert!(pressed.end < last_rest);
    let played = script.play(&settings());
    assert_values(&played, &[6.0, 1.0], 0.005);
    let changed =
        |e: &&CaptureEvent| matches!(e, CaptureEvent::Note(CaptureNote::UnitChanged { .. }));
    assert_eq!(played.iter().filter(changed).count(), 1, "it is said once");
}

#[test]
fn a_spike_on_the_first_sample_or_after_a_gap_is_no_movement() {
    let mut script = Script::dial(1.0);
    script.raw(Some(3.2), SampleStatus::default()).rest(20.0);
    script
        .silence(2.0)
        .raw(Some(-0.4), SampleStatus::default())
        .rest(20.0);
    assert_eq!(finals(&script.play(&settings())), [] as [f64; 0]);
}

#[test]
fn a_display_that_was_frozen_and_thaws_elsewhere_has_not_moved() {
    for frozen in [40, 400] {
        let mut script = Script::dial(1.0);
        script.rest(20.0);
        let last = script.samples[script.samples.len() - 1].value;
        for _ in 0..frozen {
            script.raw(last, SampleStatus::default());
        }
        script.jump(1.010).rest(20.0);
        assert_eq!(finals(&script.play(&settings())), [] as [f64; 0]);
        script.run(4.0, 8.0).rest(5.0);
        assert_values(&script.play(&settings()), &[4.0], 0.002);
    }
}

/// The first samples after a frozen display are those of a knock, or a spike.
#[test]
fn a_display_that_thaws_amid_a_knock_has_not_moved() {
    for knocked in [&[-2.6, 0.88, -0.23, 0.036][..], &[-0.022]] {
        let mut script = Script::dial(1.0);
        script.rest(20.0);
        for _ in 0..400 {
            script.raw(Some(1.002), SampleStatus::default());
        }
        for off in knocked {
            script.raw(Some(1.0 + off), SampleStatus::default());
        }
        script.rest(20.0);
        assert_eq!(finals(&script.play(&settings())), [] as [f64; 0]);
        script.run(4.0, 8.0).rest(5.0);
        assert_values(&script.play(&settings()), &[4.0], 0.002);
    }
}
