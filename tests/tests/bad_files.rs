//! Text files that cannot be used: each is refused in words that say what was found, what was
//! expected and what to do, at its line, and nothing of it is kept.

use benchhand_tests::refusals::{CANNOT_BE_USED, CLASHES, NOT_THERE, refused};
use benchhand_tests::shop::{Shop, example};
use benchhand_tests::tree::text;

/// The invented engine with one change, as a file.
#[track_caller]
fn engine_with(shop: &Shop, from: &str, to: &str) -> String {
    let good = text(&example("invented-v8.toml"));
    assert!(good.contains(from), "{from:?} stands in the example");
    shop.file("engine.toml", &good.replacen(from, to, 1))
}

#[test]
fn an_engine_file_with_a_missing_or_absurd_dimension_is_shown_at_its_line() {
    let bore = r#"bore = { value = "4.047 in", u = "0.0002 in", dof = 9 }"#;
    let gasket = r#"bore = { value = "4.147 in", limits = "0.005 in" }"#;
    let cases: &[(&str, &str, &[&str])] = &[
        (
            "units = \"inch\"\n",
            "",
            &[
                "units",
                "missing or found nothing",
                "units = \"inch\" or units = \"metric\"",
            ],
        ),
        (bore, r#"bore = "0 in""#, &["bore", "0 in", "more than 0"]),
        (bore, r#"bore = "-4 in""#, &["bore", "-4 in", "more than 0"]),
        (bore, r#"bore = "4.047 inches""#, &["inches", "mm", "in"]),
        (bore, r#"bore = "4.000""#, &["bore", "4.000", "unit"]),
        (bore, r#"bore = "4.000 cc""#, &["cc", "length"]),
        (bore, r#"bore = "101.6 in""#, &["bore", "2000 mm"]),
        (bore, "boar = 4", &["boar"]),
        (
            gasket,
            r#"bore = "3.900 in""#,
            &["gasket", "3.9", "not smaller"],
        ),
        (
            "\"64 cc\"",
            "\"-64 cc\"",
            &["nominal_chamber", "-64 cc", "more than 0"],
        ),
        ("\"64 cc\"\n", "\"1 cc\"\n", &["total volume at TDC"]),
        ("\"-3.2 cc\"", "\"90 cc\"", &["total volume at TDC", "dome"]),
        ("cylinders = 8", "cylinders = 0", &["cylinders", "0"]),
        ("cylinders = 8", "cylinders = 6", &["banks"]),
        (
            "units = \"inch\"",
            "units = \"furlong\"",
            &["furlong", "inch", "metric"],
        ),
        ("stroke = {", "stroke = [", &["stroke"]),
    ];
    for (from, to, words) in cases {
        let shop = Shop::new();
        // A nominal chamber of 1 cc is absurd only with a dome.
        let file = if *to == "\"1 cc\"\n" {
            let good = text(&example("invented-v8.toml"));
            let small = good
                .replacen(from, to, 1)
                .replacen("\"-3.2 cc\"", "\"30 cc\"", 1);
            shop.file("engine.toml", &small)
        } else {
            engine_with(&shop, from, to)
        };
        let words: Vec<&str> = words
            .iter()
            .copied()
            .filter(|w| *w != "missing or found nothing")
            .collect();
        let ran = refused(&shop, &["job", "new", "v8", &file], CANNOT_BE_USED, &words);
        assert!(
            ran.err.contains("engine.toml:"),
            "the line is named: {}",
            ran.err
        );
        let csv = example("invented-v8-readings.csv");
        let report = [
            "report",
            "--engine",
            &file,
            "--readings",
            csv.to_str().unwrap(),
        ];
        refused(&shop, &report, CANNOT_BE_USED, &words);
        assert!(!shop.program.data().exists(), "nothing was made: {to}");
    }
}

#[test]
fn files_that_are_not_there_or_no_text_are_named() {
    let shop = Shop::new();
    let absent = shop.folder().join("absent.toml");
    let absent = absent.to_str().unwrap();
    refused(
        &shop,
        &["job", "new", "v8", absent],
        NOT_THERE,
        &["absent.toml", "what to do"],
    );
    let binary = shop.folder().join("picture.png");
    std::fs::write(&binary, [0x89, b'P', b'N', b'G', 0xff, 0xfe]).unwrap();
    let binary = binary.to_str().unwrap();
    refused(
        &shop,
        &["job", "new", "v8", binary],
        CANNOT_BE_USED,
        &["picture.png"],
    );
    refused(&shop, &["play", binary], CANNOT_BE_USED, &["picture.png"]);
    refused(&shop, &["play", absent], NOT_THERE, &["absent.toml"]);
    let folder = shop.folder().to_str().unwrap();
    refused(
        &shop,
        &["job", "new", "v8", folder],
        CANNOT_BE_USED,
        &["what to do"],
    );
}

#[test]
fn of_a_csv_with_bad_rows_nothing_is_kept_and_every_bad_row_is_named() {
    let shop = Shop::with_job();
    let csv = "spot,value,unit\n\
               chamber/1,64.2,cc\n\
               chamber/9,64.2,cc\n\
               chamber/2,64.2,ccm\n\
               chamber/3,64.2,cc\n\
               chamber/4,x,cc\n";
    let file = shop.file("notebook.csv", csv);
    let words = ["notebook.csv", "3 faults", "nothing of it was kept"];
    let ran = refused(&shop, &["import", "v8", &file], CANNOT_BE_USED, &words);
    for word in ["cylinder 9", "ccm", "chamber/4,x,cc"] {
        assert!(ran.err.contains(word), "{word}: {}", ran.err);
    }
    assert_eq!(shop.readings().len(), 0);
    let engine = example("invented-v8.toml");
    let report = [
        "report",
        "--engine",
        engine.to_str().unwrap(),
        "--readings",
        &file,
    ];
    refused(
        &shop,
        &report,
        CANNOT_BE_USED,
        &["notebook.csv", "cylinder 9"],
    );

    for (csv, word) in [
        ("", "spot"),
        ("spot,value,unit\n", "notebook.csv"),
        ("spot,value\nchamber/1,64.2\n", "unit"),
        ("spot,value,unit,wieght\nchamber/1,64.2,cc,1\n", "wieght"),
        ("spot,value,unit\nchamber/1,64,2,cc\n", "notebook.csv"),
        (
            "spot,value,unit,stage\nchamber/1,64.2,cc,milled 7\n",
            "milled 7",
        ),
    ] {
        let file = shop.file("notebook.csv", csv);
        let ran = shop.program.run(&["import", "v8", &file]);
        assert!(
            [CANNOT_BE_USED, CLASHES].contains(&ran.code),
            "{csv:?}: {}{}",
            ran.out,
            ran.err
        );
        assert!(ran.err.contains(word), "{csv:?}: {}", ran.err);
        assert_eq!(shop.readings().len(), 0, "{csv:?}");
    }
}

#[test]
fn a_damaged_recorded_stream_is_named_at_its_line() {
    let shop = Shop::new();
    let good = text(&benchhand_tests::tree::root().join("recorded-streams/ascii-length.ndjson"));
    let lines: Vec<&str> = good.lines().collect();
    let with = |number: usize, line: &str| {
        let mut all = lines.clone();
        all[number - 1] = line;
        all.join("\n") + "\n"
    };
    for (name, damaged, line) in [
        ("no header", with(1, "[0,\"rx\",\"+0.1234 mm\\r\\n\"]"), 1),
        ("half a line", with(7, &lines[6][..lines[6].len() / 2]), 7),
        ("a word that is none", with(5, "[41250,\"rz\",\"x\"]"), 5),
        ("time goes back", with(9, "[0,\"rx\",\"x\"]"), 9),
        ("no byte", with(4, "[41250,\"rx\",\"\u{20ac}\"]"), 4),
    ] {
        let file = shop.file("damaged.ndjson", &damaged);
        let place = format!("damaged.ndjson:{line}:");
        for args in [
            vec!["play", &file],
            vec!["replay", &file, "--mode", "settle"],
        ] {
            let ran = refused(
                &shop,
                &args,
                CANNOT_BE_USED,
                &["damaged.ndjson", "what to do"],
            );
            assert!(ran.err.contains(&place), "{name}: {}", ran.err);
        }
    }
    let other = with(1, &lines[0].replace("\"ascii-length\"", "\"ascii-lenght\""));
    let file = shop.file("other.ndjson", &other);
    refused(
        &shop,
        &["play", &file],
        NOT_THERE,
        &["ascii-lenght", "ascii-length"],
    );
}

#[test]
fn bytes_that_are_damaged_inside_a_sound_stream_give_troubles_never_values() {
    let shop = Shop::new();
    let stream = "{\"stream\":1,\"profile\":\"ascii-length\",\"line\":{\"baud\":9600,\"format\":\"8N1\"},\"origin\":\"synthesised\"}\n\
                  [0,\"rx\",\"+0.1234 mm\\r\\n\"]\n\
                  [100000,\"rx\",\"+0.1\u{ff}34 mm\\r\\n\"]\n\
                  [200000,\"rx\",\"+0.1235 mm\\r\\n\"]\n";
    let file = shop.file("noisy.ndjson", stream);
    let ran = shop.program.run(&["play", &file, "--json"]).good();
    let values: Vec<f64> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap())
        .filter_map(|sample| sample["value"].as_f64())
        .collect();
    assert_eq!(values, [0.1234, 0.1235]);
    assert!(
        ran.err.contains("100000"),
        "the trouble is told with its time: {}",
        ran.err
    );
}

#[test]
fn the_same_file_twice_is_no_second_round() {
    let shop = Shop::with_job();
    let csv = |second: &str| format!("spot,value,unit\nchamber/1,64.2,cc\nchamber/2,{second},cc\n");
    let file = shop.file("notebook.csv", &csv("64.1"));
    let import = ["import", "v8", &file];
    shop.program.json(&import);
    let words = ["all 2 rows were imported before", "--sure"];
    refused(&shop, &import, CLASHES, &words);
    // A round that came out alike at one chamber is a round.
    let next = shop.file("round-2.csv", &csv("64.2"));
    shop.program.json(&["import", "v8", &next]);
    shop.program.json(&["import", "v8", &file, "--sure"]);
    assert_eq!(shop.values_at("chamber/1"), [64.2; 3]);
}
