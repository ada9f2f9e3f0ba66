//! Rounds that disagree all over, and mistakes that come in twos: what is said of them, and that no
//! spread is judged by a repeatability that the readings contradict.
//!
//! The numbers are chosen: pistons at 0.30 mm, a dial whose entry states 0.005 mm.

use std::fmt::Write as _;

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

const STATED: &str = "repeatability = \"0.005 mm\"\n";

/// Four pistons at these points; each reads 0.30 mm in the first round and this in the second.
fn told(entry: &str, points: &[&str], second: [f64; 4]) -> Report {
    let text = format!(
        "name = \"check\"\nunits = \"metric\"\ncylinders = 4\nbore = \"100 mm\"\nstroke = \"90 mm\"\n[tolerances]\ndeck_spread = \"0.10 mm\"\n[gauges.dial]\nkind = \"dial\"\nresolution = \"0.01 mm\"\nu = \"0.003 mm\"\nzero_u = \"0.002 mm\"\nzeroed = \"each\"\n{entry}"
    );
    let engine = Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"));
    let mut csv = "spot,value,unit,gauge\n".to_owned();
    for (cylinder, second) in (1..).zip(second) {
        for point in points {
            let _ = writeln!(csv, "deck/{cylinder}{point},0.30,mm,dial");
            let _ = writeln!(csv, "deck/{cylinder}{point},{second:.2},mm,dial");
        }
    }
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn disagreeing(report: &Report) -> Vec<&str> {
    let found = report.findings_of(FindingKind::Disagrees);
    found.map(|finding| finding.spot.as_str()).collect()
}

/// The second round lies 0.08 mm off either way: ten times what the entry states. The standard
/// deviation of one reading is √(Σd²/2n), here 0.08/√2 = 0.057 mm or thereabouts.
#[test]
fn a_spread_is_not_proven_by_a_repeatability_that_the_rounds_contradict() {
    for points in [&["/front"][..], &["/front", "/rear"], &[""]] {
        let report = told(STATED, points, [0.38, 0.23, 0.38, 0.23]);
        let verdict = &report.verdicts[0];
        assert_eq!(
            verdict.answer,
            VerdictAnswer::CannotTell,
            "{}",
            verdict.text
        );
        let deck = report.cylinder(3).and_then(|one| one.deck.clone());
        let u = deck.and_then(|deck| deck.u).expect("known");
        // 0.053 mm of one reading, of the mean of two rounds at each point.
        let expected = 0.0533 / (2.0 * points.len() as f64).sqrt();
        assert!((0.95..1.1).contains(&(u / expected)), "{u} {expected}");
        let said = |text: &&String| text.contains("The rounds of the deck points disagree");
        let remark = report.remarks.iter().find(said).expect("a remark");
        assert!(remark.contains("0.053 mm"), "{remark}");
        assert!(remark.contains("states 0.005 mm"), "{remark}");
    }
}

#[test]
fn rounds_that_agree_are_judged_by_what_is_stated() {
    let report = told(STATED, &["/front"], [0.30, 0.31, 0.30, 0.31]);
    assert_eq!(report.verdicts[0].answer, VerdictAnswer::Within);
    assert!(!report.remarks.iter().any(|text| text.contains("disagree")));
    assert_eq!(disagreeing(&report), [""; 0]);
}

/// One piston read 0.18 mm off at both points: the second mistake does not hide the first.
#[test]
fn two_mistakes_of_one_piston_are_both_found() {
    let report = told(STATED, &["/front", "/rear"], [0.30, 0.31, 0.48, 0.31]);
    assert_eq!(disagreeing(&report), ["deck/3/front", "deck/3/rear"]);
    assert_eq!(report.verdicts[0].answer, VerdictAnswer::CannotTell);
}
