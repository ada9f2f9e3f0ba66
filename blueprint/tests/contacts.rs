//! A piston that stands through the gasket, and valves that a change brings to the piston: the
//! report, `decide gasket` and `what-if` say it first, with or without a tolerance.
//!
//! What is expected is reckoned by hand beside each case: deck clearance plus gasket is the distance
//! to the head's face (`docs/formulas.md`, section 4); a valve's distance shrinks by the cosine of
//! its inclination (section 6).

#[path = "common/asking.rs"]
mod asking;

use asking::{FOUR, FOUR_CSV, ask, says, try_ask};
use benchhand_blueprint::report::{FindingKind, Report};
use benchhand_blueprint::{Engine, ReportInputs, readings, report};
use serde_json::{Value, json};

fn reported(engine: &str, csv: &str) -> Report {
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

fn contacts(report: &Report) -> Vec<(String, String)> {
    let of = |one: &benchhand_blueprint::report::Finding| (one.spot.clone(), one.text.clone());
    report.findings_of(FindingKind::Contact).map(of).collect()
}

/// The gasket is 1.1 mm; the piston of cylinder 3 stands 1.2 mm above the deck: 0.1 mm through.
fn through() -> String {
    FOUR_CSV.replace("deck/3,-0.10", "deck/3,-1.20")
}

fn without_tolerances() -> String {
    FOUR.replace("least_quench = \"0.9 mm\"\n", "")
}

#[test]
fn a_piston_through_the_gasket_is_the_first_finding_and_the_first_caution() {
    for engine in [FOUR.to_owned(), without_tolerances()] {
        let report = reported(&engine, &through());
        assert_eq!(report.findings[0].kind, FindingKind::Contact);
        let found = contacts(&report);
        let [(spot, text)] = found.as_slice() else {
            panic!("{found:?}")
        };
        assert_eq!(spot, "deck/3");
        assert!(text.contains("through the gasket by 0.100 mm"), "{text}");
        assert!(report.cautions[0].contains("cylinder 3 (head)"));
        let sound = reported(&engine, FOUR_CSV);
        assert!(contacts(&sound).is_empty(), "{:?}", contacts(&sound));
        assert!(!sound.cautions[0].contains("meet"));
    }
}

/// Thrust side 1.12 mm above the deck, anti-thrust 0.1 mm below: their mean leaves 0.59 mm of the
/// gasket's 1.1 mm, the thrust side stands 0.02 mm through.
#[test]
fn the_nearest_point_counts_with_its_rock() {
    let csv = FOUR_CSV
        .replace("deck/1/thrust,0.10", "deck/1/thrust,-1.12")
        .replace("deck/1/antithrust,0.22", "deck/1/antithrust,0.10");
    let report = reported(&without_tolerances(), &csv);
    let mean = report
        .cylinder(1)
        .and_then(|one| one.quench.clone())
        .unwrap();
    assert!((mean.value - 0.59).abs() < 1e-9, "{mean:?}");
    let found = contacts(&report);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].1.contains("by 0.020 mm"), "{found:?}");
}

/// 0.02 mm are left, and gasket (±0.03 mm) and dial know it to about ±0.06 mm.
#[test]
fn a_distance_within_its_uncertainty_could_meet() {
    let csv = FOUR_CSV.replace("deck/3,-0.10", "deck/3,-1.08");
    let found = contacts(&reported(&without_tolerances(), &csv));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].1.contains("could meet the head"), "{found:?}");
    // 0.2 mm are left: three times what is uncertain.
    let csv = FOUR_CSV.replace("deck/3,-0.10", "deck/3,-0.90");
    assert!(contacts(&reported(&without_tolerances(), &csv)).is_empty());
}

/// The gasket's thickness without its ±: 0.1 mm, rectangular, are assumed (`docs/formulas.md`, section
/// 16), at 95 % 2·0.1/√3 = 0.115 mm, with the dial 0.117 mm. Of 0.08 mm the piston could meet the
/// head, of 0.2 mm not; with ±0.001 mm stated 0.08 mm are enough.
#[test]
fn a_distance_that_lacks_a_width_is_judged_at_the_assumed_one_and_says_so() {
    let lacking = without_tolerances().replace("1.1 mm +- 0.03 mm", "1.1 mm");
    let deck = |left: &str| FOUR_CSV.replace("deck/3,-0.10", &format!("deck/3,{left}"));
    let found = contacts(&reported(&lacking, &deck("-1.02")));
    let [(spot, text)] = found.as_slice() else {
        panic!("{found:?}")
    };
    assert_eq!(spot, "deck/3");
    assert!(text.contains("could meet the head"), "{text}");
    assert!(text.contains("±0.117"), "{text}");
    assert!(
        text.contains("assumed width of what is lacking: gasket thickness"),
        "{text}"
    );
    assert!(contacts(&reported(&lacking, &deck("-0.90"))).is_empty());
    let stated = lacking.replace("\"1.1 mm\"", "\"1.1 mm +- 0.001 mm\"");
    assert!(contacts(&reported(&stated, &deck("-1.02"))).is_empty());
}

/// The same of a valve: its distance of 0.06 mm is read by a dial that nobody checked, for which
/// 0.025 mm, and of whose zero 0.02 mm are assumed: 2·√(0.025² + 0.02²)/√3 = 0.037 mm, and with what a
/// cut lacks more.
#[test]
fn a_valves_distance_that_lacks_a_width_is_judged_at_the_assumed_one() {
    let dial = |what: &str| {
        let begin = FOUR.find("[gauges.dial]").expect("a dial");
        let kept = &FOUR[..begin];
        format!("{kept}{what}").replace("least_quench = \"0.9 mm\"\n", "")
    };
    let unchecked = dial(
        "[gauges.dial]\nkind = \"dial\"\nresolution = \"0.001 mm\"\nrepeatability = \"0.001 mm\"\n",
    );
    let known = dial(
        "[gauges.dial]\nkind = \"dial\"\nresolution = \"0.001 mm\"\nrepeatability = \"0.001 mm\"\n\
         u = \"0.001 mm\"\nzero_u = \"0.001 mm\"\n",
    );
    let at = |least: &str| {
        let gaps = GAPS.replace("1.30", "0.130").replace("1.20", least);
        FOUR_CSV.to_owned() + &gaps
    };
    let valves = |engine: &str, csv: &str| -> Vec<String> {
        let found = contacts(&reported(engine, csv)).into_iter();
        let valve = |(spot, text): (String, String)| spot.starts_with("gap").then_some(text);
        found.filter_map(valve).collect()
    };
    let found = valves(&unchecked, &at("0.030"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("could touch the piston"), "{found:?}");
    assert!(found[0].contains("gauge dial calibration"), "{found:?}");
    assert!(valves(&unchecked, &at("0.080")).is_empty());
    assert!(valves(&known, &at("0.030")).is_empty());
    // A change whose own width is lacking: a gasket of 0.01 mm in place of one that is 1.1 ± 0.115 mm
    // leaves 1.20 − 1.09 = 0.11 mm.
    let engine = known.replace("1.1 mm +- 0.03 mm", "1.1 mm");
    let csv = FOUR_CSV.to_owned() + GAPS;
    let found = ask(
        &engine,
        &csv,
        json!({"ask": "what-if", "set": ["gasket thickness = 0.01 mm"]}),
    );
    let meets = "the intake valve of cylinder 1 could touch the piston";
    let warnings = found["answer"]["warnings"].as_array().expect("warnings");
    let said = warnings
        .iter()
        .filter_map(Value::as_str)
        .find(|one| one.starts_with("the intake"));
    let said = said.unwrap_or_else(|| panic!("{meets}: {warnings:?}"));
    assert!(
        said.contains("assumed width of what is lacking: gasket"),
        "{said}"
    );
}

fn first(list: &Value) -> &str {
    list[0]
        .as_str()
        .unwrap_or_else(|| panic!("nothing said: {list}"))
}

/// Piston 2 stands 0.12 mm above the deck: a gasket of 0.10 mm is too thin by 0.02 mm, one of 1.1 mm
/// is not.
#[test]
fn a_gasket_that_a_piston_stands_through_is_told_first() {
    let offers = json!([
        {"name": "thin", "bore": "87.5 mm", "thickness": "0.10 mm"},
        {"name": "thick", "bore": "87.5 mm", "thickness": "1.1 mm +- 0.03 mm"},
    ]);
    for engine in [FOUR.to_owned(), without_tolerances()] {
        let question = json!({"ask": "gasket", "ratio": 11.5, "offers": offers});
        let found = ask(&engine, FOUR_CSV, question);
        let gaskets = found["answer"]["gaskets"].as_array().unwrap();
        let of = |name: &str| gaskets.iter().find(|one| one["gasket"] == name).unwrap();
        let said = first(&of("thin")["warnings"]);
        assert!(
            said.contains("cylinder 2 would stand through the gasket by 0.020 mm"),
            "{said}"
        );
        assert!(!says(&of("thick")["warnings"], "through the gasket"));
        let caution = first(&found["cautions"]);
        assert!(caution.starts_with("Gasket thin:") && caution.contains("cylinder 2 (head)"));
    }
}

#[test]
fn what_if_says_first_what_would_meet_even_where_it_changes_something_else() {
    for set in ["deck/1 -= 1.5 mm", "gasket thickness -= 1.05 mm"] {
        let found = ask(
            &without_tolerances(),
            FOUR_CSV,
            json!({"ask": "what-if", "set": [set]}),
        );
        let said = first(&found["answer"]["warnings"]);
        assert!(
            said.contains("would stand through the gasket"),
            "{set}: {said}"
        );
        assert!(first(&found["cautions"]).contains("(head)"), "{set}");
    }
    let set = json!({"ask": "what-if", "set": ["chamber += 1 cc"]});
    let found = ask(&without_tolerances(), &through(), set.clone());
    assert!(first(&found["answer"]["warnings"]).contains("cylinder 3"));
    assert!(first(&found["cautions"]).contains("cylinder 3 (head)"));
    let sound = ask(&without_tolerances(), FOUR_CSV, set);
    assert!(!says(&sound["answer"]["warnings"], "through the gasket"));
    assert!(!says(&sound["cautions"], "meet"));
}

const GAPS: &str = "gap/1/intake/0deg,1.30,mm,,dial\ngap/1/intake/10deg,1.20,mm,,dial\n\
    gap/1/intake/20deg,1.30,mm,,dial\n";

/// The least of the parabola is 1.20 mm; the intake valve stands at 20° to the bore. A gasket of
/// 0.1 mm in place of 1.1 mm brings it 1.0·cos 20° = 0.940 mm nearer and leaves 0.260 mm; a deck
/// 1.3 mm higher leaves 1.20 − 1.3·cos 20° = −0.022 mm.
#[test]
fn measured_valve_distances_and_a_change_that_imply_a_contact_are_told_first() {
    let engine = without_tolerances() + "[ports.intake]\ninclination = \"20 deg\"\n";
    let csv = FOUR_CSV.to_owned() + GAPS;
    let ask_set = |set: &str| try_ask(&engine, &csv, json!({"ask": "what-if", "set": [set]}));
    let sound = ask_set("gasket thickness -= 0.2 mm").unwrap();
    assert!(!says(&sound["cautions"], "valve)"));
    let found = ask_set("deck/1 -= 1.3 mm").unwrap();
    let warnings = &found["answer"]["warnings"];
    assert!(says(
        warnings,
        "the intake valve of cylinder 1 would meet the piston: 0.022 mm"
    ));
    assert!(first(&found["cautions"]).contains("cylinder 1 (intake valve)"));
    // The report itself: what was measured leaves nothing beyond its uncertainty.
    let near = csv.replace("1.30", "0.105").replace("1.20", "0.005");
    let found = contacts(&reported(&engine, &near));
    assert_eq!(found[0].0, "gap/1/intake", "{found:?}");
    assert!(contacts(&reported(&engine, &csv)).is_empty());
}

/// Heads milled by 1.25 mm after the distances were measured: 1.20 − 1.25·cos 20° = 0.025 mm, within
/// what the dial knows; 1.40 mm: −0.116 mm.
#[test]
fn a_cut_since_the_distances_were_measured_is_taken_off() {
    let stages = |depth: &str| {
        format!(
            "{}[ports.intake]\ninclination = \"20 deg\"\n[[stages]]\nname = \"as received\"\n\
             [[stages]]\nname = \"milled 1\"\nchanged = [\"Chambers\"]\ndepth = \"{depth} mm\"\n",
            without_tolerances()
        )
    };
    let csv: String = (FOUR_CSV.to_owned() + GAPS)
        .lines()
        .map(|line| match line.starts_with("spot,") {
            true => format!("{line},stage\n"),
            false => format!("{line},as received\n"),
        })
        .collect();
    let csv = csv + "chamber/1,40.0,cc,,burette,milled 1\n";
    let found = contacts(&reported(&stages("1.40"), &csv));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "gap/1/intake");
    assert!(found[0].1.contains("0.116 mm are lacking"), "{found:?}");
    assert!(contacts(&reported(&stages("0.50"), &csv)).is_empty());
}

#[test]
fn a_document_from_before_there_were_contacts_still_reads() {
    let mut old = serde_json::to_value(reported(FOUR, FOUR_CSV)).unwrap();
    let kinds = ["outlier", "disagrees", "missing", "unrepeated"];
    old["findings"] = kinds
        .map(|kind| json!({"spot": "chamber/1", "kind": kind, "text": "said"}))
        .into();
    let read: Report = serde_json::from_value(old).unwrap();
    assert_eq!(read.findings.len(), 4);
    let new = serde_json::to_value(reported(FOUR, &through())).unwrap();
    assert_eq!(new["findings"][0]["kind"], "contact");
}
