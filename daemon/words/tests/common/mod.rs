//! Invented engines and readings for the words' tests.

// No test uses all of it.
#![allow(dead_code)]

use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

pub const ENGINE: &str = include_str!("../../../../examples/invented-v8.toml");
pub const READINGS: &str = include_str!("../../../../examples/invented-v8-readings.csv");

pub fn report_of(engine: &str, csv: &str) -> Report {
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

/// An invented engine of so many cylinders on one bank, with nothing stated but its sizes.
pub fn engine(cylinders: u32) -> String {
    let all: Vec<String> = (1..=cylinders).map(|number| number.to_string()).collect();
    format!(
        "name = \"Invented {cylinders}\"\ninvented = true\nunits = \"metric\"\n\
         cylinders = {cylinders}\nbanks = [[{}]]\nbore = \"86.3 mm\"\nstroke = \"71.9 mm\"\n\
         [gasket]\nbore = \"88.1 mm\"\nthickness = \"1.2 mm\"\n",
        all.join(", ")
    )
}

/// One round of chambers and of decks, the last chamber larger than the others.
pub fn one_round(cylinders: u32) -> String {
    let mut rows = "spot,value,unit\n".to_owned();
    for number in 1..=cylinders {
        let step = f64::from(number % 4) * 0.03;
        let larger = if number == cylinders { 0.8 } else { 0.0 };
        rows += &format!("chamber/{number},{:.2},cc\n", 41.2 + step + larger);
        rows += &format!("deck/{number},{:.3},mm\n", 0.35 + 0.1 * step);
    }
    rows
}
