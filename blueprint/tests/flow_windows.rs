//! The window of a mean shows how far another one would have come out otherwise: it is in the ±, once.

use benchhand_blueprint::readings::{FlowParts, MeasuredValue, ReadingValue};
use benchhand_blueprint::{Engine, Quantity, Reading, ReportInputs, Unit, report};

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
    let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
    let metering = report.flow[0].metering_at_reference.clone().expect("it");
    metering.u.or(metering.u_known).expect("known")
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
