//! A flow coefficient above 1 on the least area is said, and nothing is judged by it.
//!
//! Against geometry and mass balance: the effective area of an orifice of 40 mm and coefficient 0.6
//! that shows 4 kPa while the port shows 7 kPa is about √(4/7) of 754 mm², some 560 mm²; a curtain of
//! less than that cannot have passed it.

#[path = "common/asking.rs"]
mod asking;

use asking::{ask, says};
use benchhand_blueprint::report::{FindingKind, Report};
use benchhand_blueprint::{Engine, ReportInputs, readings, report};

const ENGINE: &str = r#"name = "a bench"
invented = true
units = "metric"
cylinders = 2
bore = "86 mm"
stroke = "86 mm"
speed = "6000 rpm"
[flow]
reference = "7000 Pa"
air_pressure = "101325 Pa +- 10 Pa"
air_temperature = "20 degC +- 0.1 degC"
humidity = "50 %RH +- 1 %RH"
orifice_before = "plenum"
orifice = "plate"
[flow.orifices.plate]
diameter = "40 mm +- 0.01 mm"
cd = "0.6 1 +- 0.001 1"
[ports.intake]
valve = "40 mm +- 0.01 mm"
throat = "34 mm +- 0.01 mm"
stem = "7 mm +- 0.01 mm"
"#;

/// Readings of the ports of both cylinders: for each lift the metering pressure, Pa.
fn csv(ports: [&[(&str, f64)]; 2]) -> String {
    let mut csv = "spot,value,unit,u\n".to_owned();
    for (at, lifts) in ports.iter().enumerate() {
        for (lift, metering) in *lifts {
            let spot = format!("flow/{}/intake/{lift}", at + 1);
            csv += &format!("{spot}/test,7000,Pa,1\n{spot}/metering,{metering},Pa,1\n");
            let mm = lift.trim_end_matches("mm");
            csv += &format!("{spot}/lift,{mm},mm,0.01\n");
        }
    }
    csv
}

fn told(engine: &str, csv: &str) -> Report {
    let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn impossible(report: &Report) -> Vec<(&str, &str)> {
    let found = report.findings_of(FindingKind::Impossible);
    found
        .map(|one| (one.spot.as_str(), one.text.as_str()))
        .collect()
}

#[test]
fn a_port_that_passes_more_than_its_curtain_is_named_with_its_lift() {
    // At 3 mm the curtain is 377 mm²; the valve stood at another lift.
    let wrong: &[(&str, f64)] = &[("3mm", 4000.0), ("6mm", 4000.0), ("9mm", 4400.0)];
    let sound: &[(&str, f64)] = &[("3mm", 1100.0), ("6mm", 4000.0), ("9mm", 4400.0)];
    let found = told(ENGINE, &csv([wrong, sound]));
    let findings = impossible(&found);
    let [(spot, text)] = findings[..] else {
        panic!("{findings:?}");
    };
    assert_eq!(spot, "flow/1/intake/3mm");
    assert!(text.contains("curtain is 1.5"), "{text}");
    for suspect in ["lift", "throat", "orifice", "zero"] {
        assert!(text.contains(suspect), "{text}");
    }
    assert_eq!(impossible(&told(ENGINE, &csv([sound, sound]))), []);
}

#[test]
fn a_throat_that_is_too_small_for_the_air_is_named() {
    // 24 mm less the stem leaves 414 mm² at every lift; the lifts are right.
    let engine = ENGINE.replace("34 mm", "24 mm");
    let lifts: &[(&str, f64)] = &[("6mm", 4000.0), ("9mm", 4400.0)];
    let found = told(&engine, &csv([lifts, lifts]));
    assert_eq!(impossible(&found).len(), 4);
    for (spot, text) in impossible(&found) {
        assert!(text.contains("throat less stem is"), "{spot}: {text}");
    }
}

#[test]
fn nothing_is_judged_by_a_flow_that_cannot_be() {
    let wrong: &[(&str, f64)] = &[("3mm", 4000.0), ("6mm", 4300.0)];
    let sound: &[(&str, f64)] = &[("3mm", 1100.0), ("6mm", 4000.0)];
    let csv = csv([wrong, sound]);
    let answer = ask(ENGINE, &csv, serde_json::json!({"ask": "ports"}));
    let port = &answer["answer"]["ports"][0];
    let lifts = port["lifts"].as_array().expect("lifts");
    assert!(lifts[0]["real"].is_null(), "{lifts:?}");
    assert_eq!(lifts[1]["real"], true, "{lifts:?}");
    // The mean over the lifts is of the one that can be.
    assert_eq!(port["mean"]["value"], lifts[1]["difference"]["value"]);
    assert!(says(&answer["remarks"], "flow/1/intake/3mm"), "{answer}");
    // One lift is left of that port: a mean over the lifts would be one of a wrong flow.
    let report = told(ENGINE, &csv);
    let means: Vec<bool> = report
        .running_ports
        .iter()
        .map(|port| port.mean_coefficient.is_some())
        .collect();
    assert_eq!(means, [false, true]);
}

#[test]
fn a_coefficient_above_1_within_its_uncertainty_is_a_remark() {
    // The lift is not measured but as asked for: 0.1 mm of 4.4 mm are assumed.
    let rows = csv([&[("4.4mm", 4000.0)], &[]]);
    let rows: String = rows
        .lines()
        .filter(|row| !row.contains("/lift,"))
        .map(|row| format!("{row}\n"))
        .collect();
    let found = told(ENGINE, &rows);
    let flow = &found.flow[0];
    let curtain = flow
        .coefficients
        .iter()
        .find(|one| one.by_area.name() == "curtain");
    let coefficient = curtain.expect("a curtain").coefficient.value;
    assert!(coefficient > 1.0 && coefficient < 1.03, "{coefficient}");
    assert_eq!(impossible(&found), []);
    let said = |text: &String| text.contains("above 1") && text.contains("flow/1/intake/4.4mm");
    assert!(found.remarks.iter().any(said), "{:?}", found.remarks);
}
