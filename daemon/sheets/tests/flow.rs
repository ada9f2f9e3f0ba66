//! The flow sheet says what was measured, as finely as it is known.

mod common;

use benchhand_blueprint::answers::{Answer, CompareAsked, ComparedWith, Question, answer};
use benchhand_sheets::SheetFacts;
use benchhand_words::sheet::figures_in;
use common::{ENGINE, Made, READINGS, figure, inputs};

const SINGLE: &str = "name = \"Invented single\"\ninvented = true\nunits = \"metric\"\n\
                      cylinders = 1\nbore = \"86.0 mm\"\nstroke = \"85.7 mm\"\n";

fn flow_of(made: &Made) -> String {
    benchhand_sheets::flow(&made.facts()).expect("a sheet")
}

/// Two stages of one engine: what was `before` it.
fn with_before(made: &Made, before: &Made) -> String {
    let against = ComparedWith {
        inputs: inputs(&before.engine, &before.readings),
        job: Some("before"),
    };
    let question = Question::Compare(CompareAsked {});
    let answered = answer(
        &inputs(&made.engine, &made.readings),
        Some(&against),
        &question,
    );
    let Ok(Answer::Compare(compared)) = answered.map(|answered| answered.answer) else {
        panic!("no comparison");
    };
    let facts = SheetFacts {
        before: Some(&before.report),
        flow_changes: &compared.flow_by_lift,
        ..made.facts()
    };
    benchhand_sheets::flow(&facts).expect("a sheet")
}

/// An engine with these cylinders' intake flowed at a lift, so many litres a minute each.
fn flowed(cylinders: u32, flow: f64, u: f64) -> Made {
    let banks: Vec<String> = (1..=cylinders).map(|number| number.to_string()).collect();
    let engine = format!(
        "name = \"Invented {cylinders}\"\ninvented = true\nunits = \"metric\"\n\
         cylinders = {cylinders}\nbanks = [[{}]]\nbore = \"86.0 mm\"\nstroke = \"85.7 mm\"\n\
         [flow]\nreference = \"7 kPa\"\npressure_unit = \"kPa\"\n",
        banks.join(", ")
    );
    let mut csv = "spot,value,unit,u\n".to_owned();
    for number in 1..=cylinders {
        let own = flow + f64::from(number);
        csv += &format!("flow/{number}/intake/5mm/test,7.000,kPa,0.001\n");
        csv += &format!("flow/{number}/intake/5mm/flow,{own},L/min,{u}\n");
    }
    Made::new(&engine, &csv)
}

#[test]
fn flow_without_a_reference_depression_is_told_as_it_was_measured() {
    let csv = "spot,value,unit,u\nflow/1/intake/long/2mm/test,7,kPa,0.02\n\
               flow/1/intake/long/2mm/flow,900,L/min,10\n";
    let html = flow_of(&Made::new(SINGLE, csv));
    assert!(!html.contains("No flow was measured"), "{html}");
    assert_eq!(figure(&html, "intake long as measured 1 at 2.00"), "900");
    assert_eq!(
        figure(&html, "intake long as measured ±, each at 2.00"),
        "20"
    );
    // 7 kPa ± 0.04 kPa are 713.8 mmH2O ± 4.1.
    let tested = figure(&html, "intake long as measured tested at, mmH2O at 2.00");
    assert_eq!(tested, "713.8");
    assert_eq!(figure(&html, "Tested at"), "713.8 mmH2O");
    assert!(html.contains("no reference depression is stated"), "{html}");
    assert!(html.contains("a reference under [flow]"), "{html}");
    // Nothing was corrected.
    assert!(!html.contains("To the stated depression"), "{html}");

    // Pressures alone are no flow, and the sheet says what is lacking.
    let pressure = "spot,value,unit\nflow/1/intake/2mm/test,7,kPa\n";
    let html = flow_of(&Made::new(SINGLE, pressure));
    assert!(
        html.contains("No flow is known: beside the test pressure"),
        "{html}"
    );
    let none = flow_of(&Made::new(SINGLE, "spot,value,unit\nchamber/1,46.2,cc\n"));
    assert!(
        none.contains("No flow was measured at this stage yet."),
        "{none}"
    );
}

#[test]
fn flows_and_coefficients_are_told_as_finely_as_their_width() {
    let made = Made::new(ENGINE, READINGS);
    let html = flow_of(&made);
    let decimals = |text: &str| text.split_once('.').map_or(0, |(_, behind)| behind.len());
    let all = figures_in(&html);
    let mut seen = 0;
    for one in all.iter().filter(|one| one.name.contains("±, each")) {
        let rows = ["1", "2"].map(|row| one.name.replace("±, each", row));
        for other in all.iter().filter(|other| rows.contains(&other.name)) {
            let told = (decimals(&other.text), decimals(&one.text));
            assert_eq!(
                told.0, told.1,
                "{}: {} ± {}",
                other.name, other.text, one.text
            );
            seen += 1;
        }
        let digits = one.text.trim_start_matches(['0', '.']).replace('.', "");
        assert!(digits.len() <= 2, "{}: ± {}", one.name, one.text);
    }
    assert!(seen > 8, "{seen} figures with a ±");
    let coefficients = all
        .iter()
        .filter(|one| one.name.starts_with("coefficient by"));
    assert!(coefficients.count() > 8, "{all:?}");
}

#[test]
fn a_change_stands_with_its_width_and_its_verdict() {
    let mut made = flowed(1, 1040.0, 10.0);
    made.report.stage = "ported".to_owned();
    let near = with_before(&made, &flowed(1, 1020.0, 10.0));
    // 1041/1021 is 1.96 % more; 20/1021 and 20/1041 together are 2.8 %.
    assert_eq!(figure(&near, "intake change, % at 5.00"), "+2.0");
    assert_eq!(figure(&near, "intake ± of it at 5.00"), "2.8");
    assert_eq!(figure(&near, "intake real at 5.00"), "too close");
    let far = with_before(&made, &flowed(1, 900.0, 10.0));
    assert_eq!(figure(&far, "intake real at 5.00"), "yes");
    assert!(far.contains("benchhand decide compare"), "{far}");
    // Of several, the mean of the cylinders is known better than one of them.
    let mut made = flowed(4, 1040.0, 10.0);
    made.report.stage = "ported".to_owned();
    let several = with_before(&made, &flowed(4, 1020.0, 10.0));
    assert_eq!(figure(&several, "intake change, % at 5.00"), "+2.0");
    assert_eq!(figure(&several, "intake ± of it at 5.00"), "1.4");
    assert_eq!(figure(&several, "intake real at 5.00"), "yes");
    // What nobody knows the ± of is not judged.
    let mut unknown = Made::new(
        &format!("{SINGLE}[flow]\nreference = \"7 kPa\"\n"),
        "spot,value,unit\nflow/1/intake/5mm/test,7.0,kPa\nflow/1/intake/5mm/flow,900,L/min\n",
    );
    let before = Made::new(
        &format!("{SINGLE}[flow]\nreference = \"7 kPa\"\n"),
        "spot,value,unit\nflow/1/intake/5mm/test,7.0,kPa\nflow/1/intake/5mm/flow,880,L/min\n",
    );
    unknown.report.stage = "ported".to_owned();
    let html = with_before(&unknown, &before);
    assert_ne!(figure(&html, "intake real at 5.00"), "yes");
}

#[test]
fn what_it_rests_on_begins_with_the_coefficients_or_says_why_there_are_none() {
    let html = flow_of(&Made::new(ENGINE, READINGS));
    let at = |text: &str| html.find(text).unwrap_or_else(|| panic!("no {text}"));
    assert!(at("coefficient by the") < at("Gauges used"));
    assert!(!html.contains("No coefficients"), "{html}");
    let none = flow_of(&flowed(1, 1000.0, 10.0));
    let (_, why) = none
        .split_once("No coefficients")
        .expect("why there are none");
    assert!(why.contains("intake: the port"), "{why}");
}

#[test]
fn the_sheet_has_the_cautions_of_the_routes_and_its_spots_in_inches() {
    let html = flow_of(&Made::new(ENGINE, READINGS));
    let routes = [
        include_str!("../../routes/flow.toml"),
        include_str!("../../routes/seats.toml"),
    ];
    let mut seen = 0;
    for line in routes.iter().flat_map(|route| route.split('"')) {
        let about = ["Blowers", "Never run a blower", "Compressed valve springs"];
        if about.iter().any(|about| line.starts_with(about)) {
            assert!(html.contains(line), "no caution {line}");
            seen += 1;
        }
    }
    assert_eq!(seen, 3);
    let (_, lacking) = html.split_once("Not in the ±").expect("what is lacking");
    let (lacking, _) = lacking.split_once("</section>").expect("its end");
    assert!(lacking.contains("flow 1 intake 0."), "{lacking}");
    assert!(!lacking.contains("mm"), "{lacking}");
}

#[test]
fn a_table_of_many_cylinders_stands_on_one_page() {
    let html = flow_of(&flowed(16, 1000.0, 10.0));
    assert!(html.contains("part kind whole"), "{html}");
    let few = flow_of(&flowed(4, 1000.0, 10.0));
    assert!(!few.contains("part kind whole"), "{few}");
}
