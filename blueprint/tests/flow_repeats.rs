//! Repeats of a port that disagree: its dimensions, and its flow at one lift.

use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

const ENGINE: &str = "name = \"check\"\nunits = \"inch\"\ncylinders = 1\nbore = \"4 in\"\nstroke = \"3.5 in\"\n[flow]\nreference = \"28 inH2O\"\n[gauges.caliper]\nkind = \"micrometer\"\nresolution = \"0.01 mm\"\nu = \"0.02 mm\"\nrepeatability = \"0.02 mm\"\n[gauges.manometer]\nkind = \"manometer\"\nresolution = \"0.01 inH2O\"\nu = \"0.02 inH2O\"\nzero_u = \"0.01 inH2O\"\n";

fn told(rows: &[String]) -> Report {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let csv = format!("spot,value,unit,gauge\n{}\n", rows.join("\n"));
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn try_it() {
    let mut rows = vec![];
    for v in ["36.00", "38.00"] {
        rows.push(format!("throat/1/intake,{v},mm,caliper"));
    }
    for lift in 1..=6 {
        for round in 0..2 {
            let m = f64::from(lift) * 2.0 + 0.02 * f64::from(round) + if lift == 4 && round == 1 { 1.0 } else { 0.0 };
            rows.push(format!("flow/1/intake/0.{lift}00in/test,28.00,inH2O,manometer"));
            rows.push(format!("flow/1/intake/0.{lift}00in/metering,{m:.2},inH2O,manometer"));
        }
    }
    let report = told(&rows);
    for f in &report.findings { println!("{:?} {} {}", f.kind, f.spot, f.text); }
    let _ = FindingKind::Disagrees;
}
