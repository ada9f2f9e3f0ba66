//! One press, one reading.

use super::*;

const PRESSED: SampleStatus = SampleStatus {
    stable: None,
    overrange: false,
    hold: false,
    low_battery: false,
    fault: false,
    button: true,
};

fn settings() -> CaptureSettings {
    CaptureSettings::of(CaptureMode::Press)
}

#[test]
fn each_press_is_a_reading_and_a_bounce_is_not() {
    let mut script = Script::dial(1.0);
    script
        .raw(Some(1.234), PRESSED)
        .raw(Some(1.234), PRESSED)
        .silence(3.0);
    script
        .raw(Some(1.234), PRESSED)
        .rest(2.0)
        .raw(Some(2.5), PRESSED);
    assert_values(&script.play(&settings()), &[1.234, 1.234, 2.5], 1e-12);
}

#[test]
fn a_press_beyond_the_range_is_refused() {
    let mut script = Script::dial(1.0);
    script.raw(
        None,
        SampleStatus {
            overrange: true,
            ..PRESSED
        },
    );
    assert_eq!(notes(&script.play(&settings())), [CaptureNote::Overrange]);
}

#[test]
fn take_takes_a_fresh_value_and_no_stale_one() {
    let mut capture = start(&settings(), Sigma::unknown());
    let mut out = Vec::new();
    capture.control(CaptureControl::Take, 0, &mut out);
    let mut script = Script::dial(1.0);
    script.rest(1.0);
    for sample in &script.samples {
        capture.sample(sample, &mut out);
    }
    capture.control(CaptureControl::Take, 1_500_000, &mut out);
    capture.control(CaptureControl::Take, 9_000_000, &mut out);
    assert_eq!(finals(&out).len(), 1);
    assert_eq!(
        notes(&out),
        [CaptureNote::NothingToTake, CaptureNote::NothingToTake]
    );
}
