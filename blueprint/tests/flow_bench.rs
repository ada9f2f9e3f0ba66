//! The chain of a flow bench, and flow in the report. One job, and long.
//!
//! Checked against the single formulas (which have their own files), against limits where the
//! answer is known, and against figures stated in `docs/formulas.md`.

use benchhand_blueprint::decide::{flow_against_brothers, flow_before_after, flow_changes};
use benchhand_blueprint::formula::air::moist_air;
use benchhand_blueprint::formula::flow::*;
use benchhand_blueprint::report::engine_figures;
use benchhand_blueprint::{Engine, Figure, ReportInputs, Unit, readings, report};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");

fn room() -> RoomAir<f64> {
    RoomAir {
        pressure: 101_325.0,
        temperature: 20.0,
        humidity: 0.5,
    }
}

fn read(test: f64, metering: f64) -> FlowBenchReading<f64> {
    FlowBenchReading {
        test,
        metering,
        orifice_temperature: 20.0,
        plenum_temperature: 20.0,
        leak: 0.0,
    }
}

const INCH: f64 = 249.08891;

#[test]
fn at_small_pressures_the_areas_are_as_the_roots_of_the_pressures() {
    for direction in [FlowDirection::In, FlowDirection::Out] {
        let chain = chain(
            &room(),
            &read(4.0, 1.0),
            &1000.0,
            direction,
            AirBeforeOrifice::Plenum,
        );
        assert!(
            (chain.area - 500.0).abs() < 0.02,
            "{direction:?}: {}",
            chain.area
        );
    }
}

#[test]
fn a_depression_makes_the_air_before_the_orifice_thinner() {
    // docs/formulas.md 10.4: 28 inH2O alone makes it 6.9 % thinner than the room's.
    let read = read(28.0 * INCH, 2.0 * INCH);
    let plenum = chain(
        &room(),
        &read,
        &1000.0,
        FlowDirection::In,
        AirBeforeOrifice::Plenum,
    );
    let outside = chain(
        &room(),
        &read,
        &1000.0,
        FlowDirection::In,
        AirBeforeOrifice::Room,
    );
    let thinner = (plenum.mass / outside.mass).powi(2);
    assert!((thinner - (1.0 - 0.0688)).abs() < 1e-3, "{thinner}");
    assert!((plenum.density - moist_air(&101_325.0, &20.0, &0.5).density).abs() < 1e-12);
    assert!((plenum.volume * plenum.density - plenum.mass).abs() < 1e-15);
}

#[test]
fn leakage_is_taken_off_as_mass_at_the_orifice() {
    let mut read = read(10.0 * INCH, 2.0 * INCH);
    let whole = chain(
        &room(),
        &read,
        &1000.0,
        FlowDirection::In,
        AirBeforeOrifice::Plenum,
    );
    read.leak = 0.002;
    let less = chain(
        &room(),
        &read,
        &1000.0,
        FlowDirection::In,
        AirBeforeOrifice::Plenum,
    );
    let density =
        moist_air(&101_325.0, &20.0, &0.5).density * (101_325.0 - 10.0 * INCH) / 101_325.0;
    assert!((whole.mass - less.mass - 0.002 * density).abs() < 1e-12);
}

#[test]
fn the_effective_area_does_not_depend_on_the_test_pressure_and_the_root_does() {
    // The same port at 10 and at 28 inH2O: what isentropic flow through 600 mm² shows.
    let port = |test: f64| {
        let mass = isentropic_mass_flow(&600.0, &101_325.0, &293.15, &test);
        let room_density = moist_air(&101_325.0, &20.0, &0.5).density;
        PortFlow {
            mass,
            volume: mass / room_density,
            density: room_density,
            pressure: 101_325.0,
            area: 600.0,
        }
    };
    let (low, high) = (port(10.0 * INCH), port(28.0 * INCH));
    let root = low.at_reference_by_root(&(10.0 * INCH), &(28.0 * INCH));
    let full = low.at_reference(&(10.0 * INCH), &(28.0 * INCH));
    assert!((full / high.volume - 1.0).abs() < 1e-12);
    // docs/formulas.md 10.5: the root alone overstates by 2.5 %.
    assert!((root / high.volume - 1.0253).abs() < 1e-4);
}

#[test]
fn a_hot_day_shows_more_flow_than_the_reference_air() {
    // docs/formulas.md 10.6: 34 °C, 978 hPa, 4.5 % more than in air of 1.2 kg/m³.
    let density = moist_air(&97_800.0, &34.0, &0.3).density;
    let hot = PortFlow {
        mass: density,
        volume: 1.0,
        density,
        pressure: 97_800.0,
        area: 600.0,
    };
    let more = 1.0 / hot.in_air(&1.0, &1.2) - 1.0;
    assert!((more.abs() - 0.045).abs() < 0.004, "{more}");
}

#[test]
fn a_calibration_gives_back_its_own_flow() {
    let room = room();
    let density = room.density();
    let area = calibrated_area(&0.1, &density, &(8.0 * INCH));
    // At the calibration's own drop and air the orifice passes that flow, and nothing is tested.
    let read = read(1.0, 8.0 * INCH);
    let chain = chain(
        &room,
        &read,
        &area,
        FlowDirection::Out,
        AirBeforeOrifice::Room,
    );
    assert!(
        (chain.mass / density - 0.1).abs() < 1e-9,
        "{}",
        chain.mass / density
    );
}

fn state_of(csv: &str) -> benchhand_blueprint::engine_figures::EngineFigures {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    engine_figures(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn the_report_states_both_corrections_the_air_and_the_areas() {
    let engine = Engine::from_toml(ENGINE).expect("an engine");
    let csv = include_str!("../../examples/invented-v8-readings.csv");
    let readings = readings::from_csv(csv, &engine).expect("readings");
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).expect("a report");
    let value = |figure: Option<Figure>| figure.expect("a figure");
    for flow in &report.flow {
        let (root, full) = (
            value(flow.flow_at_reference.clone()),
            value(flow.flow_at_reference_compressible.clone()),
        );
        assert_eq!(
            (root.unit, full.unit),
            (Unit::CubicFootPerMinute, Unit::CubicFootPerMinute)
        );
        assert!(full.u.is_some(), "{}", flow.spot);
        assert_eq!(value(flow.reference_air.clone()).value, 1.2);
        let by = |name: &str| {
            flow.coefficients
                .iter()
                .find(|one| one.by_area.name() == name)
                .expect(name)
        };
        let (curtain, throat) = (by("curtain"), by("throat less stem"));
        let effective = value(flow.effective_area.clone()).value;
        for one in [
            curtain,
            throat,
            by("valve head"),
            by("least geometric area"),
        ] {
            let expected = effective / one.area.value;
            assert!((one.coefficient.value - expected).abs() < 1e-12);
            assert!(
                one.coefficient.value > 0.1 && one.coefficient.value < 1.0,
                "{one:?}"
            );
        }
    }
    // More lift, more flow.
    let first: Vec<f64> = report
        .flow
        .iter()
        .filter(|flow| flow.cylinder == 1)
        .map(|flow| value(flow.flow_in_reference_air.clone()).value)
        .collect();
    assert!(first.is_sorted() && first.len() == 4);
    assert_eq!(report.flow_by_lift.len(), 4);
    assert_eq!(report.flow_by_lift[0].cylinders, [1, 2]);
    assert!(report.flow_by_lift[3].spread.u.expect("known") > 0.0);
}

fn csv(metering: [(u32, &str, [f64; 3]); 3]) -> String {
    let mut csv = "spot,value,unit,u,gauge\n".to_owned();
    for (cylinder, port, values) in metering {
        for (lift, value) in ["0.2in", "0.3in", "0.4in"].iter().zip(values) {
            csv += &format!("flow/{cylinder}/{port}/{lift}/test,28.0,inH2O,,manometer\n");
            csv += &format!("flow/{cylinder}/{port}/{lift}/metering,{value:.2},inH2O,,manometer\n");
        }
    }
    csv
}

#[test]
fn ports_are_compared_within_their_kind_of_runner_and_never_across() {
    let state = state_of(&csv([
        (1, "intake/long", [2.0, 4.0, 6.0]),
        (2, "intake/long", [2.0, 4.0, 7.2]),
        (3, "intake/short", [3.0, 5.0, 9.0]),
    ]));
    let all = flow_against_brothers(&state);
    assert_eq!(all.len(), 2, "the only short one has no brothers");
    assert!(all.iter().all(|one| one.runner.as_deref() == Some("long")));
    let second = all
        .iter()
        .find(|one| one.cylinder == 2)
        .expect("cylinder 2");
    let last = &second.lifts[2];
    assert!((last.difference.value - ((7.2f64 / 6.0).sqrt() - 1.0)).abs() < 1e-9);
    assert_eq!((second.lifts[0].real, last.real), (Some(false), Some(true)));
    assert!((second.real_from.expect("a lift") - 0.4 * 25.4).abs() < 1e-9);
}

#[test]
fn before_and_after_share_the_bench_and_its_errors() {
    let port = |value: [f64; 3]| {
        csv([
            (1, "intake", value),
            (2, "intake", value),
            (3, "intake", value),
        ])
    };
    let before = state_of(&port([2.0, 4.0, 6.0]));
    let after = state_of(&port([2.0, 4.3, 6.5])).of_job("after");
    let all = flow_before_after(&before, &after);
    assert_eq!(all.len(), 3);
    let first = &all[0];
    assert_eq!(first.lifts[0].difference.value, 0.0);
    assert_eq!(first.lifts[0].real, Some(false));
    assert_eq!(
        (first.lifts[1].real, first.lifts[2].real),
        (Some(true), Some(true))
    );
    assert!((first.real_from.expect("a lift") - 0.3 * 25.4).abs() < 1e-9);
    // The plate's calibration, 0.8 %, does not enter the difference of two flows.
    let u = first.lifts[2].difference.u.expect("known");
    let own = before.flow[2].flow_at_reference.as_ref().expect("a flow");
    let relative = own.u().expect("known") / own.value();
    assert!(relative > 0.008 && u < relative, "{u} {relative}");
    assert!(first.mean.clone().expect("a mean").value > 0.0);
}

#[test]
fn the_mean_of_the_ports_changes_as_each_and_is_known_better() {
    let port = |value: [f64; 3]| {
        csv([
            (1, "intake", value),
            (2, "intake", value),
            (3, "intake", value),
        ])
    };
    let before = state_of(&port([2.0, 4.0, 6.0]));
    let after = state_of(&port([2.0, 4.3, 6.5])).of_job("after");
    let all = flow_changes(&before, &after);
    assert_eq!(all.len(), 3, "one a lift");
    let ports = flow_before_after(&before, &after);
    for (change, of_one) in all.iter().zip(&ports[0].lifts) {
        assert_eq!(change.cylinders, [1, 2, 3]);
        assert_eq!(change.real, of_one.real, "at {}", change.lift);
        let (mean, one) = (&change.difference, &of_one.difference);
        assert!((mean.value - one.value).abs() < 1e-12, "{mean:?} {one:?}");
        let (of_mean, of_one) = (mean.u.expect("known"), one.u.expect("known"));
        assert!(of_mean <= of_one * (1.0 + 1e-9), "{of_mean} {of_one}");
    }
    // A port that one state alone has counts in neither mean.
    let fewer = state_of(&csv([
        (1, "intake", [2.0, 4.0, 6.0]),
        (2, "exhaust", [2.0, 4.0, 6.0]),
        (3, "intake", [2.0, 4.0, 6.0]),
    ]));
    let of_two = flow_changes(&fewer, &after);
    assert!(
        of_two.iter().all(|one| one.cylinders == [1, 3]),
        "{of_two:?}"
    );
}

#[test]
fn a_flow_reading_without_its_metering_pressure_is_missing_it() {
    let engine = Engine::from_toml(ENGINE).expect("an engine");
    let csv = "spot,value,unit\nflow/1/exhaust/0.3in/test,28,inH2O\n";
    let readings = readings::from_csv(csv, &engine).expect("readings");
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).expect("a report");
    assert!(
        report
            .findings
            .iter()
            .any(|one| one.spot == "flow/1/exhaust/7.62mm/metering")
    );
    assert_eq!(report.flow[0].direction.to_string(), "out");
    assert_eq!(report.flow[0].flow_at_reference, None);
}

fn report_of_flow(csv: &str) -> benchhand_blueprint::Report {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let csv = format!("spot,value,unit,u,gauge\n{csv}");
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

/// A metering pressure of 0 ± 0.06 in H2O does not mean that no flow is certain: at +0.06 the plate
/// of 240 cfm at 8 in passes 20.8 cfm. Root mean square over a normal distribution cut at 0: the mean
/// of its upper half is u/√(2π).
#[test]
fn no_metering_pressure_is_no_certain_flow() {
    let report = report_of_flow(
        "flow/1/intake/0.050in/test,28,inH2O,0.1,
flow/1/intake/0.050in/metering,0,inH2O,0.06,
",
    );
    let flow = &report.flow[0];
    for figure in [flow.flow.clone(), flow.flow_at_reference.clone()] {
        let figure = figure.expect("a flow");
        assert_eq!(figure.value, 0.0);
        let u = figure.u.expect("known");
        let upper_half = 0.06 / std::f64::consts::TAU.sqrt();
        let expected = 240.0 * (upper_half / 8.0).sqrt();
        assert!((u / expected - 1.0).abs() < 1e-3, "{u} {expected}");
    }
    assert!(flow.area_ratio.clone().expect("a ratio").u.expect("known") > 0.02);
    assert_eq!(flow.mass_flow, None);
    let said = |text: &String| text.contains("not clear of 0 at flow/1/intake/1.27mm");
    assert!(report.remarks.iter().any(said), "{:?}", report.remarks);
    // Far below nothing it is a mistake, and no flow.
    let report = report_of_flow(
        "flow/1/intake/0.050in/test,28,inH2O,0.1,
flow/1/intake/0.050in/metering,-4.5,inH2O,0.06,
",
    );
    assert_eq!(
        (
            report.flow[0].flow.clone(),
            report.flow[0].area_ratio.clone()
        ),
        (None, None)
    );
    let said = |text: &String| text.contains("below 0 at flow/1/intake/1.27mm");
    assert!(report.remarks.iter().any(said), "{:?}", report.remarks);
}

/// One port at 28, 28 and 10 in H2O: its metering pressure follows the test pressure, and each
/// reading at 28 in says the same. Averaged as they stand they say 3 % less.
#[test]
fn repeats_at_different_test_pressures_are_brought_to_one_before_they_are_averaged() {
    let of = |test: f64| {
        format!(
            "flow/1/intake/0.300in/test,{test},inH2O,,manometer\nflow/1/intake/0.300in/metering,{:.6},inH2O,,manometer\n",
            4.55 * test / 28.0
        )
    };
    let one = report_of_flow(&of(28.0).repeat(3));
    let mixed = report_of_flow(&(of(28.0).repeat(2) + &of(10.0)));
    let (plain, uneven) = (&one.flow[0], &mixed.flow[0]);
    let close = |a: Option<Figure>, b: Option<Figure>| {
        let (a, b) = (a.expect("known"), b.expect("known"));
        assert!((a.value / b.value - 1.0).abs() < 1e-9, "{a:?} {b:?}");
        let (a, b) = (a.u.expect("known"), b.u.expect("known"));
        assert!(b < 2.0 * a, "{a} {b}");
    };
    close(
        plain.flow_at_reference.clone(),
        uneven.flow_at_reference.clone(),
    );
    close(
        plain.metering_at_reference.clone(),
        uneven.metering_at_reference.clone(),
    );
    close(plain.area_ratio.clone(), uneven.area_ratio.clone());
    let said = |report: &benchhand_blueprint::Report| {
        let about = |text: &str| text.contains("test pressures from 10.00 to 28.00 inH2O");
        report.findings.iter().any(|one| about(&one.text))
    };
    assert!(said(&mixed) && !said(&one), "{:?}", mixed.findings);
    // A bench that was set by eye to within 1 % is one test pressure.
    assert!(!said(&report_of_flow(&(of(28.0) + &of(27.8)))));
}
