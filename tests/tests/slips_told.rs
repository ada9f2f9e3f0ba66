//! What a person would misread, from outside: means that nobody asked for, verdicts that are out of
//! date, words of the argument parser, marks without a meaning.

use benchhand_tests::shop::{Shop, example};

/// A shop with the example's job, measured.
fn measured() -> Shop {
    let shop = Shop::new();
    let path = |name: &str| example(name).display().to_string();
    let program = &shop.program;
    program.json(&["job", "new", "v8", &path("invented-v8.toml")]);
    let readings = path("invented-v8-readings.csv");
    program.json(&["import", "v8", &readings, "--sure"]);
    shop
}

/// What a command prints, with every run of blanks as one.
#[track_caller]
fn said(shop: &Shop, args: &[&str]) -> String {
    let out = shop.program.run(args).good().out;
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a text holds a moment as files write it: `2026-03-02T09:14`.
fn has_raw_moment(text: &str) -> bool {
    let digits = |text: &[u8]| text.iter().all(u8::is_ascii_digit);
    let bytes = text.as_bytes();
    let around = |at: usize| {
        Some((
            bytes.get(at.checked_sub(2)?..at)?,
            bytes.get(at + 1..at + 3)?,
        ))
    };
    let at = bytes.iter().enumerate().filter(|(_, byte)| **byte == b'T');
    at.filter_map(|(at, _)| around(at))
        .any(|(day, hour)| digits(day) && digits(hour))
}

#[test]
fn a_deck_of_the_whole_piston_beside_points_counts_as_much_as_they_and_is_told() {
    let shop = measured();
    let deck = |shop: &Shop| {
        let report = shop.program.json(&["report", "v8"]);
        let one = report["cylinders"][0]["deck"]["value"].clone();
        one.as_f64().expect("a deck")
    };
    let before = deck(&shop);
    // 0.0080 in at front and rear: half-way to 0.0082 in, not a third of the way.
    let enter = ["enter", "v8", "deck/1", "0.0082 in", "--sure"];
    shop.program.json(&enter);
    let step = 0.0001 * if before > 0.1 { 25.4 } else { 1.0 };
    assert!((deck(&shop) - before - step).abs() < 0.01 * step);
    let told = said(&shop, &["report", "v8", "--full"]);
    for words in [
        "Measured in two ways",
        "0.0082 in was read for the whole piston and 0.0080 in at its points",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    let report = shop.program.json(&["report", "v8"]);
    let found = benchhand_tests::shop::findings(&report);
    let mixed = ("deck/1".to_owned(), "mixed".to_owned());
    assert!(found.contains(&mixed), "{found:?}");
}

#[test]
fn measured_decks_do_not_choose_parts_and_the_answer_says_so() {
    let shop = measured();
    let parts = example("invented-parts.csv").display().to_string();
    let told = said(&shop, &["decide", "fit", "v8", "--parts", &parts]);
    assert!(told.contains("The measured decks do not enter"), "{told}");
}

#[test]
fn a_compression_and_an_order_are_understood_as_they_are_written_or_refused_in_plain_words() {
    let shop = measured();
    let program = &shop.program;
    let ratio = |text: &str| program.run(&["decide", "dome", "v8", "--ratio", text]);
    let plain = ratio("10.8").good().out;
    for text in ["10,8", "10.8:1"] {
        assert_eq!(ratio(text).good().out, plain, "{text}");
    }
    let wrong = ratio("ten").err;
    assert!(wrong.contains("a plain number, such as 10.8"), "{wrong}");
    let order = ["job", "order", "v8", "--dome", "-6.2 cc +- 0.1 cc"];
    let refused = program.run(&order);
    assert!(
        refused.err.contains("order a dish of 6.2 cc"),
        "{}",
        refused.err
    );
}

#[test]
fn after_a_failed_check_it_is_told_whether_the_gauge_is_right_now() {
    let shop = Shop::with_job();
    let program = &shop.program;
    program.json(&["gauge", "set", "scale", "--profile", "ascii-mass"]);
    program.json(&["enter", "v8", "chamber/1", "64.1 cc", "--gauge", "scale"]);
    let check = |name: &str, rows: &str| {
        let file = shop.file(name, &format!("master,shown,u\n{rows}"));
        let check = ["gauge", "check", "scale", "--job", "v8", "--against", &file];
        program.run(&check).code
    };
    let off = "0 g,0.00 g,0.01 g\n100 g,105.00 g,0.01 g\n200 g,200.00 g,0.01 g\n";
    assert_eq!(check("off.csv", off), 1);
    let told = said(&shop, &["report", "v8", "--full"]);
    assert!(
        told.contains("the gauge scale has not been found right since"),
        "{told}"
    );
    let right = "0 g,0.00 g,0.01 g\n100 g,100.00 g,0.01 g\n200 g,200.00 g,0.01 g\n";
    assert_eq!(check("right.csv", right), 0);
    let told = said(&shop, &["report", "v8", "--full"]);
    assert!(
        told.contains("the gauge scale was right again at"),
        "{told}"
    );
    assert!(!has_raw_moment(&told), "{told}");
    let shown = program.json(&["job", "show", "v8"]);
    let note = shown["readings"][0]["note"].as_str().expect("a note");
    assert!(
        note.contains("failed its check") && !has_raw_moment(note),
        "{note}"
    );
}

#[test]
fn marks_have_a_meaning_and_notes_are_whole() {
    let shop = measured();
    let why = "the plate was lifted once more and greased anew before this one was poured";
    shop.program.json(&["void", "v8", "1", "--reason", why]);
    let shown = said(&shop, &["job", "show", "v8"]);
    assert!(shown.contains(why), "{shown}");
    let report = shop.program.run(&["report", "v8"]).good().out;
    let bare = report.lines().any(|line| line.ends_with(" !"));
    let told = report.contains("! see CHECK THESE");
    assert_eq!(bare, told, "{report}");
}

#[test]
fn the_controls_are_listed_without_a_daemon_and_it_is_said_that_none_runs() {
    let shop = measured();
    let told = said(&shop, &["steer", "v8", "help"]);
    for words in [
        "No daemon runs",
        "benchhand measure v8 ROUTE",
        "Controls: take",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
}
