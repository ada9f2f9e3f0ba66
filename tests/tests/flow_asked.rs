//! At the flow bench: exchanged hoses, a valve at another lift and another orifice than the stated
//! one are asked about, and nothing of them is kept in silence.
//!
//! The pressures are those of the invented engine's ports (`daemon/src/demo/scenario.rs`) and what
//! follows from them: through half the orifice's area the same flow drops four times the pressure.

#![cfg(unix)]

use std::sync::{Arc, Mutex};

use benchhand_testbed::gauge::encode::modbus_reply;
use benchhand_tests::driven_station::DrivenStation;
use benchhand_tests::program::Daemon;
use benchhand_tests::shop::{Shop, example};
use serde_json::Value;

const PASCAL_PER_INCH_OF_WATER: f64 = 249.088_91;
const TEST: f64 = 28.0;
const METERING: [[f64; 3]; 2] = [[0.58, 2.22, 4.35], [0.57, 2.15, 4.21]];
/// An orifice of half the area of the stated one, which passes 240 cfm at 8 inH2O.
const SMALL: &str =
    "\n[flow.orifices.small]\nflow = \"120 cfm +- 2 cfm\"\nat = \"8 inH2O\"\nair = \"1.2 kg/m3\"\n";

/// A flow bench whose two pressures the test sets.
struct FlowBench {
    station: DrivenStation,
    shows: Arc<Mutex<[f64; 2]>>,
    daemon: Daemon,
}

impl FlowBench {
    /// The blower off, then so much pressure, in H2O, for as long as a reading takes.
    fn blow(&self, test: f64, metering: f64) {
        for pressures in [[0.0, 0.0], [test, metering]] {
            *self.shows.lock().expect("not poisoned") = pressures;
            self.station.pass(20.0);
        }
    }

    /// What the route asks now, in words; empty where it asks nothing.
    fn asks(&self) -> String {
        let live = self.daemon.api.get("state").good();
        let question = &live["routes"][0]["asked"]["text"];
        question.as_str().unwrap_or_default().to_owned()
    }

    #[track_caller]
    fn steer(&self, control: &str) {
        self.daemon.program.json(&["steer", "v8", control]);
    }
}

fn kept(shop: &Shop) -> Vec<String> {
    let spot = |one: &Value| one["spot"].as_str().unwrap_or_default().to_owned();
    shop.readings().iter().map(spot).collect()
}

#[test]
fn what_was_done_wrong_at_the_flow_bench_is_asked_about() {
    let shop = Shop::new();
    let engine = std::fs::read_to_string(example("invented-v8.toml")).expect("an example");
    let engine = shop.file("engine.toml", &(engine + SMALL));
    shop.program.json(&["job", "new", "v8", &engine]);
    let (station, shows) = (DrivenStation::new(), Arc::new(Mutex::new([0.0, 0.0])));
    let shown = Arc::clone(&shows);
    let gauge = station.plug_in_answering("manometer", 8, move |_| {
        let pascal = |inches: f64| ((inches * PASCAL_PER_INCH_OF_WATER) as f32).to_be_bytes();
        let both = shown.lock().expect("not poisoned").map(pascal);
        modbus_reply(1, 4, &both.concat())
    });
    let daemon = station.serve(&shop.program);
    let set = [
        "gauge",
        "set",
        "manometer",
        "--profile",
        "modbus-pressure-pair",
    ];
    let set: Vec<&str> = set
        .into_iter()
        .chain(["--port", gauge.path(), "--u", "8 Pa"])
        .collect();
    daemon.program.json(&set);
    daemon.api.wait_for_port("manometer");
    let lifts = "lift=0.100in,0.200in,0.300in";
    let args = [
        "measure",
        "v8",
        "flow",
        "--cylinders",
        "1,2",
        "--list",
        lifts,
        "--json",
    ];
    let mut measuring = daemon.program.start(&args);
    measuring.wait("the route runs", |event| {
        event["progress"]["running"] == true
    });
    let at = FlowBench {
        station,
        shows,
        daemon,
    };

    // Nothing was measured yet: the usual test pressure is the reference.
    at.blow(METERING[0][0], TEST);
    assert!(at.asks().contains("hoses exchanged"), "{:?}", at.asks());
    assert_eq!(kept(&shop), [""; 0], "nothing was kept of it");
    at.steer("again");
    at.blow(TEST, METERING[0][0]);
    assert_eq!((at.asks().as_str(), kept(&shop).len()), ("", 1));
    // The valve of the first port was not opened further: no other port tells.
    at.blow(TEST, METERING[0][0]);
    assert!(at.asks().contains("at this lift?"), "{:?}", at.asks());
    assert_eq!(kept(&shop).len(), 1);
    at.steer("again");
    at.blow(TEST, METERING[0][1]);
    assert_eq!((at.asks().as_str(), kept(&shop).len()), ("", 2));
    // The valve was left at 0.100 in.
    at.blow(TEST, METERING[0][0]);
    assert!(at.asks().contains("is it this lift"), "{:?}", at.asks());
    assert_eq!(kept(&shop).len(), 2);
    at.steer("again");
    at.blow(TEST, METERING[0][2]);
    assert_eq!((at.asks().as_str(), kept(&shop).len()), ("", 3));

    at.blow(TEST, METERING[1][0]);
    assert_eq!((at.asks().as_str(), kept(&shop).len()), ("", 4));
    // The small orifice is on.
    at.blow(TEST, 4.0 * METERING[1][1]);
    assert!(at.asks().contains("another orifice"), "{:?}", at.asks());
    assert_eq!(kept(&shop).len(), 4);
    // The blower goes weaker, the port is the same: nothing to ask.
    at.steer("again");
    at.blow(0.7 * TEST, 0.7 * METERING[1][1]);
    assert!(!at.asks().contains("its flow"), "{:?}", at.asks());
    at.steer("end");
    measuring.end();
    at.daemon.stop();
}

/// The same from a notebook: rows of these ports, the pressures of one of them as `wrong` has it.
#[test]
fn what_was_written_down_wrong_at_the_flow_bench_is_asked_about_when_it_is_imported() {
    let rows = |wrong: Option<(usize, usize, [f64; 2])>| {
        let mut text = "spot,value,unit\n".to_owned();
        for (port, pressures) in METERING.iter().enumerate() {
            for (step, metering) in pressures.iter().enumerate() {
                let [test, metering] = match wrong {
                    Some((p, s, pair)) if (p, s) == (port, step) => pair,
                    _ => [TEST, *metering],
                };
                let spot = format!("flow/{}/intake/0.{}00in", port + 1, step + 1);
                text += &format!("{spot}/test,{test},inH2O\n{spot}/metering,{metering},inH2O\n");
            }
        }
        text
    };
    for (wrong, told) in [
        (None, ""),
        (Some((0, 2, [METERING[0][2], TEST])), "hoses exchanged"),
        (Some((0, 2, [TEST, METERING[0][0]])), "is it this lift"),
        (
            Some((1, 1, [TEST, 4.0 * METERING[1][1]])),
            "another orifice",
        ),
    ] {
        let shop = Shop::new();
        let engine = std::fs::read_to_string(example("invented-v8.toml")).expect("an example");
        let engine = shop.file("engine.toml", &(engine + SMALL));
        shop.program.json(&["job", "new", "v8", &engine]);
        let file = shop.file("flow.csv", &rows(wrong));
        let ran = shop.program.run(&["import", "v8", &file]);
        if told.is_empty() {
            ran.good();
            continue;
        }
        assert_eq!(ran.code, 5, "{told}: {}{}", ran.out, ran.err);
        assert!(ran.err.contains(told), "{told}: {}", ran.err);
        assert_eq!(kept(&shop), [""; 0], "nothing was kept of it");
        shop.program.run(&["import", "v8", &file, "--sure"]).good();
        assert_eq!(kept(&shop).len(), 6, "a person is sure");
    }
}

/// A bench that shows its flow itself is asked about like one that shows two pressures: against what the
/// same port showed before, by whichever of them, and against the other cylinders.
#[test]
fn a_flow_that_is_typed_in_its_own_unit_is_asked_about() {
    let shop = Shop::with_job();
    let enter = |spot: &str, value: &str| {
        let ran = shop.program.run(&["enter", "v8", spot, value]);
        (ran.code == 0, ran.err)
    };
    let (one, two) = ("flow/1/intake/0.3in", "flow/2/intake/0.3in");
    assert!(enter(one, "28.0 inH2O and 3.70 inH2O").0);
    // 240 cfm at 8 inH2O are 163 at 3.70.
    assert!(enter(one, "28.0 inH2O and 163 cfm").0);
    for (spot, wrong) in [(one, "250 cfm"), (two, "500 cfm")] {
        let (taken, said) = enter(spot, &format!("28.0 inH2O and {wrong}"));
        assert!(!taken && said.contains("its flow is"), "{spot}: {said}");
    }
    assert!(enter(two, "28.0 inH2O and 158 cfm").0);
}
