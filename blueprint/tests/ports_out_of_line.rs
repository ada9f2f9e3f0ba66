//! A port whose flow is out of line with the others of its kind, and what is said of a bench's leak.
//! Flows follow the square root of the metering pressure; the amounts are invented.

use std::fmt::Write as _;

use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

fn told(rows: &str) -> Report {
    let text = "name = \"check\"\nunits = \"inch\"\ncylinders = 6\nbore = \"4 in\"\nstroke = \"3 in\"\n[flow]\nreference = \"28 inH2O\"\n[gauges.manometer]\nkind = \"manometer\"\nresolution = \"0.01 inH2O\"\nu = \"0.02 inH2O\"\nrepeatability = \"0.02 inH2O\"\n";
    let engine = Engine::from_toml(text).unwrap_or_else(|faults| panic!("{faults}"));
    let csv = format!("spot,value,unit,gauge\n{rows}");
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

/// Six intakes at three lifts that differ by some tenths of a percent; the flow of cylinder 3 is
/// multiplied by `factor` at the lifts of `at`.
fn six(factor: f64, at: &[u32]) -> String {
    let mut rows = String::new();
    for lift in [200, 300, 400] {
        for cylinder in 1..=6u32 {
            let by = if cylinder == 3 && at.contains(&lift) {
                factor
            } else {
                1.0
            };
            let even = 1.0 + 0.002 * f64::from((cylinder * 5) % 4);
            let metering = f64::from(lift) / 50.0 * (even * by).powi(2);
            let spot = format!("flow/{cylinder}/intake/0.{lift}in");
            let _ = writeln!(rows, "{spot}/test,28.00,inH2O,manometer");
            let _ = writeln!(rows, "{spot}/metering,{metering:.3},inH2O,manometer");
        }
    }
    rows
}

fn out_of_line(report: &Report) -> Vec<(String, String)> {
    let found = report.findings_of(FindingKind::Outlier);
    found
        .map(|one| (one.spot.clone(), one.text.clone()))
        .collect()
}

#[test]
fn a_port_that_flows_five_percent_less_at_one_lift_is_found_there() {
    let found = out_of_line(&told(&six(0.95, &[300])));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "flow/3/intake/7.62mm");
    // 5 % off a port that was 0.3 % over the mean of the others.
    let percent: f64 = found[0]
        .1
        .split_once("it flows ")
        .and_then(|(_, rest)| rest.split(' ').next()?.parse().ok())
        .expect("the percent");
    assert!((4.5..5.5).contains(&percent), "{found:?}");
    assert!(found[0].1.contains("% less"), "{found:?}");
}

#[test]
fn a_port_that_is_off_at_every_lift_is_told_once() {
    let found = out_of_line(&told(&six(1.06, &[200, 300, 400])));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].1.contains("at 3 lifts"), "{found:?}");
}

#[test]
fn ports_within_two_percent_are_alike() {
    assert_eq!(out_of_line(&told(&six(0.985, &[200, 300, 400]))), []);
    assert_eq!(out_of_line(&told(&six(1.0, &[]))), []);
}

#[test]
fn the_leak_that_is_taken_off_is_said_and_off_what_came_before_it() {
    let rows = six(1.0, &[]);
    let of = |rows: &str| {
        let remarks = told(rows).remarks;
        remarks
            .into_iter()
            .find(|remark| remark.contains("leak of the flow bench"))
    };
    assert_eq!(of(&rows), None);
    let again = "flow/1/intake/0.200in/test,28.00,inH2O,manometer\nflow/1/intake/0.200in/metering,4.00,inH2O,manometer\nflow/1/intake/0.200in/leak,1.50,cfm,\n";
    let told = of(&(rows + again)).expect("the remark");
    assert!(told.contains("at 1 spot: 1.50 cfm"), "{told}");
    assert!(
        told.contains("off them as well: flow/1/intake/5.08mm"),
        "{told}"
    );
}

/// Port 1 has two pressures and no orifice to make a flow of them, the others have flows in cfm.
fn mixed(of_gauge: &str) -> Report {
    let mut rows = String::new();
    for (cylinder, part) in [
        (1, "metering,47.0,inH2O,manometer".to_owned()),
        (2, format!("flow,171.0,cfm,{of_gauge}")),
        (3, format!("flow,169.0,cfm,{of_gauge}")),
    ] {
        let spot = format!("flow/{cylinder}/intake/0.300in");
        let _ = writeln!(rows, "{spot}/test,28.00,inH2O,manometer");
        let _ = writeln!(rows, "{spot}/{part}");
    }
    told(&rows)
}

#[test]
fn a_ratio_of_pressures_is_never_set_against_a_flow() {
    let report = mixed("");
    let [one] = report.flow_by_lift.as_slice() else {
        panic!("{:?}", report.flow_by_lift)
    };
    assert_eq!(one.cylinders, [2, 3]);
    assert!((one.mean.value - 170.0).abs() < 0.1, "{:?}", one.mean);
    assert_eq!(out_of_line(&report), []);
}

/// The widths of a manometer are pressures. They say nothing of a flow that was read beside it.
#[test]
fn a_flow_has_no_width_from_the_manometer_that_is_named_beside_it() {
    let known = |report: &Report| {
        let of_two = report.flow.iter().find(|one| one.cylinder == 2);
        let flow = of_two.and_then(|one| one.flow_at_reference.clone());
        flow.expect("a flow").u_known.expect("what is known")
    };
    let (named, alone) = (known(&mixed("manometer")), known(&mixed("")));
    assert!((named / alone - 1.0).abs() < 1e-9, "{named} {alone}");
}
