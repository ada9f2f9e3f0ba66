//! Sheets from outside: where they are written, and what a check of one says.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use predicates::prelude::*;
use predicates::str::contains;

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../examples")
        .join(name)
}

/// A shop with one job, and a folder for its sheets.
struct Shop {
    data: tempfile::TempDir,
    sheets: tempfile::TempDir,
}

impl Shop {
    fn new() -> Shop {
        let shop = Shop {
            data: tempfile::tempdir().expect("a folder"),
            sheets: tempfile::tempdir().expect("a folder"),
        };
        let engine = example("invented-v8.toml");
        shop.run(&["job", "new", "v8"])
            .arg(engine)
            .assert()
            .success();
        let readings = example("invented-v8-readings.csv");
        let mut import = shop.run(&["import", "v8"]);
        import.arg(readings).arg("--sure").assert().success();
        shop
    }

    fn run(&self, words: &[&str]) -> Command {
        let mut command = Command::cargo_bin("benchhand").expect("the executable is built");
        command
            .env("BENCHHAND_DATA", self.data.path())
            .env_remove("BENCHHAND_LOG")
            .env("NO_COLOR", "1")
            .args(words);
        command
    }

    fn sheet(&self, name: &str) -> PathBuf {
        self.sheets.path().join(name)
    }

    /// Writes a build sheet.
    fn build(&self) -> PathBuf {
        let file = self.sheet("build.html");
        let mut command = self.run(&["sheet", "build", "v8", "--out"]);
        command.arg(&file).assert().success();
        file
    }

    fn files(&self) -> usize {
        std::fs::read_dir(self.sheets.path())
            .expect("the folder")
            .count()
    }
}

#[test]
fn a_sheet_is_written_whole_and_over_nothing_unless_asked() {
    let shop = Shop::new();
    let file = shop.build();
    let html = std::fs::read_to_string(&file).expect("written");
    assert!(
        html.ends_with("</html>") || html.ends_with("</html>\n"),
        "all of it is there"
    );
    std::fs::write(&file, "mine").expect("written over by hand");
    let mut again = shop.run(&["sheet", "labels", "v8", "--out"]);
    again
        .arg(&file)
        .assert()
        .code(5)
        .stdout("")
        .stderr(contains("is there already").and(contains("--force")));
    assert_eq!(std::fs::read_to_string(&file).expect("there"), "mine");
    let mut forced = shop.run(&["sheet", "labels", "v8", "--force", "--out"]);
    forced.arg(&file).assert().success();
    let html = std::fs::read_to_string(&file).expect("there");
    assert!(html.contains("class=\"label\""));
    assert_eq!(shop.files(), 1, "nothing else is left");
}

#[test]
fn a_check_says_what_was_kept_since_and_which_figures_moved() {
    let shop = Shop::new();
    let file = shop.build();
    let check = || {
        let mut command = shop.run(&["sheet", "check"]);
        command.arg(&file);
        command
    };
    check()
        .assert()
        .success()
        .stdout(contains("record is as it was").and(contains("are those of the record")));
    let reading = ["enter", "v8", "chamber/3", "64.60", "cc", "--sure"];
    shop.run(&reading).assert().success();
    check()
        .assert()
        .code(1)
        .stdout(contains("1 entry kept since").and(contains("chamber 3")));
    // Another record of the same name has none of its entries.
    let other = Shop::new();
    let mut command = other.run(&["sheet", "check"]);
    command
        .arg(&file)
        .assert()
        .code(1)
        .stdout(contains("No entry of the record has the hash"));
}

#[test]
fn a_file_that_is_no_sheet_is_not_checked() {
    let shop = Shop::new();
    let mut command = shop.run(&["sheet", "check"]);
    command
        .arg(example("invented-v8.toml"))
        .assert()
        .code(3)
        .stderr(contains("carries no note of a sheet"));
}

#[test]
fn an_order_needs_a_target_and_a_work_order_says_what_it_cannot_tell() {
    let shop = Shop::new();
    let file = shop.sheet("order.html");
    let mut order = shop.run(&["sheet", "order", "v8", "--ratio", "0.5", "--out"]);
    order.arg(&file).assert().code(3).stderr(contains("0.5"));
    assert_eq!(shop.files(), 0, "nothing is written");
    // No area of the chambers' openings is stated, and no cut was made to learn it from.
    let file = shop.sheet("work.html");
    let mut work = shop.run(&["sheet", "work", "v8", "--out"]);
    work.arg(&file).assert().success();
    let html = std::fs::read_to_string(&file).expect("written");
    assert!(html.contains("Cut no face yet") && html.contains("opening_area"));
    assert!(html.contains("data-figure=\"open 1\""));
}

#[test]
fn the_shops_own_text_stands_on_the_sheet_and_its_faults_are_named_at_their_line() {
    let shop = Shop::new();
    let text = shop.data.path().join("shop.toml");
    std::fs::write(&text, "name = \"An invented <b>shop</b>\"\n").expect("written");
    let file = shop.build();
    let html = std::fs::read_to_string(&file).expect("written");
    assert!(html.contains("An invented &#60;b&#62;shop"));
    std::fs::write(&text, "name = \"A\"\nadress = \"B\"\n").expect("written");
    let mut command = shop.run(&["sheet", "build", "v8", "--force", "--out"]);
    command.arg(&file).assert().code(3).stdout("").stderr(
        contains("shop.toml")
            .and(contains("did you mean address?"))
            .and(contains("2:1")),
    );
}

#[test]
fn without_a_browser_no_pdf_is_promised() {
    let shop = Shop::new();
    let (pdf, html) = (shop.sheet("build.pdf"), shop.sheet("build.html"));
    let mut command = shop.run(&["sheet", "build", "v8", "--pdf"]);
    command
        .arg(&pdf)
        .arg("--out")
        .arg(&html)
        .env("PATH", shop.sheets.path())
        .env_remove("BENCHHAND_BROWSER")
        .assert()
        .code(4)
        .stdout("")
        .stderr(contains("no browser").and(contains("--out FILE.html")));
    assert_eq!(shop.files(), 0, "nothing was written");
    // One that cannot print leaves nothing behind either.
    let mut command = shop.run(&["sheet", "build", "v8", "--pdf"]);
    command
        .arg(&pdf)
        .env("BENCHHAND_BROWSER", "false")
        .assert()
        .code(14)
        .stderr(contains("did not print"));
    assert_eq!(shop.files(), 0);
}
