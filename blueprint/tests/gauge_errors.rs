//! What the error of one gauge does to figures that several of its readings make up, and what is
//! not known of a gauge. Expected values are worked by hand from `docs/formulas.md`, sections 1
//! and 11.

mod common;

use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use common::close;

/// One cylinder of 100 mm by 90 mm without gasket and deck errors; the burette's entry is given.
fn report_of(burette: &str, csv: &str) -> Report {
    let text = format!(
        "name = \"check\"\nunits = \"metric\"\ncylinders = 1\nbore = \"100 mm +- 0 mm\"\nstroke = \"90 mm +- 0 mm\"\n[gasket]\nbore = \"101 mm +- 0 mm\"\nthickness = \"1 mm +- 0 mm\"\n[tolerances]\nchamber_spread = \"0.5 cc\"\n[gauges.burette]\nkind = \"burette\"\n{burette}\n"
    );
    let engine = Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

/// A burette that reads 0.5 cc high makes the chamber 0.5 cc large and the dish 0.5 cc deep: the
/// clearance errs by 1 cc.
#[test]
fn a_burettes_calibration_adds_up_over_chamber_and_dish() {
    let burette = "u = \"0.5 cc\"\nrepeatability = \"0 cc\"\nresolution = \"0 cc\"";
    let dish = "spot,value,unit,u,gauge\nchamber/1,64,cc,,burette\ncrown/1,-20,cc,,burette\ndeck/1,0.2,mm,0,\n";
    let report = report_of(burette, dish);
    let clearance = report.cylinder(1).and_then(|one| one.clearance.clone());
    close(
        clearance.and_then(|one| one.u).expect("known"),
        1.0,
        1e-9,
        "clearance",
    );
    // The same dish poured over, by way of the liquid and the piston's depth: π/4·100²·10 mm.
    let poured = 78.539_816_339_744_83 + 20.0;
    let fluid = format!(
        "spot,value,unit,u,gauge\nchamber/1,64,cc,,burette\ncrown/1/fluid,{poured},cc,,burette\ncrown/1/depth,10,mm,0,\ndeck/1,0.2,mm,0,\n"
    );
    let other = report_of(burette, &fluid);
    let other = other.cylinder(1).and_then(|one| one.clearance.clone());
    close(
        other.and_then(|one| one.u).expect("known"),
        1.0,
        1e-9,
        "by liquid",
    );
}

/// Without a calibration the two do not make each other known.
#[test]
fn what_is_unknown_of_chamber_and_crown_is_unknown_of_the_clearance() {
    let burette = "repeatability = \"0.1 cc\"\nresolution = \"0.1 cc\"";
    let dish = "spot,value,unit,u,gauge\nchamber/1,64,cc,,burette\ncrown/1,-20,cc,,burette\ndeck/1,0.2,mm,0,\n";
    let report = report_of(burette, dish);
    let one = report.cylinder(1).expect("a cylinder");
    assert_eq!(one.clearance.clone().expect("a clearance").u, None);
    assert_eq!(one.compression.clone().expect("a ratio").u, None);
}

#[test]
fn a_gauge_without_repeatability_and_nothing_set_up_twice_leaves_u_unknown() {
    let burette = "u = \"0.05 cc\"\nresolution = \"0.1 cc\"";
    let once = "spot,value,unit,gauge\nchamber/1,64,cc,burette\n";
    let of = |csv: &str| {
        report_of(burette, csv)
            .cylinder(1)
            .and_then(|one| one.chamber.clone())
    };
    assert_eq!(of(once).expect("a chamber").u, None);
    let twice = "spot,value,unit,gauge\nchamber/1,64,cc,burette\nchamber/1,64.1,cc,burette\n";
    assert!(of(twice).expect("a chamber").u.is_some());
}
