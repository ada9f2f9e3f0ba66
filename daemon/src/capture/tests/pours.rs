//! Pours from a burette.

use super::*;

fn settings() -> CaptureSettings {
    CaptureSettings::of(CaptureMode::Pour)
}

fn states(events: &[CaptureEvent]) -> Vec<(&'static str, u32)> {
    events
        .iter()
        .filter_map(|e| e.reading().map(|(state, pour, _)| (state, pour)))
        .collect()
}

#[test]
fn pours_are_differences_whichever_way_the_burette_counts() {
    let mut up = Script::burette(3.0);
    up.rest(4.0)
        .run(48.0, 4.0)
        .rest(6.0)
        .run(1.0, 8.0)
        .rest(4.0)
        .run(42.5, 3.0)
        .rest(6.0);
    assert_values(&up.play(&settings()), &[45.0, 41.5], 0.02);
    let mut down = Script::burette(98.0);
    down.rest(4.0)
        .run(53.0, 4.0)
        .rest(6.0)
        .run(99.0, 8.0)
        .rest(4.0)
        .run(57.5, 3.0)
        .rest(6.0);
    assert_values(&down.play(&settings()), &[45.0, 41.5], 0.02);
}

#[test]
fn a_pause_is_held_then_revised_and_final_only_once() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(30.0, 4.0)
        .rest(9.0)
        .run(41.0, 2.0)
        .rest(6.0)
        .run(1.0, 8.0)
        .rest(4.0);
    let events = script.play(&settings());
    assert_eq!(states(&events), [("held", 0), ("revised", 0), ("final", 0)]);
    assert_values(&events, &[39.0], 0.02);
}

#[test]
fn drops_after_the_first_rest_are_added() {
    let mut script = Script::burette(2.0);
    script.rest(4.0).run(30.0, 4.0).rest(3.0);
    for i in 1..=6 {
        script.jump(30.0 + 0.05 * f64::from(i)).rest(3.4);
    }
    script.rest(5.0);
    let events = script.play(&settings());
    assert_values(&events, &[28.3], 0.015);
    assert!(states(&events).iter().filter(|s| s.0 == "revised").count() >= 3);
}

#[test]
fn a_refill_near_the_burettes_end_goes_on_and_elsewhere_opens_the_next() {
    let mut script = Script::burette(40.0);
    script
        .rest(4.0)
        .run(98.9, 4.0)
        .rest(3.0)
        .run(0.5, 8.0)
        .rest(4.0)
        .run(20.5, 3.0)
        .rest(6.0);
    script.run(0.5, 8.0).rest(4.0).run(30.5, 3.0).rest(6.0);
    let events = script.play(&settings());
    assert_values(&events, &[78.9, 30.0], 0.02);
    assert!(
        notes(&events)
            .iter()
            .any(|n| matches!(n, CaptureNote::GoesOn { .. }))
    );
}

#[test]
fn a_burette_that_counts_down_ends_at_zero() {
    let mut script = Script::burette(40.0);
    script
        .rest(4.0)
        .run(1.2, 4.0)
        .rest(3.0)
        .run(99.0, 8.0)
        .rest(4.0)
        .run(79.0, 3.0)
        .rest(6.0);
    assert_values(&script.play(&settings()), &[58.8], 0.02);
}

#[test]
fn a_smaller_burette_is_declared() {
    let small = PourSettings {
        capacity_cc: 50.0,
        ..Default::default()
    };
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(49.0, 4.0)
        .rest(3.0)
        .run(0.5, 8.0)
        .rest(4.0)
        .run(20.5, 3.0)
        .rest(6.0);
    assert_values(&script.play(&CaptureSettings::Pour(small)), &[67.0], 0.02);
}

#[test]
fn after_the_declared_time_the_next_pour_starts_from_any_level() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(32.0, 4.0)
        .rest(50.0)
        .run(60.0, 4.0)
        .rest(6.0);
    assert_values(&script.play(&settings()), &[30.0, 28.0], 0.02);
}

#[test]
fn a_film_that_drains_is_followed_to_its_end() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(42.05, 5.0)
        .follow(12.0, |t| 42.0 + 0.05 * (-t / 8.0).exp());
    script.run(1.0, 8.0).rest(3.0);
    assert_values(&script.play(&settings()), &[40.0], 0.02);
}

#[test]
fn letting_out_down_to_the_zero_mark_is_no_pour() {
    let mut script = Script::burette(-1.2);
    script
        .rest(4.0)
        .run(0.0, 1.0)
        .rest(4.0)
        .run(43.0, 4.0)
        .rest(6.0);
    let up = PourSettings {
        counts: PourCounts::Up,
        ..Default::default()
    };
    let events = script.play(&CaptureSettings::Pour(up));
    assert_values(&events, &[43.0], 0.02);
    assert!(
        notes(&events)
            .iter()
            .any(|n| matches!(n, CaptureNote::ZeroSet { .. }))
    );
}

#[test]
fn a_burette_that_drips_while_it_should_rest_is_called_a_leak() {
    let mut script = Script::burette(2.0);
    script.follow(60.0, |t| 2.0 + 0.05 * (t / 6.0).floor());
    let leaks = notes(&script.play(&settings()));
    let Some(CaptureNote::Leaking { per_min, .. }) = leaks.first() else {
        panic!("{leaks:?}")
    };
    assert!((per_min - 0.5).abs() < 0.15, "{per_min}");
    let mut tight = Script::burette(2.0);
    tight.rest(120.0);
    assert_eq!(tight.play(&settings()), []);
}

#[test]
fn a_delivery_over_lost_samples_is_never_given_a_value() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(20.0, 4.0)
        .silence(4.0)
        .run(42.0, 4.0)
        .rest(6.0);
    let events = script.play(&settings());
    assert_eq!(finals(&events), [] as [f64; 0]);
    assert!(notes(&events).contains(&CaptureNote::DeliveredInGap));
}

#[test]
fn a_value_held_before_a_gap_stands_if_nothing_ran_meanwhile() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(42.0, 4.0)
        .rest(5.0)
        .silence(5.0)
        .rest(4.0)
        .run(1.0, 8.0)
        .rest(4.0);
    assert_values(&script.play(&settings()), &[40.0], 0.02);
}

/// A burette shows its level whoever listens: the same level after a gap means that nothing ran.
#[test]
fn a_delivery_that_resumes_after_a_gap_from_the_same_level_goes_on() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(30.0, 4.0)
        .rest(5.0)
        .silence(5.0)
        .rest(4.0)
        .run(42.0, 4.0)
        .rest(5.0);
    assert_values(&script.play(&settings()), &[40.0], 0.02);
}

#[test]
fn a_delivery_that_went_on_in_a_gap_withdraws_what_was_held() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(30.0, 4.0)
        .rest(5.0)
        .silence(5.0)
        .jump(35.0)
        .rest(4.0)
        .run(42.0, 4.0)
        .rest(5.0);
    let events = script.play(&settings());
    assert_eq!(finals(&events), [] as [f64; 0]);
    let withdrawn = |e: &CaptureEvent| {
        matches!(
            e,
            CaptureEvent::Withdrawn {
                why: CaptureNote::DeliveredInGap,
                ..
            }
        )
    };
    assert!(events.iter().any(withdrawn), "{events:?}");
}

#[test]
fn a_pour_that_turns_into_a_refill_without_rest_has_no_value() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(42.0, 5.0)
        .run(1.0, 8.0)
        .rest(4.0)
        .run(31.0, 4.0)
        .rest(5.0);
    let events = script.play(&settings());
    assert_values(&events, &[30.0], 0.02);
    assert!(
        notes(&events)
            .iter()
            .any(|n| matches!(n, CaptureNote::NoRestBetween { .. }))
    );
}

#[test]
fn a_zeroed_burette_ends_the_pour_that_was_held() {
    let mut script = Script::burette(5.0);
    script
        .rest(4.0)
        .run(45.0, 4.0)
        .rest(5.0)
        .jump(0.0)
        .rest(5.0)
        .run(30.0, 4.0)
        .rest(5.0);
    let events = script.play(&settings());
    assert_values(&events, &[40.0, 30.0], 0.02);
    assert!(
        notes(&events)
            .iter()
            .any(|n| matches!(n, CaptureNote::JumpToZero { .. }))
    );
}

#[test]
fn nothing_is_held_while_nothing_is_poured() {
    let mut script = Script::burette(5.0);
    script
        .rest(30.0)
        .run(5.1, 0.2)
        .rest(10.0)
        .run(5.0, 0.2)
        .rest(30.0);
    assert_eq!(script.play(&settings()), []);
}

/// Feeds part of a script, then a control, then the rest.
fn with_control(script: &Script, at_s: f64, control: CaptureControl) -> Vec<CaptureEvent> {
    let mut capture = start(&settings(), Sigma::unknown());
    let mut out = Vec::new();
    let mut done = false;
    for sample in &script.samples {
        if !done && sample.at_us as f64 >= at_s * 1e6 {
            done = true;
            capture.control(control, sample.at_us, &mut out);
        }
        capture.sample(sample, &mut out);
    }
    capture.end(u64::MAX, &mut out);
    out
}

#[test]
fn take_makes_a_held_pour_final_and_the_next_goes_on_from_there() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(32.0, 5.0)
        .rest(6.0)
        .run(60.0, 4.0)
        .rest(6.0);
    assert_values(
        &with_control(&script, 15.0, CaptureControl::Take),
        &[30.0, 28.0],
        0.02,
    );
    let events = with_control(&script, 6.0, CaptureControl::Take);
    assert!(notes(&events).contains(&CaptureNote::NotStill));
}

#[test]
fn again_forgets_the_last_and_the_number_is_used_anew() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(32.0, 5.0)
        .rest(6.0)
        .run(2.0, 8.0)
        .rest(4.0)
        .run(31.0, 5.0)
        .rest(6.0);
    let events = with_control(&script, 15.0, CaptureControl::Again);
    assert_values(&events, &[29.0], 0.02);
    let number = |e: &CaptureEvent| e.reading().map(|(_, pour, _)| pour);
    assert!(events.iter().filter_map(number).all(|pour| pour == 0));
}

#[test]
fn add_sums_the_next_delivery_to_the_one_before() {
    let mut script = Script::burette(2.0);
    script
        .rest(4.0)
        .run(32.0, 5.0)
        .rest(6.0)
        .run(2.0, 8.0)
        .rest(4.0)
        .run(31.0, 5.0)
        .rest(6.0);
    let added = |at_s: f64| with_control(&script, at_s, CaptureControl::Add);
    assert_values(&added(15.0), &[59.0], 0.03);
    // The same with a pour that the refill had already made final.
    assert_values(&added(21.5), &[30.0, 59.0], 0.03);
}

#[test]
fn live_shows_the_amount_so_far_and_what_is_going_on() {
    let mut script = Script::burette(2.0);
    script.rest(4.0).run(32.0, 5.0).rest(3.0).run(12.0, 8.0);
    let mut capture = start(&settings(), Sigma::unknown());
    let mut out = Vec::new();
    let mut phases = Vec::new();
    for sample in &script.samples {
        capture.sample(sample, &mut out);
        let live = capture.live();
        if phases.last() != Some(&live.phase) {
            phases.push(live.phase);
        }
        if live.phase == CapturePhase::Held && sample.at_us < 13_000_000 {
            assert!((live.value.unwrap() - 30.0).abs() < 0.1, "{live:?}");
            assert!(live.stillness > 0.8, "{live:?}");
        }
    }
    let expected = [
        CapturePhase::Waiting,
        CapturePhase::Moving,
        CapturePhase::Delivering,
        CapturePhase::Held,
    ];
    assert!(phases.windows(4).any(|w| w == expected), "{phases:?}");
    assert_eq!(phases.last(), Some(&CapturePhase::Refilling));
}
