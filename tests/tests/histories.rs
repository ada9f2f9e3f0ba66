//! What many jobs tell: how a gauge repeats and what its checks found, engines like one, the
//! readings of a spot. A daemon and a single command answer alike.

use benchhand_tests::program::Program;
use benchhand_tests::shop::{Shop, example};
use serde_json::Value;

#[track_caller]
fn near(found: &Value, expected: f64, within: f64) {
    let value = found
        .as_f64()
        .unwrap_or_else(|| panic!("no number: {found}"));
    assert!(
        (value - expected).abs() <= within,
        "found {value}, expected {expected}"
    );
}

/// Opens a job on the invented engine with another bore and another order of cylinders.
fn open(shop: &Shop, name: &str, bore: &str, banks: &str) {
    let text = std::fs::read_to_string(example("invented-v8.toml")).expect("an example");
    let text = text
        .replace("value = \"4.047 in\"", &format!("value = \"{bore}\""))
        .replace("banks = [[1, 3, 5, 7], [2, 4, 6, 8]]", banks)
        .replace("value = \"4.147 in\"", "value = \"4.700 in\"");
    assert!(text.contains(bore) && text.contains(banks), "{text}");
    let file = shop.file(&format!("{name}.toml"), &text);
    shop.program.json(&["job", "new", name, &file]);
}

const BANKS: &str = "banks = [[1, 3, 5, 7], [2, 4, 6, 8]]";

fn enter(program: &Program, job: &str, spot: &str, value: &str) -> String {
    let typed = ["enter", job, spot, value, "--sure", "--gauge", "burette"];
    program.json(&typed)["number"].to_string()
}

/// The same question to a single command and to a daemon.
#[track_caller]
fn asked_both_ways(shop: &Shop, args: &[&str]) -> Value {
    let alone = shop.program.json(args);
    let daemon = shop.program.serve(&[]);
    let served = shop.program.json(args);
    daemon.stop();
    assert_eq!(alone, served, "a daemon answers otherwise");
    alone
}

#[test]
fn a_gauge_history_pools_repeats_within_spot_and_stage_over_jobs_and_keeps_each_check() {
    let shop = Shop::with_job();
    let program = &shop.program;
    program.json(&["gauge", "set", "burette", "--profile", "ascii-volume"]);
    open(&shop, "other", "4.000 in", BANKS);
    for (job, spot, value) in [
        ("v8", "chamber/1", "64.0 cc"),
        ("v8", "chamber/1", "64.2 cc"),
        ("v8", "chamber/2", "63.9 cc"),
        ("v8", "chamber/2", "64.0 cc"),
        ("other", "chamber/1", "60.0 cc"),
        ("other", "chamber/1", "60.3 cc"),
        ("other", "crown/1", "-3.2 cc"),
    ] {
        enter(program, job, spot, value);
    }
    let slip = enter(program, "v8", "chamber/2", "46.9 cc");
    program.json(&["void", "v8", &slip, "--reason", "a slip"]);
    let mut cut = vec!["job", "cut", "v8", "--stage", "milled 1", "--what"];
    cut.extend(["0.030 in off both heads", "--changes", "chamber"]);
    program.json(&cut);
    // One reading of another stage says nothing of how the gauge repeats.
    enter(program, "v8", "chamber/1", "62.0 cc");
    let mut check = vec!["gauge", "check", "burette", "--job", "other"];
    check.extend(["--master", "50 cc", "--raw", "50.02 cc"]);
    check.extend(["--allow", "0.1 cc", "--u", "0.01 cc"]);
    program.json(&check);

    let history = asked_both_ways(&shop, &["gauge", "history", "burette"]);
    let short = &history["in_short"];
    assert_eq!(short["jobs"], 2);
    assert_eq!(short["readings"], 8);
    let scatter = short["scatter"].as_array().expect("a list");
    assert_eq!(scatter.len(), 1, "a crown was read once: {short}");
    assert_eq!(scatter[0]["quantity"], "chamber");
    // √((0.2²/2 + 0.1²/2 + 0.3²/2) / 3), by hand.
    near(&scatter[0]["sd"], (0.07_f64 / 3.0).sqrt(), 1e-12);
    assert_eq!(
        (&scatter[0]["dof"], &scatter[0]["sets"]),
        (&3.into(), &3.into())
    );
    let checks = history["checks"].as_array().expect("a list");
    assert_eq!(checks.len(), 1, "{history}");
    near(&checks[0]["error"]["value"], 0.02, 1e-9);
    near(&checks[0]["error"]["u"], 0.01, 1e-12);
    assert_eq!(checks[0]["job"], "other");
    assert_eq!(checks[0]["passed"], true);
    let of = |job: &str| {
        let jobs = history["jobs"].as_array().expect("a list");
        let found = jobs.iter().find(|one| one["job"] == job);
        found.unwrap_or_else(|| panic!("{job} is not in {history}"))
    };
    near(&of("v8")["scatter"][0]["sd"], 0.0125_f64.sqrt(), 1e-12);
    assert_eq!(
        (&of("v8")["checks"], &of("other")["checks"]),
        (&0.into(), &1.into())
    );

    let text = program.run(&["gauge", "history", "burette"]).good().out;
    for words in ["0.15 cc", "0.020 ± 0.020 cc", "OK"] {
        assert!(text.contains(words), "{words:?} is missing in\n{text}");
    }
    let list = asked_both_ways(&shop, &["gauge", "list"]);
    assert_eq!(list["history"]["burette"], *short);
    let text = program.run(&["gauge", "list"]).good().out;
    assert!(text.contains("chamber repeats to 0.15 cc"), "{text}");
}

#[test]
fn a_gauge_that_nobody_knows_has_no_history() {
    let shop = Shop::with_job();
    let ran = shop.program.run(&["gauge", "history", "burete"]);
    assert_ne!(ran.code, 0, "{}", ran.out);
    assert!(ran.err.contains("burete"), "{}", ran.err);
}

#[test]
fn jobs_like_one_come_nearest_first_with_the_figures_of_their_reports() {
    let shop = Shop::with_job();
    let program = &shop.program;
    // One, two and fifteen hundredths above the example's 4.047 in.
    open(&shop, "wide", "4.12794 in", BANKS);
    open(&shop, "near", "4.08747 in", BANKS);
    open(&shop, "far", "4.654 in", BANKS);
    open(
        &shop,
        "row",
        "4.047 in",
        "banks = [[1, 2, 3, 4, 5, 6, 7, 8]]",
    );
    for cylinder in 1..=8 {
        let spot = format!("chamber/{cylinder}");
        enter(program, "near", &spot, "64.3 cc");
    }
    let like = asked_both_ways(&shop, &["job", "list", "--like", "v8"]);
    let jobs = like["jobs"].as_array().expect("a list");
    let names: Vec<&Value> = jobs.iter().map(|one| &one["summary"]["name"]).collect();
    assert_eq!(names, ["near", "wide"], "{like}");
    near(&jobs[0]["apart"], 0.01, 1e-9);
    near(&jobs[1]["apart"], 0.02, 1e-9);
    near(&jobs[0]["sizes"]["bore"]["value"], 4.08747, 1e-12);
    let report = program.json(&["report", "near"]);
    let figures = jobs[0]["figures"].as_array().expect("a list");
    let chamber = figures.iter().find(|one| one[0] == "chamber_mean");
    let chamber = &chamber.expect("it was measured")[1];
    assert_eq!(chamber["value"], report["summary"]["chamber_mean"]["value"]);
    assert_eq!(chamber["unit"], "cc");
    let text = program.run(&["job", "list", "--like", "v8"]).good().out;
    for words in ["1.0 %", "64.30", "4.08747 in"] {
        assert!(text.contains(words), "{words:?} is missing in\n{text}");
    }
}

#[test]
fn figures_of_a_like_engine_follow_what_is_kept_while_the_daemon_runs() {
    let shop = Shop::with_job();
    let program = &shop.program;
    open(&shop, "near", "4.040 in", BANKS);
    enter(program, "near", "chamber/1", "64.3 cc");
    let daemon = program.serve(&[]);
    let chamber = || {
        let like = program.json(&["job", "list", "--like", "v8"]);
        let figures = like["jobs"][0]["figures"]
            .as_array()
            .expect("a list")
            .clone();
        let found = figures.into_iter().find(|one| one[0] == "chamber_mean");
        found.expect("it was measured")[1]["value"].clone()
    };
    near(&chamber(), 64.3, 1e-9);
    enter(program, "near", "chamber/2", "65.3 cc");
    near(&chamber(), 64.8, 1e-9);
    near(&chamber(), 64.8, 1e-9);
    daemon.stop();
}

#[test]
fn every_reading_of_a_spot_is_shown_over_the_jobs() {
    let shop = Shop::with_job();
    let program = &shop.program;
    open(&shop, "other", "4.000 in", BANKS);
    enter(program, "v8", "chamber/1", "64.0 cc");
    enter(program, "other", "chamber/1", "60.5 cc");
    enter(program, "other", "chamber/2", "60.6 cc");
    let args = ["job", "list", "--spot", "chamber/1", "--readings"];
    let found = asked_both_ways(&shop, &args);
    let readings = found["readings"].as_array().expect("a list");
    let shown: Vec<(&Value, &Value)> = readings
        .iter()
        .map(|one| (&one["job"], &one["figure"]["value"]))
        .collect();
    assert_eq!(shown.len(), 2, "{found}");
    assert_eq!((shown[0].0, shown[1].0), (&"v8".into(), &"other".into()));
    near(shown[0].1, 64.0, 1e-12);
    near(shown[1].1, 60.5, 1e-12);
}
