//! From bytes on serial lines to the report, through the executable alone.
//!
//! The three gauges of the invented bench live on pseudo-terminals and send what the demo's
//! recorded streams hold, for cylinders 1 and 3; the manometer answers when it is asked. What is
//! true of the invented engine stands in `daemon/src/demo/scenario.rs`.

#![cfg(unix)]

use benchhand_drivers::stream::Stream;
use benchhand_testbed::gauge::encode::modbus_reply;
use benchhand_tests::api::ApiEvents;
use benchhand_tests::driven_station::DrivenStation;
use benchhand_tests::program::{Daemon, RunningProgram};
use benchhand_tests::recorded::{by_pours, demo, piece};
use benchhand_tests::shop::{Shop, cylinder, findings};
use serde_json::Value;

/// How long the demo's builder takes for the depth of a crown, and for a deck point, s.
const DEPTH_S: f64 = 9.0;

const CHAMBERS: [f64; 3] = [64.03, 0.0, 63.96];
const DECKS: [f64; 3] = [0.0082, 0.0, 0.0080];
const CROWNS: [f64; 3] = [-3.20, 0.0, -3.22];
const GASKET_IN: f64 = 0.0402;
const TEST_IN_H2O: f64 = 28.0;
const METERING_IN_H2O: f64 = 4.35;
const PASCAL_PER_INCH_OF_WATER: f64 = 249.088_91;

#[track_caller]
fn set_up(daemon: &Daemon, gauge: &str, profile: &str, port: &str, more: &[&str]) {
    let mut args = vec!["gauge", "set", gauge, "--profile", profile, "--port", port];
    args.extend(more);
    daemon.program.json(&args);
    daemon.api.wait_for_port(gauge);
}

/// A route that a builder started, and what goes on meanwhile.
struct Route {
    measuring: RunningProgram,
    events: ApiEvents,
}

impl Route {
    /// Starts it and waits until it runs.
    #[track_caller]
    fn start(daemon: &Daemon, route: &str, more: &[&str]) -> Route {
        let events = daemon.api.events(None);
        let mut args = vec!["measure", "v8", route, "--json"];
        args.extend(more);
        let mut measuring = daemon.program.start(&args);
        measuring.wait("the route runs", |event| {
            event["progress"]["running"] == true
        });
        Route { measuring, events }
    }

    /// It must end by itself, with every reading final.
    #[track_caller]
    fn ends(mut self) {
        self.events.wait("the end of the route", |event| {
            event["event"] == "route" && event["progress"]["running"] == false
        });
        self.measuring.end().good();
    }
}

#[track_caller]
fn zero(daemon: &Daemon) {
    let zero = ["gauge", "zero", "dial", "--job", "v8", "--u", "0.0002 in"];
    daemon.program.json(&zero);
}

#[track_caller]
fn near(figure: &Value, truth: f64, within: f64) {
    let value = figure["value"]
        .as_f64()
        .unwrap_or_else(|| panic!("{figure}"));
    assert!((value - truth).abs() <= within, "{figure} is not {truth}");
}

/// The pours of these numbers, counted from 0 over both rounds of eight, as one stream each.
fn pours(name: &str, numbers: &[usize]) -> Vec<Stream> {
    let all = by_pours(&demo(name));
    numbers.iter().map(|n| all[*n].clone()).collect()
}

#[test]
fn a_builders_first_job_from_bytes_to_the_report() {
    let (shop, cylinders) = (Shop::with_job(), ["--cylinders", "1,3"]);
    let station = DrivenStation::new();
    let (burette, dial) = (station.plug_in("burette"), station.plug_in("dial"));
    let daemon = station.serve(&shop.program);
    let known = [
        "--u",
        "0.03 cc",
        "--repeatability",
        "0.04 cc",
        "--capacity",
        "100 cc",
        "--counts",
        "up",
    ];
    set_up(&daemon, "burette", "ascii-volume", burette.path(), &known);
    let known = [
        "--u",
        "0.0001 in",
        "--repeatability",
        "0.0003 in",
        "--resolution",
        "0.0005 in",
    ];
    set_up(&daemon, "dial", "bcd13-length", dial.path(), &known);
    let route = Route::start(&daemon, "chambers", &cylinders);
    for pour in pours("burette-chambers.ndjson", &[0, 1, 8, 9]) {
        burette.play(&pour);
    }
    route.ends();

    dial.play(&demo("dial-deck-zero.ndjson"));
    zero(&daemon);
    let route = Route::start(&daemon, "deck", &cylinders);
    // Front and rear of the first two pistons in the order of the banks, which are 1 and 3.
    let deck = demo("dial-deck.ndjson");
    let four_points = deck.duration_us() as f64 / 1e6 * 4.0 / 16.0;
    dial.play(&piece(&deck, 0.0, four_points));
    route.ends();

    let route = Route::start(&daemon, "crowns", &cylinders);
    let depths = demo("dial-crowns.ndjson");
    for (i, fluid) in pours("burette-crowns.ndjson", &[0, 1]).iter().enumerate() {
        let i = i as f64;
        dial.play(&piece(&depths, i * DEPTH_S, (i + 1.0) * DEPTH_S));
        burette.play(fluid);
    }
    route.ends();

    dial.play(&demo("dial-gasket-zero.ndjson"));
    zero(&daemon);
    let route = Route::start(&daemon, "gasket", &[]);
    dial.play(&demo("dial-gasket.ndjson"));
    route.ends();

    let manometer = station.plug_in_answering("manometer", 8, |_| pressures());
    let known = ["--u", "8 Pa", "--scale-u", "0.002"];
    set_up(
        &daemon,
        "manometer",
        "modbus-pressure-pair",
        manometer.path(),
        &known,
    );
    let flow = ["--cylinders", "1", "--list", "lift=0.300in"];
    let route = Route::start(&daemon, "flow", &flow);
    // The manometer is asked all the time; it need not be played.
    station.pass(20.0);
    route.ends();

    answered_late(&shop);
    let report = shop.program.json(&["report", "v8"]);
    hold_against_the_truth(&report);
    let readings = shop.readings();
    assert_eq!(readings.len(), 4 + 4 + 4 + 3 + 1, "{readings:#?}");
    assert!(readings.iter().all(|r| r["source"] == "captured"));
    recorded(&shop, &["burette", "dial", "manometer"]);
    assert_eq!(
        shop.program.json(&["job", "verify", "v8"])["broken"],
        Value::Null
    );
    daemon.stop();
    assert_eq!(
        shop.program.json(&["report", "v8"]),
        report,
        "nothing was lost at the end"
    );
}

/// The chambers' route asked for valves, plugs and fill hole, and nobody answered: each chamber lacks
/// them, the table says so once below it, and an answer afterwards ends it.
#[track_caller]
fn answered_late(shop: &Shop) {
    let before = shop.program.json(&["report", "v8"]);
    let chamber = &cylinder(&before, 1)["chamber"];
    assert_eq!(chamber["u"], Value::Null, "{chamber}");
    for condition in ["valves-and-plugs", "fill-hole/volume"] {
        let lacking = chamber["lacking"].to_string();
        assert!(lacking.contains(condition), "{chamber}");
        let told = shop.program.run(&["report", "v8", "--full"]).good().out;
        assert_eq!(told.matches(condition).count(), 1, "{told}");
    }
    let first = shop.readings()[0]["number"].to_string();
    for (name, value) in [
        ("valves-and-plugs", "running"),
        ("fill-hole/volume", "0.01 cc"),
    ] {
        let said = ["condition", "v8", name, value, "--since", &first];
        shop.program.json(&said);
    }
    let after = shop.program.json(&["report", "v8"]);
    let known = &cylinder(&after, 1)["chamber"];
    assert!(known["u"].as_f64().is_some(), "{known}");
    let value = |figure: &Value| figure["value"].as_f64().expect("measured");
    let hole = value(chamber) - value(known);
    assert!((hole - 0.01).abs() < 1e-9, "the hole is taken off: {hole}");
}

/// Both pressures as floats in input registers, high word first.
fn pressures() -> Vec<u8> {
    let pascal = |inches: f64| ((inches * PASCAL_PER_INCH_OF_WATER) as f32).to_be_bytes();
    modbus_reply(
        1,
        4,
        &[pascal(TEST_IN_H2O), pascal(METERING_IN_H2O)].concat(),
    )
}

#[track_caller]
fn hold_against_the_truth(report: &Value) {
    for number in [1, 3] {
        let (found, i) = (cylinder(report, number), number as usize - 1);
        // Two set-ups of 0.03 cc each.
        near(&found["chamber"], CHAMBERS[i], 0.075);
        // One count; at piston 3 grit moved front and rear apart, not their mean.
        near(&found["deck"], DECKS[i], 0.0005);
        near(&found["crown"], CROWNS[i], 0.3);
        assert!(
            found["compression"]["u"].as_f64().expect("known") > 0.0,
            "{found}"
        );
        let ratio = found["compression"]["value"].as_f64().expect("known");
        assert!((10.0..11.0).contains(&ratio), "{ratio}");
    }
    for number in [2, 4, 5, 6, 7, 8] {
        assert_eq!(
            cylinder(report, number)["compression"],
            Value::Null,
            "never filled in"
        );
    }
    // A foot of the bridge stood on grit at piston 3: it moved front and rear apart by 0.006 in.
    let points = &cylinder(report, 3)["deck_points"];
    let apart = |point: &str| points[point]["value"].as_f64().expect("it was measured");
    let apart = apart("front") - apart("rear");
    assert!((apart - 0.006).abs() <= 0.0007, "{points}");
    let found = findings(report);
    let has = |spot: &str, kind: &str| found.contains(&(spot.to_owned(), kind.to_owned()));
    assert!(has("chamber/2", "missing"), "{found:?}");
    assert!(
        !found.iter().any(|(_, kind)| kind == "outlier"),
        "{found:?}"
    );
    near(&report["inputs"]["gasket_thickness"], GASKET_IN, 0.0005);
    let flow = report["flow"].as_array().expect("flow");
    assert_eq!(flow.len(), 1, "one port at one lift");
    assert_eq!(
        (&flow[0]["cylinder"], &flow[0]["port"]),
        (&1.into(), &"intake".into())
    );
    near(&flow[0]["lift"], 0.3, 1e-9);
    near(&flow[0]["test_pressure"], TEST_IN_H2O, 0.001);
    near(&flow[0]["metering_pressure"], METERING_IN_H2O, 0.001);
}

/// Each gauge's stream lies in the job's folder, says what it is, and can be played.
#[track_caller]
fn recorded(shop: &Shop, gauges: &[&str]) {
    for gauge in gauges {
        let file = shop.job().join(format!("streams/{gauge}-001.ndjson"));
        let stream = std::fs::read(&file).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
        let stream = Stream::parse(&stream).expect("a sound stream");
        assert_eq!(stream.header.gauge.as_deref(), Some(*gauge));
        let origin = serde_json::to_value(stream.header.origin).expect("JSON");
        assert_eq!(
            origin, "synthesised",
            "behind a pseudo-terminal stands no gauge"
        );
        let ran = shop
            .program
            .run(&["play", file.to_str().unwrap(), "--json"])
            .good();
        assert!(ran.out.lines().count() > 20, "{gauge}: {}", ran.err);
    }
}
