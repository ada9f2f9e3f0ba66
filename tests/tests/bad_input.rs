//! What is typed wrongly at a bench: each mistake is told in words that say what was found, what
//! was expected and what to do, ends with its documented exit code, and leaves nothing behind.

use benchhand_tests::refusals::{CANNOT_BE_USED, CLASHES, NOT_THERE, refused};
use benchhand_tests::shop::{Shop, cylinder, example};

#[test]
fn a_reading_that_the_engine_cannot_have_is_refused() {
    let shop = Shop::with_job();
    let enter = |spot: &str, value: &str, unit: &str, code: i32, words: &[&str]| {
        refused(&shop, &["enter", "v8", spot, value, unit], code, words);
    };
    enter(
        "chamber/9",
        "64.2",
        "cc",
        CANNOT_BE_USED,
        &["cylinder 9", "8"],
    );
    enter("chamber/0", "64.2", "cc", CANNOT_BE_USED, &["chamber/0"]);
    enter(
        "chambre/3",
        "64.2",
        "cc",
        CANNOT_BE_USED,
        &["chambre/3", "chamber"],
    );
    enter(
        "deck/3/front/left",
        "0.01",
        "in",
        CANNOT_BE_USED,
        &["deck/3/front/left", "deck/5/front"],
    );
    enter("chamber", "64.2", "cc", CANNOT_BE_USED, &["chamber"]);
    enter("chamber/3", "64.2", "ccm", CANNOT_BE_USED, &["ccm", "cc"]);
    enter("chamber/3", "64.2", "in", CANNOT_BE_USED, &["in", "volume"]);
    enter("chamber/3", "sixty", "cc", CANNOT_BE_USED, &["sixty"]);
    enter("chamber/3", "nan", "cc", CANNOT_BE_USED, &["nan"]);
    enter("chamber/3", "inf", "cc", CANNOT_BE_USED, &["inf"]);
    for (spot, value) in [
        ("chamber/1", "-5 cc"),
        ("chamber/1", "0 cc"),
        ("chamber/1", "1e308 cc"),
        ("bore/1/top/thrust", "-4 in"),
    ] {
        let typed = ["enter", "v8", spot, "--sure", "--", value];
        refused(&shop, &typed, CANNOT_BE_USED, &[spot, "found", "expected"]);
    }
    let no_unit = ["enter", "v8", "chamber/3", "64.2"];
    refused(&shop, &no_unit, CANNOT_BE_USED, &["64.2", "unit"]);
    let levels = [
        "enter",
        "v8",
        "chamber/3",
        "--from",
        "0 cc",
        "--to",
        "64.2 mm",
    ];
    refused(&shop, &levels, CANNOT_BE_USED, &["mm", "volume"]);
    let no_job = ["enter", "v9", "chamber/3", "64.2", "cc"];
    refused(&shop, &no_job, NOT_THERE, &["v9", "there are v8"]);
    refused(
        &shop,
        &["void", "v8", "999", "--reason", "x"],
        NOT_THERE,
        &["999"],
    );
}

#[test]
fn a_piston_above_the_deck_is_no_mistake() {
    let shop = Shop::with_job();
    let above = ["enter", "v8", "deck/1", "-0.005", "in"];
    assert_eq!(shop.program.json(&above)["value"], -0.005);
    let report = shop.program.json(&["report", "v8"]);
    assert_eq!(cylinder(&report, 1)["deck"]["value"], -0.005);
}

#[test]
fn names_that_clash_or_cannot_be_folders_are_refused() {
    let shop = Shop::with_job();
    let engine = example("invented-v8.toml");
    let engine = engine.to_str().unwrap();
    refused(&shop, &["job", "new", "v8", engine], CLASHES, &["v8"]);
    refused(&shop, &["job", "new", "V8", engine], CLASHES, &["V8"]);
    for name in ["../elsewhere", "a/b", "", ".hidden", "con"] {
        refused(&shop, &["job", "new", name, engine], CANNOT_BE_USED, &[]);
    }
    for command in [["job", "show", "v9"], ["job", "verify", "v9"]] {
        refused(&shop, &command, NOT_THERE, &["v9"]);
    }
    refused(&shop, &["report", "v9"], NOT_THERE, &["v9"]);
}

#[test]
fn a_gauge_that_cannot_be_is_refused() {
    let shop = Shop::with_job();
    let set = |more: &[&str], code: i32, words: &[&str]| {
        let mut args = vec!["gauge", "set", "dial"];
        args.extend(more);
        refused(&shop, &args, code, words);
    };
    let port = "/dev/ttyUSB0";
    set(
        &["--profile", "ascii-lenght", "--port", port],
        NOT_THERE,
        &["ascii-lenght", "ascii-length"],
    );
    set(
        &["--profile", "ascii-length", "--port", port, "--u", "0.0002"],
        CANNOT_BE_USED,
        &["0.0002", "unit"],
    );
    set(
        &[
            "--profile",
            "ascii-length",
            "--port",
            port,
            "--u",
            "0.0002 cc",
        ],
        CANNOT_BE_USED,
        &["cc"],
    );
    set(
        &["--profile", "ascii-length", "--port", port, "--u=-1 mm"],
        CANNOT_BE_USED,
        &["-1"],
    );
    let bad = shop.file(
        "mine.toml",
        "profile = 1\nname = \"mine\"\n[line]\nbaud = \"fast\"\n",
    );
    set(
        &["--profile", "mine", "--profile-file", &bad, "--port", port],
        CANNOT_BE_USED,
        &["mine", "baud"],
    );
    let zero = ["gauge", "zero", "dial", "--job", "v8", "--raw", "0.5 in"];
    refused(&shop, &zero, NOT_THERE, &["dial"]);
    refused(&shop, &["gauge", "drop", "dial"], NOT_THERE, &["dial"]);
}
