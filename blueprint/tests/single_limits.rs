//! The least and the most that each cylinder may have. The decision rule is that of ISO 14253-1: a
//! limit is kept or exceeded only by more than the expanded uncertainty. The numbers are worked by
//! hand from it.

use benchhand_blueprint::decide::VerdictAnswer::{self, CannotTell, Outside, Within};
use benchhand_blueprint::report::{ToleranceName, ToleranceVerdict};
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

/// Four chambers by a burette whose offset is known to 0.1 cc (one standard deviation) and whose
/// repeatability is nothing beside that: U = 0.20 cc.
fn report_with(tolerances: &str) -> Report {
    let text = format!(
        "name = \"check\"\nunits = \"metric\"\ncylinders = 4\nbore = \"86 mm +- 0 mm\"\nstroke = \"86 mm +- 0 mm\"\n[gasket]\nbore = \"87 mm +- 0 mm\"\nthickness = \"1 mm +- 0 mm\"\n[piston]\ncrown = \"0 cc +- 0 cc\"\n[liquid]\nkind = \"water\"\ntemperature = \"20 degC +- 0 degC\"\nchamber_temperature = \"20 degC +- 0 degC\"\n[tolerances]\n{tolerances}\n[gauges.b]\nkind = \"burette\"\nresolution = \"0.001 cc\"\nu = \"0.1 cc\"\nrepeatability = \"0.001 cc\"\n[gauges.dial]\nkind = \"dial\"\nresolution = \"0.001 mm\"\nu = \"0.005 mm\"\nzero_u = \"0 mm\"\nrepeatability = \"0.001 mm\"\n"
    );
    let engine = Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"));
    let csv = "spot,value,unit,gauge\nchamber/1,45.0,cc,b\nchamber/2,45.5,cc,b\nchamber/3,46.0,cc,b\nchamber/4,46.5,cc,b\ndeck/1/front,0.20,mm,dial\ndeck/1/rear,0.20,mm,dial\ndeck/2/front,0.05,mm,dial\ndeck/2/rear,0.05,mm,dial\n";
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn judged(report: &Report, about: ToleranceName) -> Vec<&ToleranceVerdict> {
    report
        .verdicts
        .iter()
        .filter(|one| one.about == about)
        .collect()
}

fn answers(report: &Report, about: ToleranceName) -> Vec<(u32, VerdictAnswer)> {
    judged(report, about)
        .iter()
        .map(|one| (one.cylinder.expect("a cylinder"), one.answer))
        .collect()
}

/// U of the chambers is 0.2 cc and a little for the liquid: 45.4 is 0.4 from chamber 1 and 0.1 from
/// chamber 2.
#[test]
fn a_chamber_is_judged_by_itself_with_its_expanded_uncertainty() {
    let report = report_with("least_chamber = \"45.4 cc\"");
    assert_eq!(
        answers(&report, ToleranceName::Chamber),
        [(1, Outside), (2, CannotTell), (3, Within), (4, Within)]
    );
    let both = report_with("least_chamber = \"45.4 cc\"\nmost_chamber = \"46.1 cc\"");
    assert_eq!(
        answers(&both, ToleranceName::Chamber),
        [(1, Outside), (2, CannotTell), (3, CannotTell), (4, Outside)]
    );
    // People read 95 %, and the limit that decides.
    let first = judged(&both, ToleranceName::Chamber)[0];
    assert!(first.text.contains("limit 45.40"), "{}", first.text);
    let chamber = both.cylinder(1).and_then(|one| one.chamber.clone());
    let all = chamber.expect("a chamber").expanded().expect("known");
    assert!(
        first.text.contains(&format!("± {all:.2} cc")),
        "{} has {all}",
        first.text
    );
}

/// A deck of 0.05 mm with U = 0.01 mm, and one of 0.20.
#[test]
fn a_deck_is_judged_by_itself() {
    let report = report_with("least_deck = \"0.1 mm\"\nmost_deck = \"0.3 mm\"");
    assert_eq!(
        answers(&report, ToleranceName::Deck),
        [(1, Within), (2, Outside)]
    );
}

/// Swept 499.56 cc; clearance 45.0 + 1.162 + 5.945 = 52.107 and 45.5 + 0.290 + 5.945 = 51.735 cc:
/// 10.587 and 10.656. U of 0.2 cc is 0.037 of the ratio.
#[test]
fn compression_is_judged_cylinder_by_cylinder() {
    let answered = |most: &str| {
        let report = report_with(&format!("most_compression = {most}"));
        answers(&report, ToleranceName::Compression)
    };
    assert_eq!(answered("10.60"), [(1, CannotTell), (2, Outside)]);
    assert_eq!(answered("10.70"), [(1, Within), (2, Within)]);
    assert_eq!(answered("10.50"), [(1, Outside), (2, Outside)]);
}

#[test]
fn a_least_above_its_most_is_refused_with_both() {
    let text = "name = \"x\"\ncylinders = 4\nunits = \"metric\"\n[tolerances]\nleast_chamber = \"47 cc\"\nmost_chamber = \"46 cc\"\n";
    let faults = Engine::from_toml(text).expect_err("refused").to_string();
    assert!(
        faults.contains("47 cc") && faults.contains("46 cc"),
        "{faults}"
    );
}
