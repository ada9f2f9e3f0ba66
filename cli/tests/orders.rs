//! Orders from outside: entered, put right, taken back, and beside what came.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;
use serde_json::Value;

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../examples")
        .join(name)
}

/// A shop with one measured job, whose pistons are to be ordered.
struct Shop {
    data: tempfile::TempDir,
}

impl Shop {
    fn new() -> Shop {
        let shop = Shop {
            data: tempfile::tempdir().expect("a folder"),
        };
        let mut job = shop.run(&["job", "new", "v8"]);
        job.arg(example("invented-v8.toml")).assert().success();
        let mut import = shop.run(&["import", "v8", "--sure"]);
        import
            .arg(example("invented-v8-readings.csv"))
            .assert()
            .success();
        shop
    }

    fn run(&self, words: &[&str]) -> Command {
        let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
        command
            .env("BENCHHAND_DATA", self.data.path())
            .env_remove("BENCHHAND_LOG")
            .env_remove("BENCHHAND_BY")
            .env("NO_COLOR", "1")
            .args(words);
        command
    }

    #[track_caller]
    fn said(&self, words: &[&str]) -> String {
        let out = self.run(words).assert().success().get_output().clone();
        String::from_utf8(out.stdout).expect("text")
    }

    #[track_caller]
    fn json(&self, words: &[&str]) -> Value {
        let mut words = words.to_vec();
        words.push("--json");
        serde_json::from_str(&self.said(&words)).expect("JSON")
    }

    /// Writes the sheet of an order and gives its file.
    fn sheet(&self, job: &str, name: &str) -> String {
        let file = self.data.path().join(name).display().to_string();
        self.said(&[
            "sheet",
            "order",
            job,
            "--ratio",
            "10.5",
            "--ratio-tolerance",
            "0.2",
            "--out",
            &file,
            "--force",
        ]);
        file
    }

    /// The size of one cylinder beside what was ordered.
    fn beside(&self, size: &str, cylinder: u32) -> Value {
        let orders = self.json(&["job", "orders", "v8"]);
        let rows = orders["document"].as_array().expect("a list").clone();
        let found = rows
            .into_iter()
            .find(|row| row["size"] == size && row["cylinder"] == cylinder);
        found.unwrap_or_else(|| panic!("no {size} of {cylinder} in {orders}"))
    }
}

#[test]
fn what_the_sheet_says_is_what_the_record_has_as_ordered() {
    let shop = Shop::new();
    let file = shop.sheet("v8", "order.html");
    let html = std::fs::read_to_string(&file).expect("a sheet");
    let printed = |name: &str| {
        let (_, behind) = html
            .split_once(&format!("data-figure=\"{name}\">"))
            .unwrap_or_else(|| panic!("{name} is on the sheet"));
        behind.split('<').next().expect("text").to_owned()
    };
    let number = |text: &str| {
        let text = text.trim_start_matches("± ");
        let word = text.split(' ').next().expect("a number");
        word.parse::<f64>().expect("a number")
    };
    let sign = match printed("shape").as_str() {
        "dish" => -1.0,
        _ => 1.0,
    };
    let told = shop.said(&[
        "job",
        "order",
        "v8",
        "--from-sheet",
        &file,
        "--from",
        "an invented maker",
        "--by",
        "AB",
    ]);
    assert!(told.contains(" from an invented maker by AB: "), "{told}");
    let crown = shop.beside("crown", 3);
    assert_eq!(
        crown["ordered"]["value"],
        sign * number(&printed("dome or dish"))
    );
    assert_eq!(crown["tolerance"]["value"], number(&printed("tolerance")));
    // The domes that were measured before are those of other pistons.
    assert_eq!(crown["measured"], Value::Null, "{crown}");
    assert_eq!(crown["answer"], Value::Null);
    let orders = shop.json(&["job", "orders", "v8"]);
    let sheet = orders["orders"][0]["sheet"].as_str().expect("a hash");
    assert!(html.contains(sheet), "the hash is the sheet's");
    // The next sheet says when it was entered.
    let again = std::fs::read_to_string(shop.sheet("v8", "again.html")).expect("a sheet");
    assert!(
        again.contains("In the record as ordered: entry "),
        "no entry"
    );
    assert!(!html.contains("In the record as ordered"));
    // The sheet that went out still agrees with the record.
    shop.run(&["sheet", "check", &file]).assert().success();
}

#[test]
fn when_the_parts_come_ordered_stands_beside_measured() {
    let shop = Shop::new();
    shop.said(&[
        "job",
        "order",
        "v8",
        "--dish",
        "4.20 cc +- 0.15 cc",
        "--height",
        "1.203 in +- 0.001 in",
    ]);
    let text = shop.said(&["job", "orders", "v8"]);
    assert!(text.contains("not measured yet"), "{text}");
    let before = shop.said(&["report", "v8"]);
    for (spot, value) in [
        ("crown/1", "-4.25 cc"),
        ("crown/2", "-4.95 cc"),
        ("height/1", "1.2032 in"),
    ] {
        shop.said(
            &["enter", "v8", spot, "--sure", "--u", "0.01 cc", "--", value].map(|word| {
                match (word, spot) {
                    ("0.01 cc", "height/1") => "0.0001 in",
                    (word, _) => word,
                }
            }),
        );
    }
    let (good, bad) = (shop.beside("crown", 1), shop.beside("crown", 2));
    assert_eq!(
        (&good["answer"], &bad["answer"]),
        (&"within".into(), &"outside".into())
    );
    let off = bad["difference"]["value"].as_f64().expect("a number");
    assert!((off + 0.75).abs() < 1e-9, "{bad}");
    assert!(
        bad["difference"]["u"].as_f64().is_some_and(|u| u > 0.0),
        "{bad}"
    );
    assert_eq!(shop.beside("height", 1)["answer"], "within");
    assert_eq!(shop.beside("height", 2)["measured"], Value::Null);
    let text = shop.said(&["job", "orders", "v8"]);
    for words in ["dish 4.20 ± 0.15 cc", "NOT OK", "OK", "compression height"] {
        assert!(text.contains(words), "{words:?} is missing in\n{text}");
    }
    // The short report names the one that is not as ordered, and no other.
    let after = shop.said(&["report", "v8"]);
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let not_so = |text: &str| flat(text).matches("than ordered").count();
    assert_eq!((not_so(&before), not_so(&after)), (0, 1), "{after}");
    assert!(
        flat(&after).contains("ordered dish 4.20 ± 0.15 cc"),
        "{after}"
    );
    let full = shop.said(&["report", "v8", "--full"]);
    assert!(full.contains("Ordered and measured since"), "{full}");
    assert!(full.contains("Not as ordered"), "{full}");
    // A dial of ± 0.1 cc cannot tell a dish on the limit.
    shop.said(&[
        "enter", "v8", "crown/3", "--sure", "--u", "0.10 cc", "--", "-4.33 cc",
    ]);
    assert_eq!(shop.beside("crown", 3)["answer"], "cannot_tell");
}

#[test]
fn a_wrong_entry_is_put_right_or_taken_back_and_parts_stay_measured() {
    let shop = Shop::new();
    shop.said(&["job", "order", "v8", "--dish", "42.0 cc +- 0.15 cc"]);
    shop.said(&[
        "enter", "v8", "crown/1", "--sure", "--u", "0.01 cc", "--", "-4.25 cc",
    ]);
    assert_eq!(shop.beside("crown", 1)["answer"], "outside");
    let told = shop.said(&["job", "order", "v8", "--dish", "4.20 cc +- 0.15 cc"]);
    assert!(told.contains("this no longer holds"), "{told}");
    assert_eq!(shop.beside("crown", 1)["answer"], "within");
    shop.said(&["job", "order", "v8", "--dish", "4.60 cc", "--cylinder", "2"]);
    assert_eq!(shop.beside("crown", 2)["ordered"]["value"], -4.6);
    let text = shop.said(&["job", "orders", "v8"]);
    assert!(text.contains("(no longer)"), "{text}");
    shop.said(&["job", "order", "v8", "--take-back", "dish"]);
    let orders = shop.json(&["job", "orders", "v8"]);
    assert_eq!(orders["document"], Value::Array(Vec::new()));
    assert_eq!(orders["orders"].as_array().map(Vec::len), Some(4));
    let twice = shop.run(&["job", "order", "v8", "--take-back", "dish"]);
    refused(twice, "nothing to take back");
}

/// Only one piston came: readings of the others hold on in the stage that begins with it.
#[test]
fn the_stage_of_a_part_that_came_is_begun_for_its_cylinder_alone() {
    let shop = Shop::new();
    let enter = ["enter", "v8", "crown/2", "--sure", "--u", "0.01 cc", "--"];
    shop.said(&[&enter[..], &["-6.20 cc"]].concat());
    shop.said(&["job", "order", "v8", "--dish", "4.20 cc +- 0.15 cc"]);
    let told = shop.said(&[&enter[..], &["-4.25 cc"]].concat());
    let (_, command) = told.split_once("`benchhand ").expect("a command");
    let (command, _) = command.split_once('`').expect("its end");
    let flat = command.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.ends_with("--changes crown --cylinders 2"), "{flat}");
    let words = flat.replace("\"new parts\"", "new_parts");
    let words: Vec<&str> = words.split(' ').collect();
    shop.said(&words);
    let shown = shop.said(&["job", "show", "v8"]);
    assert!(shown.contains("(changes crown of cylinder 2)"), "{shown}");
}

fn refused(mut command: Command, why: &str) {
    command
        .assert()
        .failure()
        .stderr(contains(why))
        .stdout(predicate::str::is_empty());
}

#[test]
fn what_cannot_be_ordered_is_refused_and_nothing_is_kept() {
    let shop = Shop::new();
    for (words, why) in [
        (&["--dish", "-4.2 cc"][..], "above 0"),
        (&["--dish", "4.2"], "no unit"),
        (&["--dish", "4.2 in"], "dish"),
        (&["--dish", "4.2 cc +- 0 cc"], "tolerance"),
        (&["--height", "0 in"], "above 0"),
        (&["--dish", "4.2 cc", "--cylinder", "9"], "no cylinder"),
        (&["--dish", "4.2 cc", "--on", "3026-01-01"], "still to come"),
        (&["--dish", "4.2 cc", "--on", "yesterday"], "no day"),
        (&["--dish", "4.2 cc", "--by", "A B"], "initials"),
        (&["--take-back", "crankshaft"], "no size"),
        (&[], "required"),
    ] {
        let mut command = shop.run(&["job", "order", "v8"]);
        // A value may begin with a minus.
        let joined: Vec<String> = match words {
            [] => Vec::new(),
            words => words.chunks(2).map(|pair| pair.join("=")).collect(),
        };
        command.args(joined);
        refused(command, why);
    }
    // Another job's sheet, and a sheet that orders nothing.
    let mut job = shop.run(&["job", "new", "other"]);
    job.arg(example("invented-v8.toml")).assert().success();
    let mut import = shop.run(&["import", "other", "--sure"]);
    let readings = example("invented-v8-readings.csv");
    import.arg(readings).assert().success();
    let file = shop.sheet("other", "other.html");
    refused(
        shop.run(&["job", "order", "v8", "--from-sheet", &file]),
        "no entry with the hash",
    );
    let build = shop.data.path().join("build.html").display().to_string();
    shop.said(&["sheet", "build", "v8", "--out", &build]);
    refused(
        shop.run(&["job", "order", "v8", "--from-sheet", &build]),
        "no order",
    );
    assert_eq!(
        shop.json(&["job", "orders", "v8"])["orders"],
        Value::Array(Vec::new())
    );
}
