//! The window of a mean shows how far another one would have come out otherwise: it is in the ±, once.

use benchhand_blueprint::readings::{FlowParts, MeasuredValue, ReadingValue};
use benchhand_blueprint::{Engine, Figure, Quantity, Reading, ReportInputs, Unit, report};

const ENGINE: &str = "name = \"check\"\nunits = \"inch\"\ncylinders = 1\nbore = \"4 in\"\nstroke = \"3.5 in\"\n[flow]\nreference = \"28 inH2O\"\n[gauges.manometer]\nkind = \"manometer\"\nresolution = \"0.01 inH2O\"\nu = \"0 inH2O\"\nzero_u = \"0 inH2O\"\n";

/// One reading of a flow whose metering pressure has this window's error, in inH2O.
fn flow(id: usize, metering: f64, window_u: Option<f64>) -> Reading {
    let measured = |value: f64| MeasuredValue {
        gauge: Some("manometer".to_owned()),
        ..MeasuredValue::from(Quantity {
            value,
            unit: Unit::InchWater,
        })
    };
    let parts = FlowParts {
        test: Some(MeasuredValue {
            u: Some(0.0),
            ..measured(28.0)
        }),
        metering: Some(MeasuredValue {
            window_u,
            ..measured(metering)
        }),
        ..FlowParts::default()
    };
    Reading {
        id: id.to_string(),
        spot: "flow/1/intake/0.300in".parse().expect("a spot"),
        value: ReadingValue::Flow(Box::new(parts)),
        u: None,
        dof: None,
        gauge: None,
        step: None,
        zero: None,
        stage: "as received".to_owned(),
        note: None,
        conditions: None,
    }
}

/// What is known of the u of the metering pressure, inH2O.
fn known_u(engine: &str, readings: &[Reading]) -> f64 {
    let metering = metering(engine, readings);
    metering.u.or(metering.u_known).expect("known")
}

/// The metering pressure at the reference, inH2O.
fn metering(engine: &str, readings: &[Reading]) -> Figure {
    let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
    report.flow[0].metering_at_reference.clone().expect("it")
}

#[test]
fn a_surging_window_is_in_the_uncertainty_of_a_single_reading() {
    let calm = known_u(ENGINE, &[flow(1, 8.0, None)]);
    let surging = known_u(ENGINE, &[flow(1, 8.0, Some(0.12))]);
    assert!(calm < 0.01, "{calm}");
    assert!((surging - 0.12f64.hypot(calm)).abs() < 1e-6, "{surging}");
}

#[test]
fn what_repeats_show_already_is_not_counted_twice() {
    // Their scatter is 0.1·√2 with one degree of freedom, of the mean 0.1.
    let pair = |window_u| known_u(ENGINE, &[flow(1, 7.9, window_u), flow(2, 8.1, window_u)]);
    let plain = pair(None);
    assert!(
        (pair(Some(0.12)) - plain).abs() < 1e-9,
        "the repeats scatter by more"
    );
    // Two that agree by chance are no surer than their windows.
    let by_chance = |window_u| known_u(ENGINE, &[flow(1, 8.0, window_u), flow(2, 8.0, window_u)]);
    let found = by_chance(Some(0.12));
    let expected = 0.12 / 2f64.sqrt();
    assert!(found >= expected && found < 1.05 * expected, "{found}");
    assert!(by_chance(None) < 0.2 * found);
}

/// Two repeats know their scatter badly: their ± is 14 times it. A window that is a little wilder than they
/// scatter had made the ± a fifth of that.
#[test]
fn neither_a_wilder_window_nor_more_scatter_makes_the_uncertainty_smaller() {
    let half_width = |half: f64, window_u| {
        let pair = [flow(1, 8.0 - half, window_u), flow(2, 8.0 + half, window_u)];
        metering(ENGINE, &pair).expanded_known().expect("known")
    };
    let rises = |all: &[f64]| all.windows(2).all(|two| two[1] >= two[0] * (1.0 - 1e-9));
    let windows = [0.03, 0.05, 0.08, 0.12, 0.6, 1.5, 3.0];
    let by_window = windows.map(|window| half_width(0.05, Some(window)));
    assert!(rises(&by_window), "{by_window:?}");
    assert!(by_window[6] > 2.0 * by_window[0], "{by_window:?}");
    let by_scatter = [0.01, 0.02, 0.05, 0.1, 0.2].map(|half| half_width(half, Some(0.12)));
    assert!(rises(&by_scatter), "{by_scatter:?}");
}

#[test]
fn a_typed_repeat_beside_a_captured_one_does_not_calm_its_window() {
    let beside = |window_u| known_u(ENGINE, &[flow(1, 8.0, Some(0.12)), flow(2, 8.0, window_u)]);
    let (typed, captured) = (beside(None), beside(Some(0.12)));
    assert!((typed - captured).abs() < 1e-9, "{typed} and {captured}");
}
