//! Checks of gauges from outside: what a check finds is kept, is used from then on, and marks
//! what came before it where it failed.

use benchhand_tests::program::Program;
use benchhand_tests::shop::Shop;
use serde_json::Value;

/// Volume in cc at 20 degC of a borosilicate burette for each gram of water at 20 degC in air of
/// 1013.25 hPa, 20 degC and 50 %RH (`gravimetric_volume.csv`; at 20 degC glass adds nothing).
const CC_PER_GRAM: f64 = 1.002_851_186_48;

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

fn gauge<'a>(list: &'a Value, name: &str) -> &'a Value {
    let gauges = list["gauges"].as_array().expect("gauges");
    let named = |g: &&Value| g["setup"]["name"] == name;
    gauges.iter().find(named).expect("it is in the register")
}

/// Enters a chamber by eye and gives its line of `job show`.
#[track_caller]
fn enter(program: &Program, spot: &str, value: &str) -> Value {
    program.json(&["enter", "v8", spot, value, "--sure", "--gauge", "burette"]);
    let shown = program.json(&["job", "show", "v8"]);
    let readings = shown["readings"].as_array().expect("readings").clone();
    readings
        .into_iter()
        .rfind(|r| r["spot"] == spot)
        .expect("kept")
}

#[test]
fn a_burette_that_is_checked_by_weighing_water_is_corrected_from_then_on() {
    let shop = Shop::with_job();
    shop.chambers_are_set_up();
    let program = &shop.program;
    let mut set = vec!["gauge", "set", "burette", "--profile", "ascii-volume"];
    set.extend(["--repeatability", "0.02 cc"]);
    set.extend([
        "--capacity",
        "100 cc",
        "--counts",
        "down",
        "--resolution",
        "0.05 cc",
    ]);
    program.json(&set);
    let before = enter(program, "chamber/1", "64.00 cc");
    near(&before["figure"]["value"], 64.0, 1e-9);

    // It shows 0.15 cc and half a percent more than it delivers, rounded to its divisions.
    let mut csv = String::from("# balance read to 0.01 g\nmaster,shown,u\n");
    for grams in [10.0, 25.0, 40.0, 55.0, 70.0, 85.0, 10.0, 25.0] {
        let delivered = grams * CC_PER_GRAM;
        let shown = ((delivered * 1.005 + 0.15) / 0.05).round() * 0.05;
        csv += &format!("{grams} g,{shown:.2} cc,0.01 g\n");
    }
    let file = shop.file("water.csv", &csv);
    let mut check = vec![
        "gauge",
        "check",
        "burette",
        "--job",
        "v8",
        "--against",
        &file,
    ];
    check.extend([
        "--by-water",
        "20 degC +- 0.2 degC",
        "--glass",
        "borosilicate",
    ]);
    check.extend([
        "--air",
        "1013.25 hPa, 20 degC, 50 %RH",
        "--u",
        "0.02 g",
        "--json",
    ]);
    let ran = program.run(&check);
    assert_eq!(ran.code, 1, "as found it was off: {}", ran.err);
    let found = ran.json();
    near(&found["worst"], 0.15 + 85.2 * 0.005, 0.04);
    assert!(found["left"].as_f64().unwrap().abs() < 0.04, "{found}");
    assert_eq!(found["taken_over"], true);
    assert_eq!(found["counted"], "what was delivered");
    let marked = found["marked"].as_array().expect("a list");
    assert_eq!(
        marked,
        &vec![before["id"].clone()],
        "what came before is marked"
    );

    // 64.47 on its scale are what it truly delivers when it shows that.
    let after = enter(program, "chamber/3", "64.47 cc");
    near(&after["figure"]["value"], 64.0, 0.03);
    let journal = String::from_utf8(shop.journal()).expect("text");
    assert!(journal.contains("\"raw\":64.47"), "what was read stays");
    let list = program.json(&["gauge", "list"]);
    let burette = gauge(&list, "burette");
    assert_eq!(burette["setup"]["counts"], "down");
    let check = &burette["check"];
    assert!(check["date"].as_str().unwrap().starts_with("20"), "{check}");
    near(&check["scale"], -0.005, 0.001);
    let text = program.run(&["gauge", "list"]).good().out;
    assert!(text.contains(check["date"].as_str().unwrap()), "{text}");

    // The report rests on the check's uncertainty, and sums two roundings of the scale to it.
    let u: f64 = found["correction"]["u"].as_f64().expect("known");
    assert!(u > 0.015 && u < 0.05, "{u}");
    let report = program.json(&["report", "v8"]);
    let chamber = &benchhand_tests::shop::cylinder(&report, 3)["chamber"];
    let rounding = 2.0 * 0.05_f64.powi(2) / 12.0;
    assert!(
        chamber["u"].as_f64().expect("known") >= (u * u + rounding).sqrt() - 1e-6,
        "{chamber}"
    );

    // A second check finds the corrected gauge good.
    let mut again = vec![
        "gauge",
        "check",
        "burette",
        "--job",
        "v8",
        "--against",
        &file,
    ];
    again.extend([
        "--by-water",
        "20 degC",
        "--glass",
        "borosilicate",
        "--u",
        "0.02 g",
    ]);
    again.extend([
        "--air",
        "1013.25 hPa, 20 degC, 50 %RH",
        "--allow",
        "0.06 cc",
    ]);
    let again = program.json(&again);
    assert_eq!(again["passed"], true, "{again}");
}

/// A check gives the register what it found; setting the port anew does not take it away, stating
/// another calibration does.
#[test]
fn what_a_check_gave_stays_until_something_else_is_said_of_the_calibration() {
    let shop = Shop::with_job();
    let program = &shop.program;
    let set = ["gauge", "set", "scale", "--profile", "ascii-mass"];
    program.json(&set);
    let file = shop.file(
        "weights.csv",
        "master,shown\n100 g,100.5 g\n200 g,201.0 g\n300 g,301.5 g\n",
    );
    let mut check = vec!["gauge", "check", "scale", "--job", "v8", "--against", &file];
    check.extend(["--u", "0.01 g", "--allow", "2 g"]);
    let found = program.json(&check);
    near(&found["scale"]["value"], -1.5 / 301.5, 1e-9);
    // A single master afterwards is held against what it shows corrected.
    let mut single = vec![
        "gauge", "check", "scale", "--job", "v8", "--master", "150 g",
    ];
    single.extend(["--raw", "150.75 g", "--allow", "0.01 g"]);
    let single = program.json(&single);
    near(&single["error"], 0.0, 0.001);
    let list = program.json(&set);
    near(&list["gauge"]["check"]["scale"], -1.5 / 301.5, 1e-7);
    assert!(list["gauge"]["setup"]["u"].is_string(), "{list}");
    let mut stated = set.to_vec();
    stated.extend(["--u", "0.02 g", "--calibrated", "certificate of May"]);
    let list = program.json(&stated);
    assert_eq!(list["gauge"]["check"], Value::Null, "{list}");
    assert_eq!(list["gauge"]["setup"]["u"], "0.02 g");
}

#[test]
fn a_manometer_is_held_against_a_column_of_water() {
    let shop = Shop::with_job();
    let program = &shop.program;
    program.json(&["gauge", "set", "manometer", "--profile", "ascii-pressure"]);
    // `manometer.csv`: 711.2 mm of water at 20 degC in air of 1013.25 hPa are 6953.61784362 Pa.
    let file = shop.file(
        "column.csv",
        "master,shown\n711.2 mm,6960.6 Pa\n355.6 mm,3483.8 Pa\n",
    );
    let mut check = vec![
        "gauge",
        "check",
        "manometer",
        "--job",
        "v8",
        "--against",
        &file,
    ];
    check.extend([
        "--by-water",
        "20 degC",
        "--air",
        "1013.25 hPa, 20 degC, 50 %RH",
    ]);
    check.extend(["--gravity", "9.80665", "--allow", "10 Pa", "--u", "0.5 mm"]);
    let found = program.json(&check);
    near(
        &found["points"][0]["truth"]["value"],
        6_953.617_843_62,
        0.02,
    );
    near(&found["worst"], 6.99, 0.03);
    // Half a millimetre of height is 4.9 Pa.
    near(&found["correction"]["u"], 4.9, 0.3);
    let refused = program.run(&[
        "gauge",
        "check",
        "manometer",
        "--job",
        "v8",
        "--against",
        &file,
    ]);
    assert_eq!(refused.code, 3, "heights are no pressures: {}", refused.err);
}

#[test]
fn a_flow_bench_is_calibrated_by_its_plate_and_its_leak_is_taken_off() {
    let shop = Shop::with_job();
    let program = &shop.program;
    let flow = |port: &str| format!("flow/{port}/intake/0.300in");
    let kept = |csv: &str, name: &str| {
        let file = shop.file(name, csv);
        program.json(&["import", "v8", &file])
    };
    let at_28 = |port: &str| {
        let spot = flow(port);
        format!("spot,value,unit\n{spot}/test,28,inH2O\n{spot}/metering,6,inH2O\n")
    };
    kept(&at_28("1"), "before.csv");
    let flow_of = |port: u64| {
        let report = program.json(&["report", "v8"]);
        let all = report["flow"].as_array().expect("flow").clone();
        let of = |row: &Value| row["cylinder"] == port;
        let row = all.into_iter().find(of).expect("the port");
        row["flow_at_reference"]["value"].as_f64().expect("a flow")
    };
    let before = flow_of(1);

    // The engine file says 240 cfm at 8 inH2O: at 6 that is 207.85 cfm. The plate says 218.
    let mut plate = vec!["flow-bench", "plate", "v8", "--flow", "218 cfm +- 1 cfm"];
    plate.extend([
        "--at",
        "28 inH2O",
        "--test",
        "28 inH2O",
        "--metering",
        "6 inH2O",
        "--json",
    ]);
    let ran = program.run(&plate);
    assert_eq!(ran.code, 1, "{}", ran.err);
    let found = ran.json();
    near(
        &found["said"]["value"],
        240.0 * (6.0_f64 / 8.0).sqrt(),
        0.01,
    );
    near(&found["error"], 207.846 / 218.0 - 1.0, 1e-4);
    near(&found["flow"]["u"], 1.0, 1e-6);
    assert_eq!(found["marked"].as_array().expect("a list").len(), 1);
    kept(&at_28("3"), "after.csv");
    let after = flow_of(3);
    assert!(
        (after / before - 218.0 / 207.846).abs() < 1e-4,
        "{before} {after}"
    );
    assert!(
        (flow_of(1) - before).abs() < 1e-9,
        "what came before stays as it was"
    );

    program.json(&[
        "flow-bench",
        "leak",
        "v8",
        "--flow",
        "4 cfm +- 0.2 cfm",
        "--at",
        "28 inH2O",
    ]);
    kept(&at_28("5"), "sealed.csv");
    let without_leak = flow_of(5);
    assert!(
        (without_leak / after - 214.0 / 218.0).abs() < 1e-4,
        "{without_leak} {after}"
    );
}

/// A zero's own uncertainty, as it was said, goes into the figures that are counted from it.
#[test]
fn what_is_said_of_a_zero_widens_the_deck_that_is_counted_from_it() {
    let u_with = |zero_u: Option<&str>| {
        let shop = Shop::with_job();
        let program = &shop.program;
        let mut set = vec!["gauge", "set", "plunger", "--profile", "ascii-length"];
        set.extend(["--u", "0.0001 in", "--resolution", "0.0001 in"]);
        set.extend(["--repeatability", "0.0002 in"]);
        program.json(&set);
        let mut zero = vec!["gauge", "zero", "plunger", "--job", "v8", "--raw", "0.5 in"];
        zero.extend(zero_u.iter().flat_map(|u| ["--u", u]));
        program.json(&zero);
        for point in ["front", "rear"] {
            let spot = format!("deck/1/{point}");
            program.json(&["enter", "v8", &spot, "0.01 in", "--gauge", "plunger"]);
        }
        let report = program.json(&["report", "v8"]);
        let deck = &benchhand_tests::shop::cylinder(&report, 1)["deck"];
        // A zero of which nothing was said is lacking; what is known stands beside it.
        assert_eq!(deck["u"].is_null(), zero_u.is_none(), "{deck}");
        let u = deck["u"].as_f64().or_else(|| deck["u_known"].as_f64());
        u.unwrap_or_else(|| panic!("no u: {deck}"))
    };
    let without = u_with(None);
    let with = u_with(Some("0.001 in"));
    assert!(without < 0.0005, "{without}");
    // Both points share it: it does not average out.
    assert!(
        (with * with - without * without).sqrt() > 0.000_99,
        "{without} {with}"
    );
}

/// A closing zero that is off widens what was counted from the zero, whether or not somebody stated how
/// well it was zeroed.
#[test]
fn a_closing_zero_that_is_off_widens_a_deck_of_whose_zero_nothing_was_said() {
    let shop = Shop::with_job();
    let program = &shop.program;
    let mut set = vec!["gauge", "set", "plunger", "--profile", "ascii-length"];
    set.extend(["--u", "0.0001 in", "--repeatability", "0.0002 in"]);
    program.json(&set);
    program.json(&["gauge", "zero", "plunger", "--job", "v8", "--raw", "0.5 in"]);
    for point in ["front", "rear"] {
        let spot = format!("deck/1/{point}");
        program.json(&["enter", "v8", &spot, "0.0100 in", "--gauge", "plunger"]);
    }
    let known = || {
        let report = program.json(&["report", "v8"]);
        let deck = &benchhand_tests::shop::cylinder(&report, 1)["deck"];
        let u = deck["u_known"].as_f64().or_else(|| deck["u"].as_f64());
        u.unwrap_or_else(|| panic!("nothing is known: {report}"))
    };
    let before = known();
    // Typed without the digits that the dial shows: no step of the display, so it is not allowed.
    let check = [
        "gauge", "check", "plunger", "--job", "v8", "--raw", "0.52 in",
    ];
    let checked = program.run(&[check.as_slice(), &["--json"]].concat());
    let checked: Value = serde_json::from_str(&checked.out).expect("JSON");
    assert_eq!(checked["passed"], false, "{checked}");
    let after = known();
    let found = (after * after - before * before).sqrt();
    assert!(
        (found - 0.02 / 3f64.sqrt()).abs() < 1e-5,
        "{before} {after}"
    );
}
