//! Asking as a program asks: a question as JSON, and the document that `--json` prints.

#![allow(unreachable_pub, dead_code)]

use benchhand_blueprint::answers::{AskError, Question, answer};
use benchhand_blueprint::{Engine, ReportInputs, readings};
use serde_json::Value;

/// An invented engine of four cylinders in millimetres, and its readings.
pub const FOUR: &str = include_str!("../files/invented-four.toml");
pub const FOUR_CSV: &str = include_str!("../files/invented-four.csv");

pub fn try_ask(engine: &str, csv: &str, question: Value) -> Result<Value, AskError> {
    let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let question: Question = serde_json::from_value(question).expect("a question");
    let answered = answer(&inputs, None, &question)?;
    Ok(serde_json::to_value(answered).expect("a document"))
}

#[track_caller]
pub fn ask(engine: &str, csv: &str, question: Value) -> Value {
    try_ask(engine, csv, question).unwrap_or_else(|error| panic!("{error}"))
}

#[track_caller]
pub fn value(figure: &Value) -> f64 {
    figure["value"]
        .as_f64()
        .unwrap_or_else(|| panic!("no figure: {figure}"))
}

#[track_caller]
pub fn u(figure: &Value) -> f64 {
    figure["u"]
        .as_f64()
        .unwrap_or_else(|| panic!("no uncertainty: {figure}"))
}

/// Whether one of a list of sentences has these words.
pub fn says(list: &Value, words: &str) -> bool {
    let list = list.as_array().expect("a list of sentences");
    list.iter()
        .any(|one| one.as_str().is_some_and(|one| one.contains(words)))
}
