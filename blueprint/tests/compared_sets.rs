//! An average over three cylinders is not compared with one over six.
//!
//! Against hand calculation.

use benchhand_blueprint::answers::{Answer, ComparedAnswer, ComparedWith, Question, answer};
use benchhand_blueprint::engine::Stage;
use benchhand_blueprint::{Engine, ReportInputs, readings};

const ENGINE: &str = r#"name = "check"
units = "metric"
cylinders = 6
bore = "86 mm"
stroke = "86 mm"
[piston]
crown = "5 cc"
[gasket]
bore = "87.5 mm"
thickness = "1.1 mm"
"#;

/// Chambers of 46 to 51 cc before the cut; 1, 2 and 3 are 2 cc smaller after it, the others were
/// not poured again.
fn compared() -> ComparedAnswer {
    let mut csv = "spot,value,unit,stage\n".to_owned();
    for cylinder in 1..=6 {
        csv += &format!("chamber/{cylinder},{}.0,cc,as received\n", 45 + cylinder);
        csv += &format!("deck/{cylinder},0.20,mm,as received\n");
    }
    for cylinder in 1..=3 {
        csv += &format!("chamber/{cylinder},{}.0,cc,milled 1\n", 43 + cylinder);
    }
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let mut cut = Stage::named("milled 1");
    cut.changed = Some(
        vec![
            "chamber/1"
                .parse::<benchhand_blueprint::Spot>()
                .expect("a spot")
                .family(),
        ]
        .into_iter()
        .collect(),
    );
    let stages = [Stage::named("as received"), cut];
    let of = |stage| ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &stages,
        stage: Some(stage),
    };
    let against = ComparedWith {
        inputs: of("as received"),
        job: None,
    };
    let question: Question = serde_json::from_str(r#"{"ask":"compare"}"#).expect("a question");
    let document = answer(&of("milled 1"), Some(&against), &question);
    match document.unwrap_or_else(|error| panic!("{error:?}")).answer {
        Answer::Compare(compared) => compared,
        other => panic!("{other:?}"),
    }
}

#[test]
fn mean_and_spread_are_over_the_cylinders_that_both_sides_know() {
    let compared = compared();
    assert_eq!(compared.compared, [1, 2, 3]);
    let (mean, spread) = (
        compared.compression_mean.expect("a mean"),
        compared.compression_spread.expect("a spread"),
    );
    let of = |cylinder: usize, after: bool| {
        let pair = compared.cylinders[cylinder - 1].compression.clone();
        let pair = pair.expect("known on both sides");
        if after {
            pair.after.value
        } else {
            pair.before.value
        }
    };
    for (after, found) in [(false, mean.before.value), (true, mean.after.value)] {
        let by_hand = (of(1, after) + of(2, after) + of(3, after)) / 3.0;
        assert!((found - by_hand).abs() < 1e-9, "{found} {by_hand}");
    }
    for (after, found) in [(false, spread.before.value), (true, spread.after.value)] {
        let by_hand = of(1, after) - of(3, after);
        assert!((found - by_hand).abs() < 1e-9, "{found} {by_hand}");
    }
}

#[test]
fn what_one_side_knows_is_not_called_missing_there() {
    let compared = compared();
    let four = &compared.cylinders[3];
    assert!(four.chamber.is_none());
    let side = four
        .one_sided
        .get("chamber")
        .expect("poured before the cut");
    assert_eq!(side.before.as_ref().map(|one| one.value), Some(49.0));
    assert_eq!(side.after, None);
    assert!(compared.cylinders[0].one_sided.is_empty());
}
