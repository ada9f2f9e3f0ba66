//! Slips of a tired person, from outside: what is asked, what is told, and what a sheet carries on.

use benchhand_tests::shop::{Shop, example};
use serde_json::Value;

/// A shop with the example's job, measured.
fn measured() -> Shop {
    let shop = Shop::new();
    let (engine, readings) = (
        example("invented-v8.toml"),
        example("invented-v8-readings.csv"),
    );
    let path = |path: &std::path::Path| path.display().to_string();
    let program = &shop.program;
    program.json(&["job", "new", "v8", &path(&engine)]);
    program.json(&["import", "v8", &path(&readings), "--sure"]);
    shop
}

/// What a command prints, with every run of blanks as one.
#[track_caller]
fn said(shop: &Shop, args: &[&str]) -> String {
    let out = shop.program.run(args).good().out;
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_cut_deeper_than_heads_may_be_cut_is_refused_unless_it_is_sure() {
    let shop = measured();
    let cut = |stage: &str, depth: &str, more: &[&str]| {
        let mut args = vec!["job", "cut", "v8", "--stage", stage];
        args.extend(["--what", "both heads", "--changes", "chamber"]);
        args.extend(["--depth", depth]);
        args.extend(more);
        shop.program.run(&args)
    };
    let before = shop.journal();
    let slip = cut("milled 1", "0.3 in", &[]);
    assert_eq!(slip.code, 3, "{}", slip.err);
    assert!(
        slip.err.contains("7.620 mm") && slip.err.contains("--sure"),
        "{}",
        slip.err
    );
    assert_eq!(shop.journal(), before, "nothing was kept");
    let right = cut("milled 1", "0.3 mm", &[]).good();
    assert!(right.out.contains("0.3 mm deep"), "{}", right.out);
    // The engine file states nothing, so 1.5 mm may be cut in all.
    let second = cut("milled 2", "1.3 mm", &[]);
    assert!(second.err.contains("0.300 mm of before"), "{}", second.err);
    cut("milled 2", "1.3 mm", &["--sure"]).good();
}

#[test]
fn a_cut_with_a_slip_in_its_depth_is_corrected_and_keeps_its_readings() {
    let shop = measured();
    let program = &shop.program;
    let mut cut = vec!["job", "cut", "v8", "--stage", "milled 1"];
    cut.extend(["--what", "both heads", "--changes", "chamber"]);
    cut.extend(["--depth", "0.03 mm"]);
    program.json(&cut);
    program.json(&["enter", "v8", "chamber/1", "63.0 cc", "--sure"]);
    let correct = ["job", "correct-cut", "v8", "milled 1"];
    let with = |more: &'static [&'static str]| [&correct[..], more].concat();
    let nothing = program.run(&with(&[]));
    assert!(nothing.err.contains("--take-back"), "{}", nothing.err);
    let deep = program.run(&with(&["--depth", "7.6 mm"]));
    assert!(deep.err.contains("--sure"), "{}", deep.err);
    let told = said(&shop, &with(&["--depth", "0.3 mm"]));
    assert!(told.contains("both heads, 0.3 mm deep"), "{told}");
    let shown = said(&shop, &["job", "show", "v8"]);
    assert!(
        shown.contains("both heads, 0.3 mm deep (changes chamber), corrected: typed wrong"),
        "{shown}"
    );
    let kept = shop.readings().pop().expect("kept");
    assert_eq!(kept["stage"], "milled 1");
    // What is asked of the next chamber rests on the right depth: 1.5 cc of 64.
    let far = program.run(&["enter", "v8", "chamber/2", "64.0 cc"]);
    assert!(far.code != 0 && far.err.contains("cut"), "{}", far.err);
}

#[test]
fn a_cut_that_never_was_is_taken_back_after_a_question_and_no_reading_is_lost() {
    let shop = measured();
    let program = &shop.program;
    let before = shop.readings().len();
    let cut = |stage: &str| {
        let mut cut = vec!["job", "cut", "v8", "--stage", stage];
        cut.extend(["--what", "ported", "--changes", "chamber"]);
        program.json(&cut);
    };
    cut("ported");
    program.json(&["enter", "v8", "chamber/1", "64.1 cc", "--sure"]);
    let back = ["job", "correct-cut", "v8", "ported", "--take-back"];
    let asked = program.run(&back);
    assert_eq!(asked.code, 3, "{}", asked.err);
    for words in [
        "1 reading was taken",
        "chamber/1",
        "\"as received\"",
        "--sure",
    ] {
        assert!(asked.err.contains(words), "{words} in {}", asked.err);
    }
    let told = said(&shop, &[&back[..], &["--sure"]].concat());
    assert!(
        told.contains("Its 1 reading counts for \"as received\""),
        "{told}"
    );
    let all = shop.readings();
    assert_eq!(all.len(), before + 1);
    assert!(all.iter().all(|one| one["stage"] == "as received"));
    let shown = said(&shop, &["job", "show", "v8"]);
    assert!(shown.contains("ported was taken back"), "{shown}");
    // Its name is free for the cut that comes.
    cut("ported");
    assert_eq!(
        program.json(&["job", "show", "v8"])["summary"]["stage"],
        "ported"
    );
}

#[test]
fn an_order_is_taken_back_for_the_cylinder_that_is_named() {
    let shop = measured();
    let program = &shop.program;
    program.json(&["job", "order", "v8", "--dome", "6.4 cc +- 0.1 cc"]);
    let taken = said(
        &shop,
        &[
            "job",
            "order",
            "v8",
            "--cylinder",
            "2",
            "--take-back",
            "dome",
        ],
    );
    assert!(
        taken.contains("taken back: dome or dish of cylinder 2"),
        "{taken}"
    );
    let orders = program.json(&["job", "orders", "v8"]);
    let left = orders["document"].as_array().expect("rows");
    let left: Vec<u64> = left
        .iter()
        .filter_map(|one| one["cylinder"].as_u64())
        .collect();
    assert_eq!(left, [1, 3, 4, 5, 6, 7, 8]);
}

#[test]
fn a_failed_check_names_readings_as_void_takes_them() {
    let shop = Shop::with_job();
    let program = &shop.program;
    program.json(&["gauge", "set", "scale", "--profile", "ascii-mass"]);
    for spot in ["chamber/1", "chamber/2"] {
        let value = ["64.1 cc", "--gauge", "scale"];
        let mut enter = vec!["enter", "v8", spot];
        enter.extend(value);
        program.json(&enter);
    }
    // A middle master that no straight line follows: the misfit allows nothing.
    let file = shop.file(
        "weights.csv",
        "master,shown,u\n0 g,0.00 g,0.01 g\n100 g,105.00 g,0.01 g\n200 g,200.00 g,0.01 g\n",
    );
    let check = ["gauge", "check", "scale", "--job", "v8", "--against", &file];
    let told = program.run(&check);
    assert_eq!(told.code, 1, "{}", told.out);
    assert!(told.out.contains("are marked: 1, 2."), "{}", told.out);
    program.json(&["void", "v8", "2", "--reason", "the scale was off"]);
    let shown = shop.program.json(&["job", "show", "v8"]);
    let shown = shown["readings"].as_array().expect("readings").clone();
    let voided = shown.iter().find(|one| one["state"] == "voided");
    assert_eq!(voided.expect("one is void")["spot"], "chamber/2");
}

#[test]
fn a_typed_value_that_a_check_corrects_says_how_it_was_typed() {
    let shop = Shop::with_job();
    let program = &shop.program;
    // No blank before the unit.
    program.json(&[
        "gauge",
        "set",
        "burette",
        "--profile",
        "ascii-volume",
        "--capacity",
        "100cc",
    ]);
    let file = shop.file(
        "masters.csv",
        "master,shown\n10 cc,10.20 cc\n40 cc,40.20 cc\n60 cc,60.20 cc\n",
    );
    let mut check = vec![
        "gauge",
        "check",
        "burette",
        "--job",
        "v8",
        "--against",
        &file,
    ];
    check.extend(["--u", "0.01 cc", "--allow", "1 cc"]);
    program.json(&check);
    let entered = ["enter", "v8", "chamber/1", "64.2 cc", "--gauge", "burette"];
    let told = said(&shop, &entered);
    assert!(
        told.contains("typed as 64.2 cc") && told.contains("by -0.200 cc"),
        "{told}"
    );
    let note = shop.readings().pop().expect("kept")["note"].clone();
    assert!(
        note.as_str()
            .is_some_and(|note| note.contains("typed as 64.2 cc")),
        "{note}"
    );
}

#[test]
fn a_sheet_carries_on_what_is_in_doubt_and_what_is_left_out() {
    let shop = measured();
    let program = &shop.program;
    let sheet = |kind: &str| {
        let out = shop.folder().join(format!("{kind}.html"));
        let out = out.display().to_string();
        let mut args = vec!["sheet", kind, "v8", "--ratio", "10.8", "--out", &out];
        args.push("--force");
        program.run(&args).good();
        std::fs::read_to_string(&out).expect("the sheet")
    };
    let work = sheet("work");
    let (_, stop) = work.split_once("Before any metal is cut").expect("a box");
    let (stop, _) = stop.split_once("</section>").expect("its end");
    let first = "Measure deck 3 again: its readings disagree. Cut nothing before that.";
    assert!(stop.contains(first), "{stop}");
    assert!(stop.contains("Chamber 6 is"), "{stop}");
    assert_eq!(
        stop.matches("readings disagree").count(),
        1,
        "told once: {stop}"
    );
    assert!(!sheet("order").contains("are left out ("));
    // One cylinder without a chamber: the order says so on its first page.
    let chamber = |one: &&Value| one["spot"] == "chamber/8" && one["state"] == "final";
    let shown = program.json(&["job", "show", "v8"]);
    let shown = shown["readings"].as_array().expect("readings");
    for one in shown.iter().filter(chamber) {
        let number = one["number"].to_string();
        program.json(&["void", "v8", &number, "--reason", "slip"]);
    }
    let order = sheet("order");
    let (first, _) = order.split_once("what it rests on").expect("two pages");
    assert!(
        first.contains("1 of 8 cylinders are left out (8)"),
        "{first}"
    );
}

#[test]
fn like_rods_come_from_the_engine_file_and_unstated_sizes_are_named() {
    let shop = measured();
    let mut parts = String::from("part,id,crown,height\n");
    for n in 1..=8 {
        parts += &format!("piston,P{n},-3.{n} cc,1.2035 in\n");
    }
    let parts = shop.file("parts.csv", &parts);
    let fit = ["decide", "fit", "v8", "--parts", &parts];
    let told = said(&shop, &fit);
    assert!(told.contains("as long as the engine file says"), "{told}");
    assert!(
        told.contains("No uncertainty is stated of compression heights and domes or dishes"),
        "{told}"
    );
    let mut placed: Vec<u64> = shop.program.json(&fit)["answer"]["assignment"]["placed"]
        .as_array()
        .expect("placed")
        .iter()
        .filter_map(|one| one["cylinder"].as_u64())
        .collect();
    placed.sort_unstable();
    assert_eq!(placed, [1, 2, 3, 4, 5, 6, 7, 8]);
}
