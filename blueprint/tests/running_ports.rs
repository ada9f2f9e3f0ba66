//! What ports meet in the running engine, and errors that ports share.

use benchhand_blueprint::{Engine, ReportInputs, readings, report};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");

/// The index by hand from `docs/formulas.md`, 10.13 and 10.14, on the example's dimensions; the
/// largest piston speed is 1.63 times the mean at its rod ratio (10.13).
#[test]
fn the_report_says_what_each_port_meets_in_the_running_engine() {
    let with = |kind: &str, cells: [f64; 2]| -> String {
        let row = |lift: &str, metering: f64| {
            format!(
                "flow/1/intake/{kind}{lift}/test,28,inH2O,manometer\nflow/1/intake/{kind}{lift}/metering,{metering},inH2O,manometer\n"
            )
        };
        row("0.200in", cells[0]) + &row("0.400in", cells[1])
    };
    let both = with("long/", [2.0, 5.0]) + &with("short/", [1.8, 4.8]);
    let engine = Engine::from_toml(ENGINE).expect("an engine");
    let csv = format!("spot,value,unit,gauge\n{both}");
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).expect("a report");
    assert_eq!(report.running_ports.len(), 2, "kinds of runner apart");
    let long = &report.running_ports[0];
    assert_eq!((long.runner.as_deref(), long.lifts), (Some("long"), 2));
    let by_head = |lift: usize| {
        let all = &report.flow[lift].coefficients;
        all.iter()
            .find(|one| one.by_area.name() == "valve head")
            .expect("valve head")
    };
    let mean = 0.5 * (by_head(0).coefficient.value + by_head(1).coefficient.value);
    let found = long.mean_coefficient.clone().expect("a mean");
    assert!((found.value - mean).abs() < 1e-12);

    let speed = 2.0 * 3.548 * 0.0254 * 6500.0 / 60.0;
    let sound = (1.4 * 287.05 * (273.15 + 22.0f64)).sqrt();
    let index = (4.047f64 / 2.037).powi(2) * speed / (mean * sound);
    let found = long.mach_index.clone().expect("an index");
    assert!((found.value - index).abs() < 1e-9, "{found:?} {index}");
    assert!(found.u.is_some());

    let throat = 1.793f64.powi(2) - 0.337f64.powi(2);
    let velocity = long.velocity.as_ref().expect("a velocity");
    let feet = 4.047f64.powi(2) / throat * speed / 0.3048;
    assert!((velocity.mean.value - feet).abs() < 1e-6, "{velocity:?}");
    let largest = velocity.largest.clone().expect("a rod is stated").value;
    assert!((largest / velocity.mean.value - 1.63).abs() < 0.02);
}

/// One leak that is taken off at both ports moves both and cancels in how far they differ.
#[test]
fn a_leak_that_two_ports_share_cancels_between_them() {
    let engine = Engine::from_toml(ENGINE).expect("an engine");
    let row = |cylinder| {
        format!(
            "flow/{cylinder}/intake/0.3in/test,28,inH2O,0\nflow/{cylinder}/intake/0.3in/metering,4,inH2O,0\nflow/{cylinder}/intake/0.3in/leak,6,cfm,2\n"
        )
    };
    let csv = format!("spot,value,unit,u\n{}{}", row(1), row(2));
    let mut readings =
        readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let spread = |readings: &[benchhand_blueprint::Reading]| {
        let inputs = ReportInputs {
            engine: &engine,
            readings,
            stages: &[],
            stage: None,
        };
        let report = report(&inputs).expect("a report");
        (
            report.flow_by_lift[0].mean.u.expect("known"),
            report.flow_by_lift[0].spread.u.expect("known"),
        )
    };
    let (own_mean, own) = spread(&readings);
    assert!(own > 2.0, "{own}");
    for reading in &mut readings {
        if let readings::ReadingValue::Flow(parts) = &mut reading.value {
            parts.leak.as_mut().expect("a leak").shared = Some("the leak".to_owned());
        }
    }
    let (mean, spread) = spread(&readings);
    assert!(
        spread < 1e-9 && mean > own_mean,
        "{spread}, {mean}, {own_mean}"
    );
}
