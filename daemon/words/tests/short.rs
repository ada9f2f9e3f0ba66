//! The short report: how wide and how long it is, and what it says first.

use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use benchhand_words::{About, short_report};

const ENGINE: &str = include_str!("../../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../../examples/invented-v8-readings.csv");

fn report_of(engine: &str, csv: &str) -> Report {
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

fn short(report: &Report) -> String {
    let job = "v8".to_owned();
    short_report(report, &About { job })
}

#[track_caller]
fn assert_narrow(text: &str) {
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line:?} in\n{text}");
        assert_eq!(line.trim_end(), line, "blanks at the end in\n{text}");
    }
}

/// An invented engine of so many cylinders on one bank, with nothing stated but its sizes.
fn engine(cylinders: u32) -> String {
    let all: Vec<String> = (1..=cylinders).map(|number| number.to_string()).collect();
    format!(
        "name = \"Invented {cylinders}\"\ninvented = true\nunits = \"metric\"\n\
         cylinders = {cylinders}\nbanks = [[{}]]\nbore = \"86.3 mm\"\nstroke = \"71.9 mm\"\n\
         [gasket]\nbore = \"88.1 mm\"\nthickness = \"1.2 mm\"\n",
        all.join(", ")
    )
}

/// One round of chambers and of decks, the last chamber larger than the others.
fn one_round(cylinders: u32) -> String {
    let mut rows = "spot,value,unit\n".to_owned();
    for number in 1..=cylinders {
        let step = f64::from(number % 4) * 0.03;
        let larger = if number == cylinders { 0.8 } else { 0.0 };
        rows += &format!("chamber/{number},{:.2},cc\n", 41.2 + step + larger);
        rows += &format!("deck/{number},{:.3},mm\n", 0.35 + 0.1 * step);
    }
    rows
}

#[test]
fn the_example_fits_into_forty_lines_of_eighty_columns_and_says_the_most_important_first() {
    let text = short(&report_of(ENGINE, READINGS));
    assert_narrow(&text);
    assert!(
        text.lines().count() <= 40,
        "{} lines:\n{text}",
        text.lines().count()
    );
    let at = |words: &str| {
        let found = text.find(words);
        found.unwrap_or_else(|| panic!("no {words:?} in\n{text}"))
    };
    // Target and averages, then what to do, then the cylinders, then the doubts.
    let order = [
        "NOT OK",
        "target 10.50",
        "NEXT  Measure deck 3 again",
        "THEN  Chamber 6 sets the size",
        "Cyl  Chamber",
        "! chamber",
        "CHECK THESE",
        "Each ± covers 95 %",
        "CAUTION",
    ];
    let places = order.map(at);
    assert!(places.is_sorted(), "{places:?} in\n{text}");
}

#[test]
fn engines_of_any_size_fit_into_eighty_columns() {
    for cylinders in [1, 2, 4, 6, 12, 16] {
        let text = short(&report_of(&engine(cylinders), &one_round(cylinders)));
        assert_narrow(&text);
        let rows = text.lines().filter(|line| {
            let first = line.split_whitespace().next();
            first.is_some_and(|first| first.parse::<u32>().is_ok())
        });
        assert_eq!(rows.count(), cylinders as usize, "{text}");
    }
}

/// Nothing was stated, neither a ± nor a tolerance: averages, spreads and the next step are there.
#[test]
fn a_builder_who_stated_nothing_gets_averages_spreads_and_a_next_step() {
    let text = short(&report_of(&engine(4), &one_round(4)));
    let chambers = text.lines().find(|line| line.starts_with("Chamber"));
    let chambers = chambers.expect("a row");
    assert_eq!(chambers.matches('±').count(), 2, "{text}");
    assert!(text.contains("NEXT  "), "{text}");
    assert!(text.contains("Not in it: "), "{text}");
}

/// Metal never comes off what was read once.
#[test]
fn what_was_read_once_is_read_again_before_anything_is_cut() {
    let stated = engine(4) + "[tolerances]\nchamber_spread = \"0.3 cc\"\n";
    let once = one_round(4);
    let text = short(&report_of(&stated, &once));
    assert!(!text.contains("sets the size"), "{text}");
}
