//! In which units the terminal tells what was measured, and which commas it takes for decimal ones.

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;

/// An invented engine in millimetres whose springs are told in inches.
const ENGINE: &str = "name = \"Invented four\"\nunits = \"metric\"\ncylinders = 4\n\
    [free.spring_height]\nunit = \"in\"\nat = [\"intake\"]\n\
    [flow]\nreference = \"28 inH2O\"\n";

struct Bench(tempfile::TempDir);

impl Bench {
    fn new(shop: &str) -> Bench {
        let bench = Bench(tempfile::tempdir().expect("a folder"));
        std::fs::write(bench.file("shop.toml"), shop).expect("written");
        std::fs::write(bench.file("engine.toml"), ENGINE).expect("written");
        let engine = bench.file("engine.toml");
        let mut new = bench.run(&["job", "new", "four"]);
        new.arg(engine).assert().success();
        bench
    }

    fn file(&self, name: &str) -> std::path::PathBuf {
        self.0.path().join(name)
    }

    fn run(&self, words: &[&str]) -> Command {
        let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
        command
            .env("BENCHHAND_DATA", self.0.path())
            .env_remove("BENCHHAND_LOG")
            .env("NO_COLOR", "1")
            .args(words);
        command
    }
}

#[test]
fn the_shops_units_of_pressure_and_flow_hold_at_the_terminal_too() {
    let shop = "pressure_unit = \"inH2O\"\nflow_unit = \"cfm\"\n";
    for (shop, report, show, pressure) in [
        (shop, "Flow, cfm at 28", "flow 148.3 cfm", "28.00 inH2O"),
        ("", "Flow, L/min at 711", "flow 4200 L/min", "711.00 mmH2O"),
    ] {
        let bench = Bench::new(shop);
        let mut enter = bench.run(&["enter", "four", "flow/1/intake/7.62mm"]);
        enter.arg("28 inH2O and 4200 L/min").assert().success();
        let told = bench.run(&["report", "four"]).assert().success();
        told.stdout(contains(report));
        let told = bench.run(&["job", "show", "four"]).assert().success();
        told.stdout(contains(show).and(contains(pressure)));
        let mut leak = bench.run(&["flow-bench", "leak", "four", "--flow", "2.1 cfm"]);
        let told = leak.args(["--at", "6974.5 Pa"]).assert().success();
        told.stdout(contains(&pressure[..4]));
    }
}

#[test]
fn a_job_is_shown_in_the_units_of_its_engine_and_of_its_free_spots() {
    let bench = Bench::new("");
    let kept = |words: &[&str]| {
        let mut all = vec!["enter", "four"];
        all.extend(words);
        bench.run(&all).assert().success()
    };
    kept(&["deck/1", "0.0085 in"]).stdout(contains("deck/1 = 0.216 mm (0.0085 in)"));
    kept(&["spring_height/1/intake", "45.72 mm"]).stdout(contains("= 1.8000 in (45.720 mm)"));
    kept(&["chamber/1", "64.9 cc"]).stdout(contains("chamber/1 = 64.90 cc at"));
    let show = bench.run(&["job", "show", "four"]).assert().success();
    show.stdout(
        contains("0.216 mm")
            .and(contains("1.8000 in"))
            .and(contains("45.72").not()),
    );
    // What programs read stays as it was kept.
    let json = bench
        .run(&["job", "show", "four", "--json"])
        .assert()
        .success();
    let document: serde_json::Value =
        serde_json::from_slice(&json.get_output().stdout).expect("a document");
    let spring = &document["readings"][1];
    assert_eq!(spring["figure"]["unit"], "mm");
    assert_eq!(spring["told"]["unit"], "in");
}

#[test]
fn a_comma_is_a_decimal_one_where_it_can_be_nothing_else() {
    let bench = Bench::new("");
    let mut enter = bench.run(&["enter", "four", "chamber/1", "64,9", "cc"]);
    enter
        .assert()
        .success()
        .stdout(contains("chamber/1 = 64.90 cc"));
    let mut levels = bench.run(&[
        "enter",
        "four",
        "chamber/2",
        "--from",
        "0,5 cc",
        "--to",
        "65,3 cc",
    ]);
    levels.assert().success().stdout(contains("= 64.80 cc"));
    let mut thousands = bench.run(&["enter", "four", "chamber/3", "1,234 cc"]);
    let both = contains("1.234 cc")
        .and(contains("1234 cc"))
        .and(contains("thousands"));
    thousands.assert().code(3).stderr(both);
    let mut list = bench.run(&["measure", "four", "flow", "--list", "lift=0,1"]);
    let both = contains("0.1")
        .and(contains("0.0,1.0"))
        .and(contains("a list"));
    list.assert().code(3).stderr(both);
}

#[test]
fn a_file_of_readings_may_have_decimal_commas() {
    let bench = Bench::new("");
    let file = bench.file("readings.csv");
    for text in [
        "spot;value;unit;stage\nchamber/1;64,9;cc;as received\n",
        "spot,value,unit\nchamber/2,\"64,8\",cc\n",
    ] {
        std::fs::write(&file, text).expect("written");
        let mut import = bench.run(&["import", "four"]);
        import.arg(&file).assert().success();
    }
    let show = bench.run(&["job", "show", "four"]).assert().success();
    show.stdout(contains("64.90 cc").and(contains("64.80 cc")));
    std::fs::write(&file, "spot,value,unit\nchamber/3,\"1,234\",cc\n").expect("written");
    let mut import = bench.run(&["import", "four"]);
    let refused = import.arg(&file).assert().code(3);
    refused.stderr(contains("2:11").and(contains("could part thousands")));
}
