//! Every figure in a document is a value with its uncertainty and its unit, also where the
//! uncertainty is not known.

#[path = "common/asking.rs"]
mod asking;

use asking::{FOUR, FOUR_CSV, ask};
use benchhand_blueprint::answers::gauge_study;
use benchhand_blueprint::report::report;
use benchhand_blueprint::{Engine, ReportInputs, readings};
use serde_json::{Value, json};

/// Numbers that are no figures: they count, name or describe.
const PLAIN: [&str; 27] = [
    "spots",
    "least",
    "most",
    "cylinder",
    "cylinders",
    "readings",
    "counts",
    "k",
    "dof",
    "heights",
    "trials",
    "seed",
    "reference",
    "beyond",
    "learned_from",
    "learned_chambers",
    "chamber",
    "deck",
    "crown",
    "compression",
    "categories",
    "interaction_f",
    "interaction_p",
    "value",
    "u",
    "parts",
    "operators",
];

fn whole(at: &str, name: &str, value: &Value) {
    match value {
        Value::Object(fields) => {
            if fields.contains_key("value") {
                assert!(
                    fields.contains_key("u") && fields["unit"].is_string(),
                    "{at}: {value}"
                );
                assert!(fields["value"].is_number(), "{at}: {value}");
            }
            for (name, value) in fields {
                whole(&format!("{at}.{name}"), name, value);
            }
        }
        Value::Array(all) => all.iter().for_each(|one| whole(at, name, one)),
        Value::Number(_) => {
            // Within `counts` the names are those of figures elsewhere.
            let counted = at.contains(".counts.");
            let figure = ["chamber", "deck", "crown", "compression"].contains(&name);
            assert!(
                PLAIN.contains(&name) && (counted || !figure),
                "{at} is a bare number"
            );
        }
        _ => {}
    }
}

#[test]
fn figures_of_a_report_have_their_unit() {
    let engine = Engine::from_toml(FOUR).unwrap_or_else(|faults| panic!("{faults}"));
    let csv = format!(
        "{FOUR_CSV}gap/1/intake/0deg,2.6,mm,,dial\ngap/1/intake/10deg,1.9,mm,,dial\ngap/1/intake/20deg,2.2,mm,,dial\n"
    );
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let found = serde_json::to_value(report(&inputs).expect("a report")).expect("JSON");
    whole("report", "", &found);
    assert_eq!(
        found["summary"]["spreads_of_equals"]["chamber"]["unit"],
        "cc"
    );
    assert_eq!(found["valve_gaps"][0]["least_at"]["unit"], "deg");
    assert!(found["cylinders"][0]["compression_budget"][0]["contribution"]["value"].is_number());
}

#[test]
fn figures_of_answers_have_their_unit() {
    for question in [
        json!({"ask": "sensitivities"}),
        json!({"ask": "next"}),
        json!({"ask": "simulate", "trials": 2000}),
        json!({"ask": "mill", "ratio": 11.8}),
        json!({"ask": "dome", "ratio": 11.8, "ratio_tolerance": 0.1}),
        json!({"ask": "target", "ratio": 11.8}),
    ] {
        whole(
            &question["ask"].to_string(),
            "",
            &ask(FOUR, FOUR_CSV, question.clone()),
        );
    }
    let mut csv = "part,operator,trial,value,unit\n".to_owned();
    for (part, operator, trial) in
        (0..3).flat_map(|p| (0..2).flat_map(move |o| (0..2).map(move |t| (p, o, t))))
    {
        let value = f64::from(part) + 0.1 * f64::from(operator) + 0.05 * f64::from(trial * part);
        csv += &format!("{part},{operator},{trial},{value},mm\n");
    }
    let study = gauge_study(&csv, None).unwrap_or_else(|faults| panic!("{faults:?}"));
    let study = serde_json::to_value(study).expect("JSON");
    whole("study", "", &study);
    assert_eq!(study["by_anova"]["shares"][0]["percent"]["unit"], "%");
}
