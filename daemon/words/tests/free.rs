//! Free spots as people read them: a line each in the short report, what is wrong with single ones,
//! and all of it in the long one.

use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use benchhand_words::full::full_report;
use benchhand_words::short::{DoneAt, ShortReport};

const ENGINE: &str = "name = \"check\"\nunits = \"inch\"\ncylinders = 4\n\
    [free.spring_height]\ntitle = \"spring height\"\nunit = \"in\"\nat = [\"intake\"]\n\
    least = \"1.790 in\"\nmost = \"1.810 in\"\nspread = \"0.040 in\"\n\
    [gauges.dial]\nkind = \"dial\"\nresolution = \"0.0001 in\"\nu = \"0.0005 in\"\n\
    zero_u = \"0 in\"\nrepeatability = \"0.00005 in\"\n";

fn of(heights: &[f64]) -> Report {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let rows = heights
        .iter()
        .enumerate()
        .map(|(at, height)| format!("free/spring_height/{}/intake,{height:.4},in,dial\n", at + 1));
    let csv = format!("spot,value,unit,gauge\n{}", rows.collect::<String>());
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
fn a_line_each_and_what_is_not_ok_is_marked() {
    let report = of(&[1.8000, 1.8010, 1.8150, 1.8095]);
    let short = ShortReport::new(&report, "v8", None);
    let text = short.text();
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    let line = text
        .lines()
        .find(|line| line.contains("Spring height intake"));
    let line = line.expect("a line in the table of averages");
    assert!(line.contains("1.8064 ±") && line.ends_with("OK"), "{line}");
    let judged = text
        .lines()
        .find(|line| line.contains("against its limits"));
    let judged = judged.expect("a line under what to check");
    assert!(judged.starts_with("! Spring height intake"), "{judged}");
    let unbroken = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let told = "1 and 2 OK; 3 NOT OK; 4 too close to call.";
    assert!(unbroken.contains(told), "{text}");
}

#[test]
fn what_is_not_ok_is_a_step_and_what_is_missing_is_measured_by_its_route() {
    let partly = ShortReport::new(&of(&[1.8000, 1.8010]), "v8", None);
    let next = &partly.next[0];
    assert_eq!(next.what, "Measure spring height 3 and 4");
    assert_eq!(next.command, "benchhand measure v8 spring_height");
    let place = DoneAt::Route {
        route: "spring_height".to_owned(),
        cylinders: vec![3, 4],
        rounds: None,
        afresh: false,
    };
    assert_eq!(next.place, Some(place));
}

#[test]
fn the_long_report_tells_all_of_it() {
    let text = full_report(&of(&[1.8000, 1.8010, 1.8150, 1.8095]));
    for told in [
        "\nFree spots\n",
        "spring height, intake: average 1.8064 ±",
        "allowed spread 0.0400 in, least allowed 1.7900 in, most allowed 1.8100 in",
        "free/spring_height/3/intake",
        "NOT OK: spring height 3 intake: the spring height is outside its limits",
        "OK: spring height intake spread: the spread of 0.0150 in is within 0.0400 in",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
}
