//! A target that lies within the ± of what was measured is reached: no cut is told, and nobody is
//! sent the other way. What is said of a cut fits the engine.

use benchhand_blueprint::answers::{Answer, MillAnswer, Question, answer};
use benchhand_blueprint::{Engine, ReportInputs, readings, report};

fn engine(banks: &str) -> Engine {
    with_crown(banks, "5 cc +- 0.1 cc")
}

fn with_crown(banks: &str, crown: &str) -> Engine {
    let text = format!(
        r#"name = "check"
units = "metric"
cylinders = 4
banks = {banks}
bore = "86 mm +- 0.01 mm"
stroke = "86 mm +- 0.02 mm"
[head]
opening_area = "5200 mm2"
[piston]
crown = "{crown}"
[gasket]
bore = "87.5 mm +- 0.1 mm"
thickness = "1.1 mm +- 0.01 mm"
[gauges.burette]
kind = "burette"
u = "0.05 cc"
resolution = "0.1 cc"
repeatability = "0.06 cc"
[gauges.dial]
kind = "dial"
u = "0.004 mm"
resolution = "0.01 mm"
zero_u = "0.003 mm"
repeatability = "0.005 mm"
"#
    );
    Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"))
}

/// The answer for a target that is so far from the mean of the ratios, in terms of the ± that is shown.
fn asked(banks: &str, off: impl Fn(f64) -> f64) -> MillAnswer {
    asked_of(&engine(banks), off)
}

fn asked_of(engine: &Engine, off: impl Fn(f64) -> f64) -> MillAnswer {
    let mut csv = "spot,value,unit,gauge\n".to_owned();
    for cylinder in 1..=4 {
        csv += &format!("chamber/{cylinder},46.{cylinder},cc,burette\n");
        csv += &format!("deck/{cylinder},0.20,mm,dial\n");
    }
    let readings = readings::from_csv(&csv, engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
    let mean = report.summary.compression_mean.expect("a mean");
    let target = mean.value + off(mean.expanded_known().expect("a known ±"));
    milled_to(target, &inputs)
}

/// The answer for this ratio.
fn milled_to(ratio: f64, inputs: &ReportInputs<'_>) -> MillAnswer {
    let question: Question =
        serde_json::from_str(&format!(r#"{{"ask":"mill","ratio":{ratio}}}"#)).expect("a question");
    let document = answer(inputs, None, &question).unwrap_or_else(|error| panic!("{error:?}"));
    match document.answer {
        Answer::Mill(answer) => *answer,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_target_within_its_own_width_is_reached_and_one_beyond_it_is_on_the_other_side() {
    let why = |off: f64| {
        let answer = asked("[[1, 2, 3, 4]]", |width| off * width);
        answer.heads[0].why_not.clone().expect("no cut")
    };
    assert!(why(-0.6).starts_with("you are there"), "{}", why(-0.6));
    assert!(why(-3.0).contains("other side"), "{}", why(-3.0));
}

#[test]
fn a_cut_that_is_lost_in_its_own_width_says_so() {
    let warned = |off: f64| {
        let answer = asked("[[1, 2, 3, 4]]", |width| off * width);
        let warnings = answer.heads[0].warnings.join("; ");
        warnings.contains("you may be there already")
    };
    assert!(warned(0.5));
    assert!(!warned(4.0));
}

/// The ± that is shown is of what is known: a depth beyond it is never called less than it.
#[test]
fn a_cut_that_is_lost_in_what_nobody_stated_says_that_and_how_wide_it_is() {
    let engine = with_crown("[[1, 2, 3, 4]]", "5 cc");
    let answer = asked_of(&engine, |width| 1.2 * width);
    let depth = answer.heads[0].depth.clone();
    let shown = depth.expanded_known().expect("what is known");
    assert!(depth.value.abs() > shown, "{depth:?}");
    let warnings = answer.heads[0].warnings.join("; ");
    let told = "with what nobody stated at its usual width, the depth's ± is ";
    assert!(warnings.contains(told), "{warnings}");
    assert!(!warnings.contains("less than its own ±"), "{warnings}");
}

#[test]
fn the_manifold_between_the_banks_is_named_where_there_are_banks() {
    let named = |banks: &str| {
        let answer = asked(banks, |width| 4.0 * width);
        answer.heads[0].warnings.join("; ").contains("manifold")
    };
    assert!(named("[[1, 3], [2, 4]]"));
    assert!(!named("[[1, 2, 3, 4]]"));
}

#[test]
fn a_cut_of_one_head_is_none_of_the_other() {
    let twin = r#"name = "check"
units = "metric"
cylinders = 2
banks = [[1], [2]]
bore = "71 mm"
stroke = "82 mm"
[head]
opening_area = "3950 mm2"
most_mill = "1.2 mm"
[piston]
crown = "5 cc"
[gasket]
bore = "72.5 mm"
thickness = "1.1 mm"
[[stages]]
name = "as received"
[[stages]]
name = "first head cut"
depth = "0.86 mm"
changed = ["chamber"]
cylinders = [1]
"#;
    let engine = Engine::from_toml(twin).unwrap_or_else(|faults| panic!("{faults}"));
    let mut csv = "spot,value,unit,stage\n".to_owned();
    for (cylinder, chamber) in [(1, 40.1), (2, 43.5)] {
        csv += &format!("chamber/{cylinder},{chamber},cc,first head cut\n");
        csv += &format!("deck/{cylinder},0.50,mm,as received\n");
    }
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let answer = milled_to(9.0, &inputs);
    let may = |head: usize| answer.heads[head].most.as_ref().expect("stated").value;
    let was = |head: usize| answer.heads[head].already.as_ref().map(|cut| cut.value);
    assert_eq!((was(0), was(1)), (Some(0.86), None));
    assert!((may(0) - 0.34).abs() < 1e-9 && (may(1) - 1.2).abs() < 1e-9);
    // The deepest stands for the engine.
    assert_eq!(answer.already.as_ref().map(|cut| cut.value), Some(0.86));
}
