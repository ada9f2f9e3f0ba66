//! The report on the example engine: what it finds, and the form of its document.

use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../examples/invented-v8-readings.csv");

fn report_of(csv: &str) -> Report {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn spots(report: &Report, kind: FindingKind) -> Vec<&str> {
    report
        .findings_of(kind)
        .map(|finding| finding.spot.as_str())
        .collect()
}

fn without(line_starts_with: &str) -> String {
    READINGS
        .lines()
        .filter(|line| !line.starts_with(line_starts_with))
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn one_large_chamber_and_one_bad_pair_are_found_and_nothing_else() {
    let report = report_of(READINGS);
    assert_eq!(spots(&report, FindingKind::Outlier), ["chamber/6"]);
    assert_eq!(spots(&report, FindingKind::Disagrees), ["deck/3"]);
    assert_eq!(spots(&report, FindingKind::Missing), [""; 0]);
    let text = &report
        .findings_of(FindingKind::Outlier)
        .next()
        .expect("one")
        .text;
    assert!(text.contains("larger") && text.contains("cc"), "{text}");
    let text = &report
        .findings_of(FindingKind::Disagrees)
        .next()
        .expect("one")
        .text;
    assert!(
        text.contains("0.0060 in") && text.contains("front"),
        "{text}"
    );
}

#[test]
fn without_the_two_faults_nothing_is_unlike() {
    let sound = READINGS
        .replace("chamber/6,65.0", "chamber/6,64.1")
        .replace("chamber/6,65.1", "chamber/6,64.2")
        .replace("deck/3/front,0.0110", "deck/3/front,0.0080")
        .replace("deck/3/rear,0.0050", "deck/3/rear,0.0080");
    let report = report_of(&sound);
    assert_eq!(spots(&report, FindingKind::Outlier), [""; 0]);
    assert_eq!(spots(&report, FindingKind::Disagrees), [""; 0]);
}

#[test]
fn what_was_measured_once_is_listed_and_what_was_repeated_is_not() {
    let report = report_of(READINGS);
    let once = spots(&report, FindingKind::Unrepeated);
    assert!(once.contains(&"crown/1") && once.contains(&"gasket/thickness"));
    assert!(
        once.iter()
            .all(|spot| !spot.starts_with("chamber") && !spot.starts_with("deck"))
    );
}

#[test]
fn a_missing_chamber_is_listed_and_not_filled_in() {
    let report = report_of(&without("chamber/3"));
    assert_eq!(spots(&report, FindingKind::Missing), ["chamber/3"]);
    let third = report.cylinder(3).expect("cylinder 3");
    assert_eq!(
        (
            third.chamber.clone(),
            third.clearance.clone(),
            third.compression.clone()
        ),
        (None, None, None)
    );
    assert!(third.deck.is_some() && third.crown.is_some());
    assert_eq!(report.summary.counts.chamber, 7);
}

#[test]
fn a_missing_point_is_named_and_its_partner_kept() {
    let report = report_of(&without("deck/2/rear"));
    assert_eq!(spots(&report, FindingKind::Missing), ["deck/2/rear"]);
    assert!(report.cylinder(2).expect("cylinder 2").deck.is_some());
}

#[test]
fn a_bad_repeat_disagrees_and_makes_no_outlier_of_its_cylinder() {
    // The second pour of chamber 2 lost a cc; its mean would be out of line with the others.
    let csv = READINGS.replacen("chamber/2,63.9,", "chamber/2,62.4,", 1);
    assert_ne!(csv, READINGS);
    let report = report_of(&csv);
    assert_eq!(
        spots(&report, FindingKind::Disagrees),
        ["deck/3", "chamber/2"]
    );
    assert_eq!(spots(&report, FindingKind::Outlier), ["chamber/6"]);
}

#[test]
fn shared_errors_move_the_mean_and_not_the_spread() {
    let worse = ENGINE.replace("u = \"0.05 cc\"", "u = \"0.50 cc\"");
    let engine = Engine::from_toml(&worse).expect("an engine");
    let readings = readings::from_csv(READINGS, &engine).expect("readings");
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let worse = report(&inputs).expect("a report").summary;
    let summary = report_of(READINGS).summary;
    let u = |figure: Option<benchhand_blueprint::Figure>| figure.and_then(|f| f.u).expect("known");
    assert!((u(worse.chamber_spread) - u(summary.chamber_spread)).abs() < 1e-12);
    assert!(u(worse.chamber_mean) > 0.5 && u(summary.chamber_mean) < 0.1);
}

#[test]
fn a_gauge_of_which_nothing_is_known_gives_null() {
    let csv = READINGS.replace(",burette,", ",another,");
    let report = report_of(&csv);
    let chamber = report
        .cylinder(1)
        .and_then(|one| one.chamber.clone())
        .expect("a chamber");
    assert_eq!(chamber.u, None);
    assert_eq!(report.summary.chamber_mean.expect("a mean").u, None);
    assert_eq!(report.summary.compression_mean.expect("a mean").u, None);
    assert!(report.summary.deck_mean.expect("a mean").u.is_some());
    assert!(
        report
            .lacking
            .iter()
            .any(|text| text.contains("gauge another")),
        "{:?}",
        report.remarks
    );
}

#[test]
fn the_document_has_the_form_that_programs_read() {
    let report = report_of(&without("crown/8"));
    let json = serde_json::to_value(&report).expect("json");
    assert_eq!(json["units"], "inch");
    let cylinders = json["cylinders"].as_array().expect("a list");
    assert_eq!(cylinders.len(), 8);
    for (at, cylinder) in cylinders.iter().enumerate() {
        assert_eq!(cylinder["cylinder"], at + 1);
        for (key, unit) in [
            ("chamber", "cc"),
            ("deck", "in"),
            ("crown", "cc"),
            ("clearance", "cc"),
            ("compression", "1"),
        ] {
            let figure = &cylinder[key];
            if at == 7 && ["crown", "clearance", "compression"].contains(&key) {
                assert!(figure.is_null());
                continue;
            }
            assert_eq!(figure["unit"], unit, "{key}");
            assert!(
                figure["value"].is_f64() && figure["u"].is_f64(),
                "{key}: {figure}"
            );
            let one = &report.cylinders[at];
            let same = match key {
                "chamber" => &one.chamber,
                "deck" => &one.deck,
                "crown" => &one.crown,
                "clearance" => &one.clearance,
                _ => &one.compression,
            };
            // `dof` stands there exactly where it matters.
            let few = same.as_ref().expect("a figure").dof.is_some();
            let keys: Vec<&str> = figure
                .as_object()
                .expect("an object")
                .keys()
                .map(String::as_str)
                .collect();
            let all = ["dof", "u", "unit", "value"];
            assert_eq!(keys, all[usize::from(!few)..], "{key}: {figure}");
        }
    }
    for key in [
        "chamber_mean",
        "chamber_spread",
        "deck_mean",
        "deck_spread",
        "compression_mean",
        "compression_spread",
    ] {
        assert!(json["summary"][key]["value"].is_f64(), "{key}");
    }
    for finding in json["findings"].as_array().expect("a list") {
        let kind = finding["kind"].as_str().expect("a kind");
        assert!(["outlier", "disagrees", "missing", "unrepeated"].contains(&kind));
        assert!(finding["spot"].is_string() && finding["text"].is_string());
    }
    let text = serde_json::to_string(&json).expect("text");
    let back: Report = serde_json::from_str(&text).expect("the same document");
    assert_eq!(back, report_of(&without("crown/8")));
}

#[test]
fn flow_is_corrected_to_the_reference_depression() {
    let report = report_of(READINGS);
    assert_eq!(report.flow.len(), 8);
    let last = report
        .flow
        .iter()
        .find(|flow| flow.spot.to_string() == "flow/1/intake/10.16mm")
        .expect("0.400 in");
    let value = |figure: Option<benchhand_blueprint::Figure>| figure.expect("a figure").value;
    assert!((value(last.test_pressure.clone()) - 27.5).abs() < 1e-12);
    assert!((value(last.metering_pressure.clone()) - 6.6).abs() < 1e-12);
    assert!((value(last.metering_at_reference.clone()) - 6.6 * 28.0 / 27.5).abs() < 1e-9);
    let flow = 240.0 * (6.6f64 / 8.0).sqrt();
    assert!((value(last.flow.clone()) - flow).abs() < 1e-9);
    assert!((value(last.flow_at_reference.clone()) - flow * (28.0f64 / 27.5).sqrt()).abs() < 1e-9);
    assert!(
        last.flow_at_reference
            .clone()
            .expect("a figure")
            .u
            .is_some()
    );
    assert!(last.correction.contains("square root"));
}

#[test]
fn tolerances_are_judged_with_three_answers() {
    use benchhand_blueprint::decide::VerdictAnswer;
    let report = report_of(READINGS);
    let judged = |about: &str| {
        report
            .verdicts
            .iter()
            .find(|one| one.about.name() == about && one.cylinder.is_none())
    };
    let chamber = judged("chamber_spread").expect("a verdict");
    assert_eq!(chamber.answer, VerdictAnswer::Outside, "{}", chamber.text);
    assert!(chamber.text.contains("exceeds 0.50 cc"), "{}", chamber.text);
    let quench: Vec<_> = report
        .verdicts
        .iter()
        .filter(|one| one.about.name() == "quench")
        .collect();
    assert_eq!(quench.len(), 8);
    // Without the large chamber and the bad pair the spread is small, but a tolerance as small as
    // what equal parts would show cannot be told, and the readings that would help are named.
    let engine = ENGINE.replace("chamber_spread = \"0.5 cc\"", "chamber_spread = \"0.2 cc\"");
    let engine = Engine::from_toml(&engine).expect("an engine");
    let csv = READINGS.replace("chamber/6,65.", "chamber/6,64.");
    let readings = readings::from_csv(&csv, &engine).expect("readings");
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = benchhand_blueprint::report(&inputs).expect("a report");
    let chamber = &report.verdicts[0];
    assert_eq!(
        chamber.answer,
        VerdictAnswer::CannotTell,
        "{}",
        chamber.text
    );
    assert!(!chamber.measure_again.is_empty());
    assert!(
        chamber
            .measure_again
            .iter()
            .all(|spot| spot.starts_with("chamber/"))
    );
    let equals = report.summary.spreads_of_equals;
    let shown = equals.chamber.expect("known").value;
    assert!(shown > 0.05 && shown < 0.4);
    assert!(report.remarks.iter().any(|text| text.contains("U = 2")));
}

/// A report on the example's gauges with two pistons.
fn of_two(front: [f64; 2], rear: [f64; 2]) -> Report {
    let engine = include_str!("../../examples/invented-v8.toml")
        .replace("cylinders = 8", "cylinders = 2")
        .replace("banks = [[1, 3, 5, 7], [2, 4, 6, 8]]", "banks = [[1, 2]]")
        .replace(
            "firing_order = [1, 2, 6, 7, 8, 5, 3, 4]",
            "firing_order = [1, 2]",
        );
    let engine = Engine::from_toml(&engine).unwrap_or_else(|faults| panic!("{faults}"));
    let mut csv = "spot,value,unit,gauge\n".to_owned();
    for at in 0..2 {
        let n = at + 1;
        csv += &format!("deck/{n}/front,{:.4},in,dial\n", front[at]);
        csv += &format!("deck/{n}/rear,{:.4},in,dial\n", rear[at]);
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

#[test]
fn two_points_of_a_piston_that_differ_are_found_though_it_has_few_brothers() {
    let found = of_two([0.0080, 0.0085], [0.0080, 0.0145]);
    assert_eq!(spots(&found, FindingKind::Disagrees), ["deck/2"]);
    let sound = of_two([0.0080, 0.0085], [0.0085, 0.0090]);
    assert!(spots(&sound, FindingKind::Disagrees).is_empty());
}

#[test]
fn a_deck_point_that_nobody_knows_is_refused_with_those_that_are_known() {
    let csv = "spot,value,unit\ndeck/3/left,0.008,in\n";
    let engine = Engine::from_toml(ENGINE).expect("an engine");
    let words = readings::from_csv(csv, &engine)
        .expect_err("no such point")
        .to_string();
    assert!(words.contains("front, rear, thrust, antithrust"), "{words}");
    let own = ENGINE.replace("cylinders = 8", "cylinders = 8\ndeck_points = [\"left\"]");
    let engine = Engine::from_toml(&own).unwrap_or_else(|faults| panic!("{faults}"));
    assert!(readings::from_csv(csv, &engine).is_ok());
}

#[test]
fn what_was_asked_for_and_not_measured_has_no_uncertainty_of_nothing() {
    let found = report_of(READINGS);
    assert!(!found.flow.is_empty());
    for one in &found.flow {
        assert_eq!(one.lift.u, None);
        assert_eq!(one.reference_air.clone().expect("stated").u, None);
        let least = one
            .coefficients
            .iter()
            .find(|one| one.by_area.name() == "least geometric area")
            .expect("the seat is stated");
        assert_eq!(least.area.u, None);
    }
    assert!(found.flow_by_lift.iter().all(|one| one.lift.u.is_none()));
}
