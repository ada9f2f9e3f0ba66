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
    assert!(html.contains("Cut no face yet") && html.contains("Why no cut is told"));
    // Commands and keys of a file are nothing for the shop that reads the sheet.
    assert!(html.contains("neither the area of the chambers") && !html.contains("opening_area"));
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
fn a_pdf_is_neither_written_as_html_nor_checked() {
    let shop = Shop::new();
    let pdf = shop.sheet("build.pdf");
    let mut command = shop.run(&["sheet", "build", "v8", "--out"]);
    let written = command.arg(&pdf).assert().code(3).stdout("");
    written.stderr(contains("--out writes HTML").and(contains("--pdf")));
    assert_eq!(shop.files(), 0, "nothing was written");
    std::fs::write(&pdf, b"%PDF-1.4\n\xff\xfe").expect("written");
    let mut command = shop.run(&["sheet", "check"]);
    let checked = command.arg(&pdf).assert().code(3);
    checked.stderr(contains("is a PDF").and(contains("name the HTML file")));
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

/// The text of a figure of a sheet.
fn figure(html: &str, name: &str) -> String {
    let figures = benchhand_words::sheet::figures_in(html);
    let found = figures.into_iter().find(|figure| figure.name == name);
    found.unwrap_or_else(|| panic!("no {name} in {html}")).text
}

#[test]
fn one_ported_cylinder_stands_beside_itself_as_it_was() {
    let shop = Shop::new();
    let cut = ["job", "cut", "v8", "--stage", "ported", "--changes", "flow"];
    let mut cut = shop.run(&cut);
    cut.args(["--what", "intake 2 by hand"]).assert().success();
    // Twice the metering pressure is the root of two in flow.
    let csv = "spot,value,unit,gauge,stage\n\
        flow/2/intake/0.200in/test,28.00,inH2O,manometer,ported\n\
        flow/2/intake/0.200in/metering,4.40,inH2O,manometer,ported\n";
    let file = shop.sheet("ported.csv");
    std::fs::write(&file, csv).expect("written");
    shop.run(&["import", "v8"]).arg(&file).assert().success();
    let sheet = |name: &str| {
        let file = shop.sheet(&format!("{name}.html"));
        let mut made = shop.run(&["sheet", name, "v8", "--out"]);
        made.arg(&file).assert().success();
        std::fs::read_to_string(&file).expect("a sheet")
    };
    let flow = sheet("flow");
    assert_eq!(figure(&flow, "intake change, % at 0.200"), "+41.4");
    let [was, is] = ["before", "2"].map(|row| {
        let told = figure(&flow, &format!("intake {row} at 0.200"));
        told.parse::<f64>().expect("a number")
    });
    assert!((is / was - 2_f64.sqrt()).abs() < 2e-3, "{was} {is}");
    assert!(flow.contains("<svg"), "it has its curve");
    assert!(flow.contains("figures is of what is known. It does not hold: "));
    // Each sheet names the gauges of its own figures, also of those that no cut has touched.
    let of_gauge =
        |html: &str, gauge: &str| html.contains(&format!("<th scope=\"row\">{gauge}</th>"));
    assert!(of_gauge(&flow, "manometer") && !of_gauge(&flow, "burette"));
    let build = sheet("build");
    assert!(of_gauge(&build, "burette") && !of_gauge(&build, "manometer"));
    let sunk = "Each intake valve that is sunk by 0.010 in adds at least 0.53 cc";
    assert!(sheet("work").contains(sunk));
}
