//! Cuts, moved and voided readings, and what each changes in the report.

use benchhand_tests::shop::{Shop, cylinder, example, findings};
use serde_json::Value;

/// A job whose compression wants nothing but chambers.
fn shop() -> Shop {
    let shop = Shop::with_job();
    let rows: String = (1..=8)
        .map(|n| format!("deck/{n},0.008,in\ncrown/{n},-3.2,cc\n"))
        .collect();
    let file = shop.file("notebook.csv", &format!("spot,value,unit\n{rows}"));
    shop.program.json(&["import", "v8", &file]);
    shop
}

/// Enters values at `chamber/1`, `chamber/2` … and gives the readings' numbers.
#[track_caller]
fn chambers(shop: &Shop, values: &[f64]) -> Vec<u64> {
    let mut ids = Vec::new();
    for (i, value) in values.iter().enumerate() {
        let (spot, value) = (format!("chamber/{}", i + 1), value.to_string());
        let entered = shop.program.json(&["enter", "v8", &spot, &value, "cc"]);
        ids.push(entered["number"].as_u64().expect("a number"));
    }
    ids
}

#[track_caller]
fn report(shop: &Shop, stage: Option<&str>) -> Value {
    let mut args = vec!["report", "v8"];
    args.extend(stage.iter().flat_map(|stage| ["--stage", stage]));
    shop.program.json(&args)
}

fn chamber(report: &Value, number: u64) -> Option<f64> {
    cylinder(report, number)["chamber"]["value"].as_f64()
}

const BEFORE: [f64; 8] = [64.2, 64.1, 64.0, 64.3, 64.2, 64.1, 64.0, 64.4];
const AFTER: [f64; 8] = [62.2, 62.1, 62.0, 62.3, 62.2, 62.1, 62.0, 62.4];

#[test]
fn a_job_milled_in_the_middle_keeps_its_stages_apart() {
    let shop = shop();
    chambers(&shop, &BEFORE);
    let cut = ["--what", "0.010 in off both heads", "--changes", "chamber"];
    let mut args = vec!["job", "cut", "v8", "--stage", "milled 1"];
    args.extend(cut);
    assert_eq!(shop.program.json(&args)["stage"], "milled 1");

    // Nothing of the new stage is known yet: the old chambers are not carried over the cut.
    let fresh = report(&shop, None);
    assert_eq!(fresh["stage"], "milled 1");
    assert_eq!(chamber(&fresh, 1), None);
    assert!(findings(&fresh).contains(&("chamber/1".into(), "missing".into())));
    // What the cut left alone still holds.
    assert_eq!(cylinder(&fresh, 1)["deck"]["value"], 0.008);

    chambers(&shop, &AFTER);
    let (before, after) = (report(&shop, Some("as received")), report(&shop, None));
    for number in 1..=8 {
        let at = number as usize - 1;
        assert_eq!(chamber(&before, number), Some(BEFORE[at]));
        assert_eq!(chamber(&after, number), Some(AFTER[at]));
    }
    let mean = |values: [f64; 8]| values.iter().sum::<f64>() / 8.0;
    for (report, values) in [(&before, BEFORE), (&after, AFTER)] {
        let found = report["summary"]["chamber_mean"]["value"].as_f64().unwrap();
        assert!((found - mean(values)).abs() < 1e-9, "{found}");
    }
    // Less chamber, more compression.
    let ratio = |report: &Value| cylinder(report, 1)["compression"]["value"].as_f64();
    assert!(ratio(&after) > ratio(&before), "{:?}", ratio(&before));

    let shown = shop.program.json(&["job", "show", "v8"]);
    let stages: Vec<&str> = shown["stages"]
        .as_array()
        .unwrap()
        .iter()
        .map(|stage| stage["name"].as_str().unwrap())
        .collect();
    assert_eq!(stages, ["as received", "milled 1"]);
    let of = |stage: &str| {
        let all = shown["readings"].as_array().unwrap().iter();
        all.filter(|r| r["stage"] == stage).count()
    };
    assert_eq!((of("as received"), of("milled 1")), (24, 8));
}

#[test]
fn a_stage_that_was_never_there_is_refused_by_name() {
    let shop = Shop::with_job();
    chambers(&shop, &BEFORE);
    let ran = shop.program.run(&["report", "v8", "--stage", "milled 9"]);
    assert_eq!(ran.code, 4, "{}", ran.err);
    assert!(ran.err.contains("milled 9"), "{}", ran.err);
    assert!(
        ran.err.contains("as received"),
        "it names those that are there: {}",
        ran.err
    );
}

#[test]
fn a_cut_that_repeats_a_stage_or_changes_nothing_known_is_refused() {
    let shop = Shop::with_job();
    let cut = |stage: &str, changes: &str| {
        let what = [
            "job",
            "cut",
            "v8",
            "--stage",
            stage,
            "--what",
            "x",
            "--changes",
            changes,
        ];
        shop.program.run(&what)
    };
    assert_eq!(cut("as received", "chamber").code, 5);
    let ran = cut("milled 1", "wheels");
    assert_eq!(ran.code, 3, "{}", ran.err);
    assert!(ran.err.contains("wheels"), "{}", ran.err);
    let shown = shop.program.json(&["job", "show", "v8"]);
    assert_eq!(shown["stages"].as_array().unwrap().len(), 1);
}

#[test]
fn a_reading_moved_from_cylinder_3_to_5_changes_both() {
    let shop = shop();
    let mut first = BEFORE;
    first[2] = 65.0; // It was read at cylinder 5.
    let ids = chambers(&shop, &first);
    shop.program
        .json(&["enter", "v8", "chamber/3", "64.0", "cc"]);
    let before = report(&shop, None);
    assert_eq!(chamber(&before, 3), Some(64.5));
    assert_eq!(chamber(&before, 5), Some(64.2));

    let id = ids[2].to_string();
    let reason = "wrong cylinder called out";
    let moved = shop
        .program
        .json(&["move", "v8", &id, "chamber/5", "--reason", reason]);
    assert_eq!(
        (&moved["from"], &moved["to"]),
        (&"chamber/3".into(), &"chamber/5".into())
    );
    let after = report(&shop, None);
    assert_eq!(chamber(&after, 3), Some(64.0));
    let five = chamber(&after, 5).unwrap();
    assert!((five - 64.6).abs() < 1e-9, "{five}");
    let ratio = |report: &Value, n| {
        cylinder(report, n)["compression"]["value"]
            .as_f64()
            .unwrap()
    };
    assert!(ratio(&after, 3) > ratio(&before, 3));
    assert!(ratio(&after, 5) < ratio(&before, 5));
    // The others are as they were.
    for number in [1, 2, 4, 6, 7, 8] {
        assert_eq!(chamber(&after, number), chamber(&before, number));
    }
    let shown = shop.program.json(&["job", "show", "v8"]);
    let reading = shown["readings"]
        .as_array()
        .unwrap()
        .iter()
        .find(|r| r["number"] == ids[2])
        .unwrap();
    assert_eq!(reading["spot"], "chamber/5");
    assert!(
        reading["note"].as_str().unwrap().contains(reason),
        "{reading}"
    );
}

#[test]
fn a_reading_is_not_moved_to_another_quantity() {
    let shop = Shop::with_job();
    let ids = chambers(&shop, &BEFORE[..1]);
    let before = shop.journal();
    for (to, code) in [("deck/1", 3), ("chamber/9", 3), ("chamber", 3)] {
        let ran = shop.program.run(&["move", "v8", &ids[0].to_string(), to]);
        assert_eq!(ran.code, code, "{to}: {}", ran.err);
        assert!(ran.err.contains(to), "{}", ran.err);
    }
    let ran = shop.program.run(&["move", "v8", "999", "chamber/5"]);
    assert_eq!(ran.code, 4, "{}", ran.err);
    assert_eq!(shop.journal(), before);
}

#[test]
fn a_voided_reading_no_longer_counts_and_is_never_erased() {
    let shop = Shop::with_job();
    let ids = chambers(&shop, &BEFORE);
    shop.program
        .json(&["enter", "v8", "chamber/1", "64.4", "cc"]);
    let mean = chamber(&report(&shop, None), 1).unwrap();
    assert!((mean - 64.3).abs() < 1e-9, "{mean}");

    let id = ids[0].to_string();
    let voided = shop
        .program
        .json(&["void", "v8", &id, "--reason", "plate not sealed"]);
    assert_eq!(
        (&voided["spot"], &voided["left"]),
        (&"chamber/1".into(), &1.into())
    );
    assert_eq!(chamber(&report(&shop, None), 1), Some(64.4));
    let shown = shop.program.json(&["job", "show", "v8"]);
    let all = shown["readings"].as_array().unwrap();
    let reading = all.iter().find(|r| r["number"] == ids[0]).unwrap();
    assert_eq!(
        (&reading["state"], &reading["figure"]["value"]),
        (&"voided".into(), &64.2.into())
    );
    assert!(
        reading["note"]
            .as_str()
            .unwrap()
            .contains("plate not sealed"),
        "{reading}"
    );

    // It is voided once, and for a reason.
    let before = shop.journal();
    assert_eq!(
        shop.program
            .run(&["void", "v8", &id, "--reason", "again"])
            .code,
        5
    );
    let other = ids[1].to_string();
    assert_eq!(
        shop.program
            .run(&["void", "v8", &other, "--reason", " "])
            .code,
        3
    );
    assert_eq!(shop.journal(), before);
}

/// The second round was poured on a warmer day; that was said in time once, and once too late.
#[test]
fn a_temperature_that_is_said_holds_for_the_readings_it_is_said_of() {
    let shop = shop();
    let say = |args: &[&str]| {
        let args = [&["condition", "v8"], args].concat();
        shop.program.json(&args)
    };
    say(&["liquid", "water"]);
    say(&["chamber/temperature", "20 degC", "--u", "0.2 degC"]);
    say(&["liquid/temperature", "20 degC", "--u", "0.2 degC"]);
    let first = chambers(&shop, &[64.0])[0];
    assert_eq!(chamber(&report(&shop, None), 1), Some(64.0));

    // From here on 25 degC: the mean of 64 and 64·ρ(25)/ρ(20), densities by Tanaka.
    say(&["liquid/temperature", "25 degC", "--u", "0.2 degC"]);
    chambers(&shop, &[64.0]);
    let warm = 64.0 * 997.047_021_672 / 998.206_745_56;
    let found = chamber(&report(&shop, None), 1).expect("a chamber");
    assert!((found - (64.0 + warm) / 2.0).abs() < 1e-3, "{found}");

    let since = first.to_string();
    say(&["liquid/temperature", "25 degC", "--since", &since]);
    let found = chamber(&report(&shop, None), 1).expect("a chamber");
    assert!((found - warm).abs() < 1e-4, "{found}");
}

/// The cut itself names the one cylinder; another one is named where that was said wrong.
#[test]
fn a_cut_that_names_its_cylinders_leaves_the_others_as_they_were() {
    let shop = shop();
    chambers(&shop, &BEFORE);
    let cut = |cylinders: &str| {
        let mut cut = vec!["job", "cut", "v8", "--stage", "ported"];
        cut.extend(["--what", "bowls", "--changes", "chamber"]);
        cut.extend(["--cylinders", cylinders]);
        shop.program.run(&cut)
    };
    let refused = cut("9");
    assert!(refused.err.contains("1 to 8"), "{}", refused.err);
    assert_eq!(cut("2").code, 0);
    let held = || -> Vec<u64> {
        let report = report(&shop, None);
        (1..=8).filter(|n| chamber(&report, *n).is_some()).collect()
    };
    assert_eq!(held(), [1, 3, 4, 5, 6, 7, 8]);
    let shown = shop.program.run(&["job", "show", "v8"]).out;
    assert!(shown.contains("changes chamber of cylinder 2"), "{shown}");
    shop.program
        .json(&["job", "correct-cut", "v8", "ported", "--cylinders", "2,3"]);
    assert_eq!(held(), [1, 4, 5, 6, 7, 8]);
}

/// One chamber was ported: the engine file names it for the cut's stage, and the others hold as they were
/// measured before.
#[test]
fn a_cut_of_one_cylinder_leaves_the_others_as_they_were() {
    let shop = shop();
    chambers(&shop, &BEFORE);
    let mut cut = vec!["job", "cut", "v8", "--stage", "ported"];
    cut.extend(["--what", "chamber 2 ported", "--changes", "chamber"]);
    shop.program.json(&cut);
    let held = |shop: &Shop| -> Vec<u64> {
        let report = report(shop, None);
        (1..=8).filter(|n| chamber(&report, *n).is_some()).collect()
    };
    assert_eq!(held(&shop), [0; 0], "nobody said which cylinders were cut");
    let engine = std::fs::read_to_string(example("invented-v8.toml")).expect("an example");
    let stage = "\n[[stages]]\nname = \"ported\"\ncylinders = [2]\n";
    let engine = shop.file("ported.toml", &(engine + stage));
    shop.program.json(&["job", "engine", "v8", &engine]);
    assert_eq!(held(&shop), [1, 3, 4, 5, 6, 7, 8]);
    shop.program
        .json(&["enter", "v8", "chamber/2", "65.9", "cc"]);
    let whole = report(&shop, None);
    assert_eq!(chamber(&whole, 2), Some(65.9));
    assert_eq!(chamber(&whole, 3), Some(BEFORE[2]));
}

/// A chamber that was kept against a question before the block was decked is told in the new stage too,
/// as one of before.
#[test]
fn what_was_found_before_a_cut_is_told_after_it_as_of_before() {
    let shop = shop();
    chambers(&shop, &BEFORE);
    let far = ["enter", "v8", "chamber/3", "49.9", "cc", "--sure"];
    shop.program.json(&far);
    let cut = ["--what", "0.004 in off the block", "--changes", "deck"];
    let args = [&["job", "cut", "v8", "--stage", "decked"][..], &cut].concat();
    shop.program.json(&args);
    let told = |report: &Value| -> Vec<(String, String)> {
        let all = report["findings"].as_array().unwrap().iter();
        let of = all.filter(|one| one["spot"] == "chamber/3");
        let text = |one: &Value, key: &str| one[key].as_str().unwrap().to_owned();
        of.map(|one| (text(one, "kind"), text(one, "text")))
            .collect()
    };
    let after = told(&report(&shop, None));
    let before = told(&report(&shop, Some("as received")));
    for kind in ["kept", "typed", "unchecked"] {
        let of = |all: &[(String, String)]| {
            let found = all.iter().find(|(one, _)| one == kind);
            found
                .unwrap_or_else(|| panic!("{kind} in {all:?}"))
                .1
                .clone()
        };
        let (before, after) = (of(&before), of(&after));
        assert_eq!(after, format!("{before} (from before the cut)"));
    }
    // What was measured anew is not marked.
    shop.program.json(&["enter", "v8", "deck/1", "0.004", "in"]);
    let whole = report(&shop, None);
    let decks = whole["findings"].as_array().unwrap().iter();
    let mut decks = decks.filter(|one| one["spot"] == "deck/1");
    assert!(decks.all(|one| !one["text"].as_str().unwrap().contains("before the cut")));
}

/// Files alone are looked at as an import looks at them; nothing is refused for it.
#[test]
fn a_report_of_files_names_the_rows_that_an_import_would_ask_about() {
    let shop = shop();
    let rows = "chamber/1,64.1,cc\nchamber/2,64.5,cc\nchamber/3,46.3,cc\nchamber/4,64.2,cc\n";
    let file = shop.file("rows.csv", &format!("spot,value,unit\n{rows}"));
    let engine = example("invented-v8.toml").display().to_string();
    let told = shop
        .program
        .run(&["report", "--engine", &engine, "--readings", &file]);
    assert_eq!(told.code, 0);
    for words in ["line 4: chamber 3: 46.3 cc", "64.3 cc meant?"] {
        assert!(told.err.contains(words), "{words:?} in {}", told.err);
    }
    assert!(!told.err.contains("line 2"), "{}", told.err);
}
