//! Mistakes in engine files and readings files: each is refused at its place. One job, and long.

use benchhand_blueprint::engine::EngineFileFaults;
use benchhand_blueprint::readings::Reading;
use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, ReportInputs, readings, report};

const GOOD: &str = r#"name = "check"
units = "inch"
cylinders = 8
bore = "4.047 in"
stroke = "3.548 in"
rod = "6.071 in"

[gasket]
bore = "4.147 in"
thickness = "0.040 in"

[gauges.burette]
kind = "burette"
resolution = "0.1 cc"
u = "0.05 cc"
"#;

fn engine() -> Engine {
    Engine::from_toml(GOOD).unwrap_or_else(|faults| panic!("{faults}"))
}

/// The faults of the good file with one change.
fn faults(from: &str, to: &str) -> EngineFileFaults {
    let text = GOOD.replacen(from, to, 1);
    assert_ne!(text, GOOD, "{from:?} stands in the good file");
    Engine::from_toml(&text).expect_err("the file is refused")
}

#[track_caller]
fn refused(from: &str, to: &str, line: usize, column: usize, words: &[&str]) {
    let faults = faults(from, to);
    let first = &faults.faults[0];
    assert_eq!(faults.faults.len(), 1, "{faults}");
    assert_eq!((first.line, first.column), (line, column), "{faults}");
    for word in words {
        assert!(faults.to_string().contains(word), "{word:?} in: {faults}");
    }
}

#[test]
fn absurd_dimensions_are_refused_where_they_stand() {
    refused(
        "\"4.047 in\"",
        "\"0 in\"",
        4,
        8,
        &["bore", "found 0 in", "more than 0"],
    );
    refused(
        "\"3.548 in\"",
        "\"-3.548 in\"",
        5,
        10,
        &["stroke", "more than 0"],
    );
    refused(
        "\"4.147 in\"",
        "\"3.900 in\"",
        9,
        8,
        &["3.9 in", "bore of 4.047 in", "not smaller"],
    );
    refused(
        "\"0.040 in\"",
        "\"0 in\"",
        10,
        13,
        &["gasket.thickness", "more than 0"],
    );
    refused(
        "\"6.071 in\"",
        "\"1.000 in\"",
        6,
        7,
        &["rod", "half the stroke"],
    );
    refused(
        "\"6.071 in\"",
        "\"6.000 m\"",
        6,
        7,
        &["rod", "check the unit"],
    );
}

#[test]
fn a_missing_dimension_is_named() {
    refused(
        "units = \"inch\"\n",
        "",
        1,
        1,
        &["units", "found nothing", "units = \"inch\""],
    );
    refused("cylinders = 8\n", "", 1, 1, &["cylinders"]);
    refused(
        "kind = \"burette\"\n",
        "",
        12,
        1,
        &["gauges.burette.kind", "burette, balance"],
    );
}

#[test]
fn what_no_engine_can_have_is_refused_with_its_place() {
    let bore = "bore = \"4.047 in\"";
    for (to, words) in [
        ("bore = \"nan in\"", "bore"),
        ("bore = \"inf in\"", "bore"),
        ("bore = nan", "bore"),
        ("bore = \"1e-300 in\"", "expected 0.05 mm or more"),
        ("bore = \"1e300 in\"", "expected less than 2000 mm"),
        ("bore = \"-4 in\"", "expected more than 0"),
    ] {
        let faults = faults(bore, to).to_string();
        assert!(faults.contains(words), "{words:?} in: {faults}");
    }
    for (key, value, words) in [
        (
            "tolerances",
            "chamber_spread = \"-0.5 cc\"",
            "expected 0 or more",
        ),
        (
            "tolerances",
            "compression_spread = nan",
            "compression_spread",
        ),
        (
            "tolerances",
            "compression_spread = -0.1",
            "expected 0 or more",
        ),
        ("flow", "humidity = \"450 %RH\"", "expected 0 to 100 %RH"),
    ] {
        let faults = faults("[gasket]", &format!("[{key}]\n{value}\n[gasket]")).to_string();
        assert!(faults.contains(words), "{words:?} in: {faults}");
    }
}

#[test]
fn a_negative_clearance_volume_is_refused() {
    let to = "[head]\nnominal_chamber = \"20 cc\"\n[piston]\nnominal_crown = \"40 cc\"\n[gasket]";
    refused(
        "[gasket]",
        to,
        9,
        19,
        &["total volume at TDC of -11", "dome is positive"],
    );
}

#[test]
fn units_and_keys_that_are_not_known_are_refused() {
    refused(
        "\"4.047 in\"",
        "\"4.047 inches\"",
        4,
        8,
        &["\"inches\"", "known are mm"],
    );
    refused(
        "\"4.047 in\"",
        "4.000",
        4,
        8,
        &["the number 4.000", "a length", "4.030 in"],
    );
    refused(
        "\"4.047 in\"",
        "\"4.000 cc\"",
        4,
        8,
        &["cc", "a volume", "a length"],
    );
    refused(
        "\"4.047 in\"",
        "\"4.047 in +- x in\"",
        4,
        8,
        &["where a number was expected"],
    );
    refused(
        "rod =",
        "road =",
        6,
        1,
        &["road", "not known here", "docs/engine-file.md"],
    );
    refused(
        "\"inch\"",
        "\"feet\"",
        2,
        9,
        &["feet", "\"inch\" or \"metric\""],
    );
    refused(
        "\"burette\"",
        "\"jug\"",
        13,
        8,
        &["jug", "burette, balance"],
    );
    refused(
        "u = \"0.05 cc\"",
        "u = \"0.05 in\"",
        15,
        5,
        &["gauges.burette.u", "a volume"],
    );
    refused(
        "u = \"0.05 cc\"",
        "u = \"-0.05 cc\"",
        15,
        5,
        &["cannot be negative"],
    );
    refused(
        "cylinders = 8",
        "cylinders = 0",
        3,
        13,
        &["the number 0", "from 1 to 24"],
    );
}

#[test]
fn text_that_is_not_toml_is_refused_at_its_line() {
    let faults = faults("stroke = \"3.548 in\"", "stroke = 3.548 in");
    assert_eq!(faults.faults[0].line, 5, "{faults}");
    assert!(faults.to_string().contains("not TOML"), "{faults}");
}

#[test]
fn every_fault_of_a_file_is_reported_in_its_order() {
    let text = GOOD
        .replace("\"4.047 in\"", "\"0 in\"")
        .replace("\"3.548 in\"", "\"3 furlong\"");
    let faults = Engine::from_toml(&text).expect_err("refused");
    let lines: Vec<usize> = faults.faults.iter().map(|fault| fault.line).collect();
    assert_eq!(
        lines,
        [5],
        "a file that cannot be understood is not judged further: {faults}"
    );
    let text = GOOD
        .replace("\"4.047 in\"", "\"0 in\"")
        .replace("\"0.040 in\"", "\"-1 in\"");
    let faults = Engine::from_toml(&text).expect_err("refused");
    let lines: Vec<usize> = faults.faults.iter().map(|fault| fault.line).collect();
    assert_eq!(lines, [4, 10], "{faults}");
}

#[test]
fn banks_must_hold_every_cylinder_once() {
    let to = "cylinders = 8\nbanks = [[1, 3, 5, 7], [2, 4, 6, 6]]";
    refused(
        "cylinders = 8",
        to,
        4,
        9,
        &["[1, 2, 3, 4, 5, 6, 6, 7]", "each of 1 to 8 once"],
    );
}

#[test]
fn a_piston_above_the_deck_is_no_error() {
    let engine = engine();
    let csv = "spot,value,unit\nchamber/1,64,cc\ndeck/1,-0.005,in\ncrown/1,0,cc\nseat/1/intake,-0.01,in\ngap/1/intake/10deg,-0.01,in\n";
    let readings = readings::from_csv(csv, &engine).expect("readings");
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).expect("a report");
    let first = report.cylinder(1).expect("cylinder 1");
    assert!((first.deck.clone().expect("a deck").value + 0.005).abs() < 1e-15);
    assert!(first.compression.is_some());
}

#[test]
fn one_bad_row_refuses_the_whole_file_and_every_bad_row_is_named() {
    let csv = "spot,value,unit\nchamber/1,64.2,cc\nchamber/9,64.1,cc\npiston/1,3,cc\nchamber/2,sixty,cc\nchamber/3,64.0,furlong\ndeck/1,0.010,cc\nchamber/4,,cc\n";
    let faults = readings::from_csv(csv, &engine()).expect_err("refused");
    let places: Vec<(u64, usize, &str)> = faults
        .faults
        .iter()
        .map(|fault| (fault.line, fault.column, fault.field.as_str()))
        .collect();
    let expected = [
        (3, 1, "spot"),
        (4, 1, "spot"),
        (5, 11, "value"),
        (6, 16, "unit"),
        (7, 14, "unit"),
        (8, 11, "value"),
    ];
    assert_eq!(places, expected, "{faults}");
    let text = faults.to_string();
    for words in [
        "names cylinder 9, but the engine has cylinders 1 to 8",
        "\"piston\"",
        "\"sixty\"",
        "\"furlong\"",
        "takes a length",
    ] {
        assert!(text.contains(words), "{words:?} in: {text}");
    }
}

#[test]
fn files_that_are_no_readings_say_what_is_missing() {
    for (csv, words) in [
        ("", "must name spot, value and unit"),
        (
            "spot\tvalue\tunit\nchamber/1\t64.2\tcc\n",
            "not separated by commas",
        ),
        (
            "spot;value;unit\nchamber/1;1,234;cc\n",
            "could part thousands",
        ),
        (
            "spot,value\nchamber/1,64.2\n",
            "must name spot, value and unit",
        ),
        (
            "spot,value,unit,colour\nchamber/1,64.2,cc,red\n",
            "\"colour\"",
        ),
        ("spot,value,unit\n", "found no reading"),
        ("spot,value,unit\nchamber/1,64,2,cc\n", "decimal comma"),
        (
            "spot,value,unit,u\nchamber/1,64.2,cc,-0.1\n",
            "cannot be negative",
        ),
        (
            "spot,value,unit\nflow/1/intake/0.3in,28,inH2O\n",
            "flow/1/intake/0.3in/test",
        ),
    ] {
        let faults = readings::from_csv(csv, &engine())
            .expect_err(csv)
            .to_string();
        assert!(faults.contains(words), "{words:?} in: {faults}");
    }
}

#[test]
fn rows_that_cannot_be_are_refused_by_the_file() {
    let engine = engine();
    for (csv, words) in [
        (
            "spot,value,unit\nchamber/1,-64,cc\n",
            "found -64 cc, expected more than 0",
        ),
        (
            "spot,value,unit\nchamber/1,45.1,cc\nchamber/1,0,cc\n",
            "line 3",
        ),
        (
            "spot,value,unit\nchamber/1,1e308,cc\n",
            "expected at most 100000 cc",
        ),
        ("spot,value,unit\nbore/1,-4,in\n", "found -4 in"),
        ("spot,value,unit\ndeck/1,12,in\n", "expected at most 7.8"),
        (
            "spot,value,unit\nflow/1/intake/0.3in/test,-28,inH2O\nflow/1/intake/0.3in/metering,4,inH2O\n",
            "found -28 inH2O",
        ),
    ] {
        let faults = readings::from_csv(csv, &engine).expect_err(csv).to_string();
        assert!(faults.contains(words), "{words:?} in: {faults}");
    }
}

/// A reading as a record that was written by an older version may hold it.
fn kept(id: &str, spot: &str, value: f64, unit: benchhand_blueprint::Unit) -> Reading {
    Reading {
        id: id.to_owned(),
        spot: spot.parse().expect("a spot"),
        value: readings::ReadingValue::One(benchhand_blueprint::Quantity { value, unit }),
        u: None,
        dof: None,
        gauge: None,
        step: None,
        zero: None,
        stage: readings::FIRST_STAGE.to_owned(),
        note: None,
        conditions: None,
    }
}

#[test]
fn no_kept_reading_makes_the_report_impossible() {
    use benchhand_blueprint::Unit::{CubicCentimetre as Cc, Inch};
    let engine = engine();
    let sound = || {
        vec![
            kept("1", "chamber/2", 45.0, Cc),
            kept("2", "chamber/2", 45.1, Cc),
        ]
    };
    for (bad, spot, words) in [
        // Beside a good reading the mean would be 0.05 cc, and nothing would show.
        (
            vec![
                kept("7", "chamber/1", -45.0, Cc),
                kept("8", "chamber/1", 45.1, Cc),
            ],
            "chamber/1",
            "reading 7 is left out: found -45 cc",
        ),
        (
            vec![kept("7", "chamber/1", 1e308, Cc)],
            "chamber/1",
            "at most 100000 cc",
        ),
        (
            vec![kept("7", "crown/1/fluid", -80.0, Cc)],
            "crown/1/fluid",
            "found -80 cc",
        ),
        (vec![kept("7", "rod/1", 0.0, Inch)], "rod/1", "found 0 in"),
        (
            vec![kept("7", "runner/1/intake", -180.0, Cc)],
            "runner/1/intake",
            "found -180 cc",
        ),
        (
            vec![kept("7", "chamber/1", 4.0, Inch)],
            "chamber/1",
            "this spot takes",
        ),
        (vec![kept("7", "chamber/31", 45.0, Cc)], "chamber/31", "31"),
        (
            vec![kept("7", "gasket/bore", 3.9, Inch)],
            "gasket/bore/1",
            "expected not less than the bore",
        ),
        (
            vec![
                kept("7", "chamber/1", 20.0, Cc),
                kept("8", "deck/1", 0.0, Inch),
                kept("9", "crown/1", 60.0, Cc),
            ],
            "chamber/1",
            "cylinder 1 would have a total volume at TDC of -31.15 cc",
        ),
    ] {
        let mut readings = sound();
        readings.extend(bad);
        let inputs = ReportInputs {
            engine: &engine,
            readings: &readings,
            stages: &[],
            stage: None,
        };
        let report = report(&inputs).expect("a report");
        let second = report.cylinder(2).and_then(|two| two.chamber.as_ref());
        assert!(
            (second.expect("chamber 2").value - 45.05).abs() < 1e-9,
            "{words}"
        );
        let said = report
            .findings_of(FindingKind::Impossible)
            .any(|found| found.spot == spot && found.text.contains(words));
        assert!(said, "{spot}, {words:?} in: {:?}", report.findings);
    }
}

#[test]
fn a_stage_that_is_not_there_is_named() {
    let engine = engine();
    let none = ReportInputs {
        engine: &engine,
        readings: &[],
        stages: &[],
        stage: Some("milled 1"),
    };
    assert!(
        report(&none)
            .expect_err("refused")
            .to_string()
            .contains("\"milled 1\"")
    );
}

#[test]
fn a_spreadsheet_with_a_byte_order_mark_and_quotes_is_read() {
    let csv = "\u{feff}spot,value,unit,note\r\n\"chamber/1\",64.2,cc,\"warm, later\"\r\n\r\n# a comment\r\nchamber/1,64.3,mL,\r\n";
    let readings = readings::from_csv(csv, &engine()).expect("readings");
    assert_eq!(readings.len(), 2);
    assert_eq!(readings[0].note.as_deref(), Some("warm, later"));
    assert_eq!(readings[1].id, "line 5");
}
