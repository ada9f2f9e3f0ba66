//! Who took a reading: initials that are typed once for a terminal or with a command, kept in the
//! record, and told with the readings, the report and the sheets.

use benchhand_tests::shop::Shop;
use serde_json::Value;

/// The reading with this number, as `job show` has it.
fn reading(shop: &Shop, id: &Value) -> Value {
    let shown = shop.program.json(&["job", "show", "v8"]);
    let mut all = shown["readings"].as_array().expect("readings").iter();
    all.find(|one| one["id"] == *id)
        .expect("the reading")
        .clone()
}

#[test]
fn initials_are_kept_with_what_they_did_and_told() {
    let shop = Shop::with_job();
    let say = |args: &[&str]| shop.program.json(args);
    let typed = say(&["enter", "v8", "chamber/1", "64.2 cc", "--by", "AB"]);
    assert_eq!(reading(&shop, &typed["id"])["by"], "AB");
    let csv = shop.file("more.csv", "spot,value,unit\nchamber/2,64.3,cc\n");
    let imported = say(&["import", "v8", &csv, "--by", "C2"]);
    assert_eq!(reading(&shop, &imported["id"])["by"], "C2");
    let nobody = say(&["enter", "v8", "chamber/4", "64.1 cc"]);
    assert!(reading(&shop, &nobody["id"])["by"].is_null());
    let id = typed["number"].to_string();
    say(&["move", "v8", &id, "chamber/3", "--by", "D"]);
    say(&["void", "v8", &id, "--reason", "a bubble", "--by", "E"]);
    let note = reading(&shop, &typed["id"])["note"].clone();
    let note = note.as_str().expect("a note");
    assert!(note.contains("moved from chamber/1 by D"), "{note}");
    assert!(note.contains("voided by E: a bubble"), "{note}");
    let list = shop.program.run(&["job", "show", "v8"]).good().out;
    let line = list.lines().find(|line| line.contains("chamber/2"));
    assert!(line.is_some_and(|line| line.contains(" C2 ")), "{list}");
    let report = say(&["report", "v8"]);
    assert_eq!(
        report["card"]["measured_by"], "C2",
        "the voided one does not count"
    );
}

#[test]
fn a_terminal_may_say_them_once_and_what_are_no_initials_is_refused() {
    let shop = Shop::with_job();
    let enter = ["enter", "v8", "chamber/1", "64.2 cc", "--json"];
    let ran = shop
        .program
        .command(&enter)
        .env("BENCHHAND_BY", "XY")
        .output();
    let ran = benchhand_tests::program::FinishedRun::of(ran.expect("it runs")).good();
    assert_eq!(reading(&shop, &ran.json()["id"])["by"], "XY");
    for bad in ["ABCDEFGHI", "A B", "A\u{7}", "A-B"] {
        let before = shop.journal();
        let args = ["enter", "v8", "chamber/2", "64.2 cc", "--by", bad];
        let refused = shop.program.run(&args);
        assert_ne!(refused.code, 0, "{bad:?}");
        assert!(
            refused.err.contains("at most 8 letters or digits"),
            "{}",
            refused.err
        );
        assert_eq!(shop.journal(), before, "nothing is kept");
    }
}
