//! Files that are wrong throughout, and studies beyond measure: no panic, and no answer without end.

use benchhand_blueprint::Engine;
use benchhand_blueprint::answers::gauge_study;
use benchhand_blueprint::readings::from_csv;

const GOOD: &str = r#"name = "check"
units = "inch"
cylinders = 8
bore = "4.047 in"
stroke = "3.548 in"
"#;

/// A study of two operators, two parts and two trials whose values are these in turn.
fn study_of(values: [&str; 8]) -> String {
    let mut text = "part,operator,trial,value,unit\n".to_owned();
    for (at, value) in values.iter().enumerate() {
        let (part, operator, trial) = (at / 4, at / 2 % 2, at % 2);
        text += &format!("{part},{operator},{trial},{value},mm\n");
    }
    text
}

#[test]
fn a_study_whose_repeats_are_all_equal_or_beyond_measure_is_answered_or_refused() {
    let equal = gauge_study(&study_of(["1"; 8]), None).expect("it is a study");
    assert_eq!(equal.interaction_p, Some(1.0));
    let by_part = ["1", "1", "2", "2", "3", "3", "3", "3"];
    let told = gauge_study(&study_of(by_part), None).expect("it is a study");
    assert_eq!(
        told.interaction_p,
        Some(0.0),
        "operators and parts interact"
    );
    for huge in ["1e155", "1e308", "-1e200"] {
        let mut values = ["1"; 8];
        values[3] = huge;
        let refused = gauge_study(&study_of(values), None).expect_err(huge);
        assert_eq!(refused.faults[0].line, 5, "{refused}");
    }
}

#[test]
fn of_a_file_full_of_faults_the_first_are_told_and_all_are_counted() {
    let engine = Engine::from_toml(GOOD).expect("it is sound");
    let rows = 200_000;
    let mut csv = "spot,value,unit\n".to_owned();
    csv += &"chamber/1,64.2,furlong per moon\n".repeat(rows);
    let faults = from_csv(&csv, &engine).expect_err("no such unit");
    assert_eq!((faults.faults.len(), faults.count()), (20, rows));
    assert_eq!((faults.faults[0].line, faults.faults[19].line), (2, 21));
    assert!(faults.to_string().ends_with("and 199980 more"), "{faults}");

    let strangers: String = (0..rows).map(|n| format!("stranger_{n} = 1\n")).collect();
    let text = format!("{strangers}{GOOD}");
    let faults = Engine::from_toml(&text).expect_err("unknown keys");
    assert_eq!((faults.faults.len(), faults.count()), (20, rows));
    assert!(faults.faults[0].key.starts_with("stranger_0"), "{faults}");
}
