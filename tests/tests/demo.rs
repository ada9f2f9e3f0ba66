//! The demo: one command, no gauge, no hand. What it prints, what it finds by itself, and what
//! it leaves behind.
//!
//! What is true of the invented engine stands in `daemon/src/demo/scenario.rs`, from which the
//! played streams were made; the report is told none of it.

use std::sync::OnceLock;

use benchhand_tests::program::Program;
use benchhand_tests::shop::{Shop, cylinder, findings};
use serde_json::Value;

const CHAMBERS: [f64; 8] = [64.03, 64.10, 63.96, 64.06, 63.99, 64.93, 64.01, 64.08];
const SET_UP_CC: f64 = 0.03;
const DECKS: [f64; 8] = [
    0.0082, 0.0088, 0.0080, 0.0090, 0.0086, 0.0081, 0.0089, 0.0084,
];
const CROWNS: [f64; 8] = [-3.20, -3.15, -3.22, -3.28, -3.18, -3.12, -3.24, -3.19];

struct Demo {
    shop: Shop,
    report: Value,
}

/// It is run once for all tests of this file.
fn demo() -> &'static Demo {
    static DEMO: OnceLock<Demo> = OnceLock::new();
    DEMO.get_or_init(|| {
        let shop = Shop::new();
        let ran = shop.program.run(&["demo", "--json"]).good();
        // The one document and nothing else: no second one, no word beside it.
        let report = ran.json();
        assert_eq!(ran.err, "", "nothing is said where no terminal is");
        Demo { shop, report }
    })
}

impl Demo {
    /// The job that the demo kept, for the executable.
    fn kept(&self) -> Program {
        Program::at(&self.shop.program.data().join("demo/1"))
    }

    fn readings(&self) -> Vec<Value> {
        let shown = self.kept().json(&["job", "show", "invented-v8"]);
        let all = shown["readings"].as_array().expect("readings");
        let live = |r: &&Value| r["state"] == "final" || r["state"] == "held";
        all.iter().filter(live).cloned().collect()
    }
}

#[track_caller]
fn near(figure: &Value, truth: f64, within: f64) {
    let value = figure["value"]
        .as_f64()
        .unwrap_or_else(|| panic!("{figure}"));
    assert!((value - truth).abs() <= within, "{figure} is not {truth}");
}

#[test]
fn it_prints_the_document_that_is_promised() {
    let report = &demo().report;
    assert_eq!(report["units"], "inch");
    assert_eq!(report["invented"], true);
    let cylinders = report["cylinders"].as_array().unwrap();
    assert_eq!(cylinders.len(), 8);
    for (i, cylinder) in cylinders.iter().enumerate() {
        assert_eq!(cylinder["cylinder"], i + 1);
        for (key, unit) in [
            ("chamber", "cc"),
            ("deck", "in"),
            ("crown", "cc"),
            ("clearance", "cc"),
            ("compression", "1"),
        ] {
            let figure = &cylinder[key];
            assert_eq!(figure["unit"], unit, "{key}: {figure}");
            assert!(
                figure["value"].is_f64() && figure["u"].as_f64().unwrap() > 0.0,
                "{key}: {figure}"
            );
        }
    }
    for key in [
        "chamber_mean",
        "chamber_spread",
        "deck_mean",
        "deck_spread",
        "compression_mean",
        "compression_spread",
    ] {
        assert!(report["summary"][key]["value"].is_f64(), "{key}");
    }
}

#[test]
fn its_figures_are_those_of_the_invented_engine() {
    let report = &demo().report;
    for i in 0..8 {
        let found = cylinder(report, i as u64 + 1);
        // Two rounds, each set up anew.
        near(
            &found["chamber"],
            CHAMBERS[i],
            3.0 * SET_UP_CC / 2f64.sqrt() + 0.01,
        );
        // A count is 0.0005 in; grit moved front and rear by as much up as down.
        near(&found["deck"], DECKS[i], 0.0005);
        // One set-up; the depth's zero is shared by all.
        near(&found["crown"], CROWNS[i], 0.3);
    }
    near(&report["summary"]["chamber_spread"], 64.93 - 63.96, 0.1);
}

#[test]
fn it_finds_the_large_chamber_and_the_deck_that_disagrees_and_flags_nothing_else() {
    let mut found = findings(&demo().report);
    found.retain(|(_, kind)| kind != "unrepeated");
    found.sort();
    // Nobody plays the checks of the zeros and of the orifice, and that is said.
    let (unchecked, found): (Vec<_>, Vec<_>) =
        found.into_iter().partition(|(_, kind)| kind == "unchecked");
    let unchecked: Vec<&str> = unchecked.iter().map(|(spot, _)| spot.as_str()).collect();
    let lift = "flow/1/intake/2.54mm";
    assert_eq!(unchecked, ["deck/1/front", lift, "gasket/thickness"]);
    let wanted = [("chamber/6", "outlier"), ("deck/3", "disagrees")];
    assert_eq!(
        found,
        wanted.map(|(spot, kind)| (spot.to_owned(), kind.to_owned()))
    );
    let text = demo().report["findings"].to_string();
    assert!(
        !text.contains("grit"),
        "it says what is out of line with the others, not why: {text}"
    );
}

#[test]
fn the_pour_that_paused_half_way_was_captured_right() {
    // The fifth pour: cylinder 2 in the first round (banks are visited one after the other).
    let readings = demo().readings();
    let paused = readings
        .iter()
        .find(|r| r["spot"] == "chamber/2" && r["round"] == 1);
    let paused = paused.expect("it was taken");
    near(&paused["figure"], CHAMBERS[1], 3.0 * SET_UP_CC);
    let at_chambers = readings.iter().filter(|r| {
        r["spot"]
            .as_str()
            .is_some_and(|spot| spot.starts_with("chamber/"))
    });
    assert_eq!(
        at_chambers.count(),
        16,
        "the half before the pause is no reading of its own"
    );
}

#[test]
fn what_it_measured_is_what_a_first_job_needs() {
    let readings = demo().readings();
    let count = |begins: &str| {
        let spot = |r: &&Value| r["spot"].as_str().is_some_and(|s| s.starts_with(begins));
        readings.iter().filter(spot).count()
    };
    assert_eq!(count("chamber/"), 16, "eight chambers in two rounds");
    assert_eq!(count("deck/"), 16, "front and rear of eight pistons");
    assert_eq!(count("crown/"), 16, "depth and liquid of eight crowns");
    assert_eq!(count("gasket/"), 3);
    assert_eq!(count("flow/"), 8, "two ports at four lifts");
    let flow = demo().report["flow"].as_array().expect("flow").len();
    assert!(flow > 0);
}

#[test]
fn what_it_kept_is_a_job_like_any_other() {
    let (demo, kept) = (demo(), demo().kept());
    let verified = kept.json(&["job", "verify", "invented-v8"]);
    assert_eq!(verified["broken"], Value::Null);
    let again = kept.json(&["report", "invented-v8"]);
    assert_eq!(
        again, demo.report,
        "the report of the kept job is the one that was printed"
    );
    let streams = kept.data().join("jobs/invented-v8/streams");
    for gauge in ["burette", "dial", "manometer"] {
        let file = streams.join(format!("{gauge}-001.ndjson"));
        let header = std::fs::read_to_string(&file).unwrap_or_else(|e| panic!("{file:?}: {e}"));
        assert!(
            header
                .lines()
                .next()
                .unwrap()
                .contains(r#""origin":"synthesised""#)
        );
    }
}

#[test]
fn for_a_person_it_says_that_all_is_invented_and_where_it_is_kept() {
    let shop = Shop::new();
    let ran = shop.program.run(&["demo"]).good();
    assert!(ran.out.contains("INVENTED"), "{}", ran.out);
    let folder = shop.program.data().join("demo/1");
    assert!(ran.out.contains(folder.to_str().unwrap()), "{}", ran.out);
    assert!(folder.join("jobs/invented-v8/journal.ndjson").exists());
    assert!(
        ran.out.contains("Chamber 6") && ran.out.contains("deck 3"),
        "{}",
        ran.out
    );
}
