//! Flow that was measured is told, also where it can be given at no reference depression.

mod common;

use benchhand_words::ShortReport;
use common::{engine, report_of};

const FLOWED: &str =
    "flow/1/intake/long/2mm/test,7,kPa,0.02\nflow/1/intake/long/2mm/flow,900,L/min,10\n";

#[test]
fn the_short_report_tells_flow_without_a_reference_at_its_test_pressure() {
    let report = report_of(&engine(1), &format!("spot,value,unit,u\n{FLOWED}"));
    let text = ShortReport::new(&report, "single", None).text();
    let lines: Vec<&str> = text.lines().collect();
    let at = lines
        .iter()
        .position(|line| line.starts_with("Flow as measured, L/min"));
    let at = at.unwrap_or_else(|| panic!("no flow in {text}"));
    let words = |line: &str| {
        line.split_whitespace()
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert!(lines[at].ends_with("2.00"), "{text}");
    assert_eq!(words(lines[at + 1]), ["intake", "long", "900"]);
    assert_eq!(words(lines[at + 2]), ["tested", "at,", "mmH2O", "713.8"]);
    assert!(
        lines[at + 3].contains("at no reference: the engine file states none"),
        "{text}"
    );
    assert!(
        lines.iter().all(|line| line.chars().count() <= 80),
        "{text}"
    );
}

#[test]
fn a_stated_reference_takes_the_place_of_what_was_measured() {
    let engine = format!("{}[flow]\nreference = \"7 kPa\"\n", engine(1));
    let report = report_of(&engine, &format!("spot,value,unit,u\n{FLOWED}"));
    let text = ShortReport::new(&report, "single", None).text();
    assert!(
        text.contains("Flow, L/min at ") && !text.contains("as measured"),
        "{text}"
    );
}

#[test]
fn many_ports_are_counted_and_not_listed() {
    let mut csv = "spot,value,unit,u\n".to_owned();
    for cylinder in 1..=8 {
        csv += &FLOWED.replace("flow/1/", &format!("flow/{cylinder}/"));
    }
    let report = report_of(&engine(8), &csv);
    let flow = ShortReport::new(&report, "eight", None).flow.expect("flow");
    let more = flow
        .ports
        .iter()
        .any(|(name, _)| name.starts_with("and 2 ports more"));
    assert!(more, "{:?}", flow.ports);
}
