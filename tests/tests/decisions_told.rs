//! How decisions are told, reports by section, by simulation and as charts, and what is asked of
//! readings alone: a gauge's study and true top dead centre.

use std::collections::BTreeMap;

use benchhand_tests::shop::{Shop, cylinder, example};
use benchhand_tests::tree::{root, text};
use serde_json::Value;

fn path(name: &str) -> String {
    example(name).to_str().expect("UTF-8").to_owned()
}

fn number(value: &Value) -> f64 {
    value["value"]
        .as_f64()
        .unwrap_or_else(|| panic!("no figure: {value}"))
}

#[test]
fn cautions_stand_before_the_figures_of_a_cut_and_the_sign_of_a_crown_is_said() {
    let shop = Shop::new();
    let (engine, csv) = (path("invented-v8.toml"), path("invented-v8-readings.csv"));
    let files = ["--engine", &engine, "--readings", &csv];
    let run = |question: &[&str]| {
        let mut args = vec!["decide"];
        args.extend(question);
        args.extend(files);
        let out = shop.program.run(&args).good().out;
        assert!(!out.contains('\u{1b}'), "no colour");
        for line in out.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
        // Sentences are broken to the width of a page.
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let mill = run(&["mill", "--ratio", "10.8", "--area", "5720 mm2"]);
    let caution = mill.find("least deck thickness").expect("the caution");
    assert!(caution < mill.find("depth 0.0").expect("a depth"), "{mill}");
    assert!(
        mill.contains("clearances are to be checked with the real parts"),
        "{mill}"
    );
    let dome = run(&["dome", "--ratio", "10.5"]);
    assert!(
        dome.contains("where a dome is positive: a dish of"),
        "{dome}"
    );
    assert!(
        dome.contains("where a catalogue counts a dish as positive"),
        "{dome}"
    );
    assert!(
        dome.contains("Tolerance to write on the order: ± "),
        "{dome}"
    );
    assert!(dome.contains("fuel and its tune"), "{dome}");
    let effective = run(&[
        "effective",
        "--closing",
        "62 deg +- 1 deg",
        "--at-lift",
        "0.050 in",
    ]);
    assert!(
        effective.contains("quoted at 0.0500 in of lift"),
        "{effective}"
    );
}

#[test]
fn a_report_by_section_by_simulation_and_as_charts() {
    let shop = Shop::new();
    let (engine, csv) = (path("invented-v8.toml"), path("invented-v8-readings.csv"));
    let run = |more: &[&str]| {
        let mut args = vec!["report", "--engine", &engine, "--readings", &csv];
        args.extend(more);
        shop.program.run(&args).good()
    };
    let only = run(&["--only", "chambers", "--json"]).json();
    assert!(number(&cylinder(&only, 6)["chamber"]) > 64.9);
    assert!(cylinder(&only, 6).get("compression").is_none() && only.get("flow").is_none());
    assert!(!only["cautions"].as_array().unwrap().is_empty());
    let text = run(&["--only", "chambers"]).out;
    assert!(
        text.contains("chamber/6") && !text.contains("compression_spread"),
        "{text}"
    );
    let both = |seed: &str| {
        run(&["--simulate", "20000", "--seed", seed, "--json"]).json()["simulation"].clone()
    };
    let found = both("7");
    assert_eq!(found, both("7"), "the same seed says the same again");
    assert_eq!(found["seed"], 7);
    let spread = found["figures"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["about"] == "compression_spread")
        .unwrap();
    assert!(number(&spread["simulated"]) > 0.0);
    let third = found["figures"]
        .as_array()
        .unwrap()
        .iter()
        // The deck points of cylinder 3 disagree: one degree of freedom has no standard deviation.
        .find(|one| one["about"] == "compression/1")
        .unwrap();
    let (first, drawn) = (
        third["first_order"]["u"].as_f64().unwrap(),
        third["simulated"]["u"].as_f64().unwrap(),
    );
    assert!((drawn / first - 1.0).abs() < 0.15, "{third}");
    let charts = run(&["--charts"]).out;
    let chart = charts
        .find("chamber, cc: o each cylinder")
        .expect("a chart");
    let rows: Vec<&str> = charts[chart..].lines().skip(1).take(8).collect();
    let furthest = rows.iter().max_by_key(|row| row.find('o')).expect("rows");
    assert!(furthest.trim_start().starts_with("6 |"), "{charts}");
    let refused = shop.program.run(&[
        "report",
        "--engine",
        &engine,
        "--readings",
        &csv,
        "--simulate",
        "5",
    ]);
    assert_eq!(refused.code, 3, "{}", refused.err);
}

/// The rows of a reference file by the names of its columns; the first field may be quoted.
fn rows(file: &str) -> Vec<BTreeMap<String, String>> {
    let text = text(&root().join("blueprint/tests/reference").join(file));
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().expect("a header").split(',').collect();
    lines
        .map(|line| {
            names
                .iter()
                .map(|name| (*name).to_owned())
                .zip(line.split(',').map(str::to_owned))
                .collect()
        })
        .collect()
}

#[test]
fn the_worked_study_comes_out_by_both_methods() {
    // Source: AIAG MSA, 4th edition, chapter III-B; `aiag_grr_results.csv` names it for each figure.
    let shop = Shop::new();
    let data = rows("aiag_grr_data.csv");
    let mut csv = "part,operator,trial,value,unit\n".to_owned();
    for row in &data {
        csv += &format!(
            "{},{},{},{},mm\n",
            row["part"], row["appraiser"], row["trial"], row["value"]
        );
    }
    let file = shop.file("study.csv", &csv);
    let found = shop
        .program
        .json(&["gauge", "study", &file, "--tolerance", "4 mm"]);
    let share = |method: &str, name: &str| {
        let all = found[method]["shares"].as_array().unwrap();
        let one = all.iter().find(|one| one["share"] == name).unwrap();
        number(&one["sd"])
    };
    let names = [
        ("EV", "repeatability"),
        ("AV", "operators"),
        ("GRR", "gauge"),
        ("PV", "parts"),
        ("TV", "total"),
    ];
    let mut seen = 0;
    for row in rows("aiag_grr_results.csv") {
        let (method, column) = match row["method"].as_str() {
            "average-range" => ("by_range", "value_exact_K"),
            "anova pooled (interaction p>0.25)" => ("by_anova", "value_rounded_K"),
            _ => continue,
        };
        if let Some((_, name)) = names.iter().find(|(short, _)| *short == row["quantity"]) {
            let expected: f64 = row[column].parse().expect("a number");
            let value = share(method, name);
            assert!(
                (value - expected).abs() < 1e-11 * expected.abs().max(1.0),
                "{method} {name}: {value}"
            );
            seen += 1;
        }
    }
    assert_eq!(seen, 10);
    assert_eq!(
        found["by_range"]["categories"].as_f64().unwrap().floor(),
        5.0
    );
    assert_eq!(
        found["by_anova"]["categories"].as_f64().unwrap().floor(),
        4.0
    );
    let hole = shop.file(
        "hole.csv",
        &csv.lines().take(20).collect::<Vec<_>>().join("\n"),
    );
    let refused = shop.program.run(&["gauge", "study", &hole]);
    assert_eq!(refused.code, 3, "{}", refused.err);
}

#[test]
fn true_top_dead_centre_is_the_middle_less_what_an_offset_moves_it_by() {
    // Source: `tdc_equal_lift.csv` (geometry).
    let shop = Shop::new();
    for row in rows("tdc_equal_lift.csv") {
        let value = |name: &str| {
            row[name]
                .parse::<f64>()
                .unwrap_or_else(|_| panic!("{name} in {row:?}"))
        };
        let pair = format!(
            "{}, {} at {} mm",
            row["theta_before_deg"], row["theta_after_deg"], row["drop_mm"]
        );
        let (stroke, rod, offset) = (
            format!("{} mm", row["two_r_mm"]),
            format!("{} mm", row["rod_mm"]),
            format!("{} mm", row["offset_e_mm"]),
        );
        let found = shop.program.json(&[
            "tdc", "--pair", &pair, "--u", "0.2 deg", "--stroke", &stroke, "--rod", &rod,
            "--offset", &offset,
        ]);
        let shows = number(&found["shows_now"]);
        assert!(
            (shows - value("theta_TDC_deg")).abs() < 1e-6,
            "{shows} {row:?}"
        );
        let u = found["top"]["u"].as_f64().unwrap();
        assert!((u - 0.2 / 2f64.sqrt()).abs() < 1e-12);
    }
    let across = shop
        .program
        .json(&["tdc", "--pair", "326.4, 33.8", "--pair", "340.3, 19.7"]);
    assert!((number(&across["top"]) - 0.05).abs() < 1e-9, "{across}");
    let refused = shop.program.run(&["tdc", "--pair", "326.4"]);
    assert_eq!(refused.code, 3, "{}", refused.err);
}

/// An engine of one cylinder with this swept volume and, in all, this clearance volume (cc).
fn of_volumes(shop: &Shop, swept: f64, clearance: f64) -> [String; 2] {
    let area = std::f64::consts::PI / 4.0 * 100.0 * 100.0;
    let engine = format!(
        "name = \"worked case\"\ninvented = true\nunits = \"metric\"\ncylinders = 1\nbore = \"100 mm\"\nstroke = \"{} mm\"\n[gasket]\nbore = \"100 mm\"\nthickness = \"1 mm\"\n",
        1000.0 * swept / area
    );
    let chamber = clearance - area / 1000.0;
    let csv = format!("spot,value,unit\nchamber/1,{chamber},cc\ndeck/1,0,mm\ncrown/1,0,cc\n");
    [shop.file("e.toml", &engine), shop.file("r.csv", &csv)]
}

#[test]
fn the_way_to_a_target_is_that_of_every_worked_row() {
    // Source: `cr_target.csv` (geometry).
    let shop = Shop::new();
    let rows = rows("cr_target.csv");
    assert_eq!(rows.len(), 4);
    for row in rows {
        let value = |name: &str| row[name].parse::<f64>().expect("a number");
        let [engine, csv] = of_volumes(&shop, value("Vs"), value("Vc"));
        let args = [
            "decide",
            "target",
            "--ratio",
            &row["CR_target"],
            "--engine",
            &engine,
            "--readings",
            &csv,
        ];
        let found = &shop.program.json(&args)["answer"]["cylinders"][0];
        // The file carries twelve significant digits.
        for (name, column) in [
            ("compression", "CR"),
            ("clearance_wanted", "Vc_target"),
            ("remove", "remove_cc"),
        ] {
            let (found, expected) = (number(&found[name]), value(column));
            let size = expected.abs().max(value("Vc"));
            assert!(
                (found - expected).abs() < 1e-11 * size,
                "{name}: {found} {row:?}"
            );
        }
        assert!(
            found["compression"]["u"].is_null(),
            "nothing is known of its inputs"
        );
    }
}

#[test]
fn an_angled_cut_is_that_of_every_worked_row() {
    // Source: `angle_mill.csv` (geometry, checked by grid).
    let shop = Shop::new();
    let rows = rows("angle_mill.csv");
    assert_eq!(rows.len(), 5);
    for row in rows {
        let value = |name: &str| row[name].parse::<f64>().expect("a number");
        let [engine, csv] = of_volumes(&shop, 700.0, 70.0);
        let chamber = 70.0 - std::f64::consts::PI * 2.5;
        let target = format!("{} cc", chamber - value("V_cc"));
        let (area, angle, centroid) = (
            format!("{} mm2", row["area_mm2"]),
            format!("{} deg", row["angle_deg"]),
            format!("{} mm", row["centroid_offset_mm"]),
        );
        let args = [
            "decide",
            "mill",
            "--chamber",
            &target,
            "--area",
            &area,
            "--angle",
            &angle,
            "--centroid",
            &centroid,
            "--engine",
            &engine,
            "--readings",
            &csv,
        ];
        let head = &shop.program.json(&args)["answer"]["heads"][0];
        let close = |found: &Value, column: &str| {
            let (found, expected) = (number(found), value(column));
            assert!((found - expected).abs() < 1e-9, "{column}: {found} {row:?}");
        };
        close(&head["depth"], "depth_at_centroid_mm");
        close(&head["depth_at_pivot"], "depth_at_pivot_mm");
        close(&head["taken"], "V_cc");
    }
}
