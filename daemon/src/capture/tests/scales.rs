//! Pours by mass: a balance under the burette or under the vessel.

use super::*;

fn settings() -> CaptureSettings {
    CaptureSettings::of(CaptureMode::Pour)
}

#[test]
fn mass_rises_under_the_vessel_and_falls_under_the_burette() {
    let mut vessel = Script::balance(350.0);
    vessel.rest(4.0).run(395.0, 4.0).rest(6.0);
    assert_values(&vessel.play(&settings()), &[45.0], 0.02);
    let mut burette = Script::balance(350.0);
    burette.rest(4.0).run(305.0, 4.0).rest(6.0);
    assert_values(&burette.play(&settings()), &[45.0], 0.02);
}

#[test]
fn a_balance_that_sends_kilograms_is_judged_in_grams() {
    let mut script = Script::new(Unit::Kilogram, 1e-5, 8e-6, 0.35);
    script.rest(4.0).run(0.395, 0.004).rest(6.0);
    assert_values(&script.play(&settings()), &[0.045], 2e-5);
}

#[test]
fn a_vessel_lifted_and_put_back_is_no_pour() {
    let mut script = Script::balance(350.0);
    script
        .rest(4.0)
        .run(395.0, 4.0)
        .rest(4.0)
        .jump(-2.0)
        .rest(5.0)
        .jump(395.02)
        .rest(6.0);
    let events = script.play(&settings());
    assert_values(&events, &[45.0], 0.05);
    let said = notes(&events);
    assert!(said.contains(&CaptureNote::Away), "{said:?}");
    assert!(
        said.iter().any(|n| matches!(n, CaptureNote::Back { .. })),
        "{said:?}"
    );
}

#[test]
fn a_hand_on_the_pan_is_no_pour() {
    let mut script = Script::balance(350.0);
    script.rest(5.0);
    script
        .follow(4.0, |t| 420.0 + 30.0 * (7.0 * t).sin())
        .jump(350.0)
        .rest(4.0);
    script.run(390.0, 4.0).rest(6.0);
    assert_values(&script.play(&settings()), &[40.0], 0.02);
}

/// The balance is tared while liquid runs: the amount is not known, and that is said. The next pour
/// is counted.
#[test]
fn a_tare_in_mid_stream_loses_the_pour_and_says_so() {
    for (from, first) in [(350.0, 25.0), (0.0, 25.0), (350.0, 5.0)] {
        let mut script = Script::balance(from);
        script.rest(4.0).run(from + first, 4.0).jump(0.2);
        script.run(0.2 + 21.0, 4.0).rest(8.0);
        script.run(0.2 + 21.0 + 45.0, 4.0).rest(8.0);
        let events = script.play(&settings());
        assert_values(&events, &[45.0], 0.02);
        let said = notes(&events);
        let lost = said.iter().filter(|note| note.loses_a_pour());
        assert_eq!(lost.collect::<Vec<_>>(), [&CaptureNote::MovedMidPour]);
    }
}

/// A vessel lifted while the last of a pour still drips is no tare: it comes back, or another does.
#[test]
fn a_vessel_lifted_too_soon_is_no_tare() {
    let mut script = Script::balance(350.0);
    script.rest(4.0).run(395.0, 4.0).jump(0.0).rest(5.0);
    script.jump(395.0).rest(8.0);
    let events = script.play(&settings());
    assert_values(&events, &[45.0], 0.02);
}

/// A vessel that stood untared is lifted: the balance shows 0, and no key is spoken of.
#[test]
fn an_untared_vessel_that_is_lifted_is_no_pressed_key() {
    let mut script = Script::balance(350.0);
    script
        .rest(4.0)
        .run(395.0, 4.0)
        .rest(8.0)
        .jump(0.0)
        .rest(6.0);
    let said = notes(&script.play(&settings()));
    let key = |note: &CaptureNote| matches!(note, CaptureNote::JumpToZero { .. });
    assert!(!said.iter().any(key), "{said:?}");
    assert!(!said.is_empty());
}

#[test]
fn an_emptied_vessel_begins_the_next_pour() {
    let mut script = Script::balance(350.0);
    script
        .rest(4.0)
        .run(395.0, 4.0)
        .rest(5.0)
        .jump(0.0)
        .rest(5.0)
        .jump(351.5)
        .rest(5.0);
    script.run(381.5, 4.0).rest(6.0);
    assert_values(&script.play(&settings()), &[45.0, 30.0], 0.05);
}

#[test]
fn evaporation_is_taken_off_and_said() {
    // 0.6 g a minute evaporates all the time: from 20 s before to 20 s after a pour of 20 s.
    let mut script = Script::balance(0.0);
    let gone = |t: f64| 0.01 * t;
    let poured = |t: f64| (2.0 * (t - 20.0)).clamp(0.0, 40.0);
    script.follow(60.0, |t| 350.0 + poured(t) - gone(t));
    let events = script.play(&settings());
    assert_values(&events, &[40.0], 0.03);
    let said = notes(&events);
    let evaporation = said.iter().find_map(|n| match n {
        CaptureNote::Evaporation { per_min, .. } => Some(*per_min),
        _ => None,
    });
    assert!((evaporation.unwrap() + 0.6).abs() < 0.1, "{said:?}");
}

#[test]
fn a_tare_between_pours_opens_the_next() {
    let mut script = Script::balance(350.0);
    script
        .rest(4.0)
        .run(395.0, 4.0)
        .rest(5.0)
        .jump(0.0)
        .rest(5.0)
        .run(30.0, 4.0)
        .rest(6.0);
    assert_values(&script.play(&settings()), &[45.0, 30.0], 0.02);
}

#[test]
fn a_spike_while_liquid_runs_is_dropped_and_the_pour_kept() {
    for spike in [-3.0, -1.5, 1.5, 3.0, 10.0] {
        let mut script = Script::burette(2.0);
        script.rest(4.0).run(20.0, 4.0);
        let shown = 20.0 + spike;
        script.raw(Some(shown), SampleStatus::default());
        script
            .jump(20.8)
            .run(48.0, 4.0)
            .rest(6.0)
            .run(1.0, 8.0)
            .rest(4.0);
        assert_values(&script.play(&settings()), &[46.0], 0.03);
    }
}

/// A gauge that pauses for half a second before the end of a fast pour shows a step of twice the run
/// before it, and stands there. None of the values that stand is a spike.
#[test]
fn a_level_that_stands_after_a_short_silence_in_a_run_is_heard() {
    for steps in [1.2, 1.6, 2.0, 2.4, 2.8] {
        let mut script = Script::burette(2.0);
        script.rest(4.0).run(23.0, 24.0).silence(0.5);
        let stands = script.value + 2.4 * steps;
        script.jump(stands).rest(10.0);
        assert_values(&script.play(&settings()), &[stands - 2.0], 0.03);
    }
}

#[test]
fn a_pour_whose_beginning_was_not_seen_at_rest_is_refused_and_the_next_is_right() {
    let mut script = Script::burette(4.0);
    script.rest(0.9).run(40.0, 4.0).rest(0.6);
    for _ in 0..30 {
        let next = script.value + 0.05;
        script.jump(next).rest(1.4);
    }
    script
        .rest(6.0)
        .run(1.0, 8.0)
        .rest(4.0)
        .run(31.0, 4.0)
        .rest(6.0);
    let events = script.play(&settings());
    assert_values(&events, &[30.0], 0.03);
    assert!(
        notes(&events).contains(&CaptureNote::BeginningUnseen),
        "{events:?}"
    );
}

#[test]
fn a_route_that_ends_with_the_emptied_vessel_on_the_pan_keeps_what_was_held() {
    let mut script = Script::balance(85.0);
    script.rest(4.0).run(130.0, 4.0).rest(6.0);
    script
        .jump(-3.0)
        .rest(0.3)
        .jump(-2.0)
        .rest(4.0)
        .jump(85.1)
        .rest(6.0);
    assert_values(&script.play(&settings()), &[45.0], 0.03);
}
