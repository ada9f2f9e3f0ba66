//! What two jobs share: the shop's gauges, and its orifices as they are stated. Nothing that bears
//! the same number by chance.
//!
//! Checked by hand: the relative uncertainty of a difference of two independent flows is the root
//! of the sum of the squares of theirs.

use benchhand_blueprint::decide::{compare, flow_before_after};
use benchhand_blueprint::engine::{OrificeEntry, OrificeKnown, StatedValue};
use benchhand_blueprint::engine_figures::EngineFigures;
use benchhand_blueprint::readings::Reading;
use benchhand_blueprint::report::engine_figures;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, ReportInputs, readings};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");

fn of(engine: &Engine, readings: &[Reading]) -> EngineFigures {
    let inputs = ReportInputs {
        engine,
        readings,
        stages: &[],
        stage: None,
    };
    engine_figures(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

/// One job whose orifice was calibrated by the plate check that its journal numbers `check`; as the
/// engine file states it without one.
fn flowed(check: Option<&str>) -> EngineFigures {
    let mut engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let csv = "spot,value,unit,gauge\n\
        flow/1/intake/0.4in/test,28.0,inH2O,manometer\n\
        flow/1/intake/0.4in/metering,6.0,inH2O,manometer\n";
    let mut readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    if let Some(check) = check {
        let stated = |text, kind| StatedValue::parse(text, kind).expect("a value");
        let known = OrificeKnown::Calibrated {
            flow: stated("300 cfm +- 7.5 cfm", QuantityKind::Flow),
            at: stated("8 inH2O", QuantityKind::Pressure),
            air: None,
        };
        let plate = Some(check.to_owned());
        engine
            .flow
            .orifices
            .insert("plate".to_owned(), OrificeEntry { known, plate });
        for reading in &mut readings {
            if let readings::ReadingValue::Flow(parts) = &mut reading.value {
                parts.orifice = Some("plate".to_owned());
            }
        }
    }
    of(&engine, &readings)
}

fn relative(state: &EngineFigures) -> f64 {
    let flow = state.flow[0].flow_at_reference.as_ref().expect("a flow");
    flow.u().expect("known") / flow.value()
}

#[test]
fn plate_checks_of_two_jobs_share_nothing_whatever_their_numbers() {
    for (one, other) in [("7", "7"), ("7", "9")] {
        let (before, after) = (flowed(Some(one)).of_job("before"), flowed(Some(other)));
        let found = flow_before_after(&before, &after);
        let u = found[0].lifts[0].difference.u.expect("known");
        let apart = relative(&before).hypot(relative(&after));
        assert!(relative(&before) > 0.025, "the plate's 2.5 %");
        // Only the manometer's own scale and calibration are common to both.
        assert!(u > 0.025 * 2f64.sqrt() && u <= apart, "{u} {apart}");
    }
}

#[test]
fn one_orifice_as_it_is_stated_cancels_between_two_jobs() {
    let (before, after) = (flowed(None).of_job("before"), flowed(None));
    let found = flow_before_after(&before, &after);
    let u = found[0].lifts[0].difference.u.expect("known");
    assert!(u < relative(&before), "{u} {}", relative(&before));
}

#[test]
fn a_zero_is_of_the_job_that_it_was_set_in() {
    let mut engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let dial = engine.gauges.get_mut("dial").expect("a dial");
    (dial.zeroed_each, dial.zero_u, dial.u) = (false, Some(0.1), Some(0.2));
    let csv = "spot,value,unit,gauge\ndeck/1,0.010,in,dial\n";
    let mut readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    for zero in [None, Some("zero 4".to_owned())] {
        readings[0].zero = zero;
        let state = of(&engine, &readings);
        let pair = compare(&state.of_job("before"), &state).deck[0]
            .1
            .clone()
            .expect("a pair");
        let difference = pair.difference.u.expect("known") * 25.4;
        let zeros = 0.1 * 2f64.sqrt();
        assert!(
            difference > zeros && difference < 0.2,
            "two zeros and no calibration: {difference}"
        );
    }
}
