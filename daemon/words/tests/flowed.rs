//! What a flow reading comes to, in a line.

mod common;

use benchhand_words::flowed;
use common::{ENGINE, READINGS, report_of};

/// The engine file says 240 cfm at 8 inH2O, and the flow of an orifice goes as the root of its
/// pressure (docs/formulas.md): 240·√(6.65/8)·√(28/27.5) = 220.8 cfm.
#[test]
fn a_reading_is_told_as_flow_at_the_reference_with_both_pressures_named() {
    let report = report_of(ENGINE, READINGS);
    let told = flowed(&report, "flow/2/intake/10.16mm").expect("a flow");
    assert_eq!(
        told,
        "flow 2 intake 0.400 in: 220.8 cfm at 28.00 inH2O (test 27.50 inH2O, metering 6.65 inH2O)"
    );
    assert_eq!(flowed(&report, "chamber/1"), None);
}

/// A shop in millimetres that thinks in inches of water and cubic feet.
#[test]
fn pressures_and_flow_are_told_in_the_units_that_the_engine_file_says() {
    let metric = ENGINE.replace("units = \"inch\"", "units = \"metric\"");
    let told = |engine: &str| {
        let report = report_of(engine, READINGS);
        flowed(&report, "flow/2/intake/10.16mm").expect("a flow")
    };
    let plain = told(&metric);
    assert!(
        plain.contains("L/min at") && plain.contains("mmH2O"),
        "{plain}"
    );
    let said = metric.replace(
        "[flow]\n",
        "[flow]\npressure_unit = \"inH2O\"\nflow_unit = \"cfm\"\n",
    );
    assert_eq!(
        told(&said),
        "flow 2 intake 10.16mm: 220.8 cfm at 28.00 inH2O (test 27.50 inH2O, metering 6.65 inH2O)"
    );
    let report = report_of(&said, READINGS);
    assert!(
        report
            .flow_by_lift
            .iter()
            .all(|one| one.mean.unit.symbol() == "cfm")
    );
}
