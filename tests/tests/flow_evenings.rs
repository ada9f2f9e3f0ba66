//! Evenings at the flow bench: the pressures of each lift as a manometer shows them while they are
//! set, rise and hold. No mean is taken of what does not hold, and each lift keeps its own.

#![cfg(unix)]

use std::sync::{Arc, Mutex};

use benchhand_testbed::SplitMix64;
use benchhand_testbed::gauge::encode::modbus_reply;
use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::{Daemon, RunningProgram};
use benchhand_tests::shop::Shop;
use serde_json::Value;

const PASCAL_PER_INCH_OF_WATER: f64 = 249.088_91;
const TEST: f64 = 28.0;
/// Metering pressures of three lifts of one port, near its limit: each lift adds little.
const METERING: [f64; 3] = [4.00, 4.24, 4.45];
const TICK_S: f64 = 0.1;

struct FlowEvening {
    shop: Shop,
    station: DrivenStation,
    shows: Arc<Mutex<[f64; 2]>>,
    daemon: Daemon,
    dice: SplitMix64,
    /// The share by which the pressures surge.
    surge: f64,
    swell: f64,
    _manometer: DrivenGauge,
    _measuring: RunningProgram,
}

impl FlowEvening {
    fn new() -> FlowEvening {
        let shop = Shop::with_job();
        let (station, shows) = (DrivenStation::new(), Arc::new(Mutex::new([0.0, 0.0])));
        let shown = Arc::clone(&shows);
        let manometer = station.plug_in_answering("manometer", 8, move |_| {
            let pascal = |inches: f64| ((inches * PASCAL_PER_INCH_OF_WATER) as f32).to_be_bytes();
            let both = shown.lock().expect("not poisoned").map(pascal);
            modbus_reply(1, 4, &both.concat())
        });
        let daemon = station.serve(&shop.program);
        let mut set = vec!["gauge", "set", "manometer", "--u", "8 Pa"];
        set.extend([
            "--profile",
            "modbus-pressure-pair",
            "--port",
            manometer.path(),
        ]);
        daemon.program.json(&set);
        daemon.api.wait_for_port("manometer");
        let lifts = "lift=0.400in,0.450in,0.500in";
        let mut args = vec!["measure", "v8", "flow", "--cylinders", "1"];
        args.extend(["--list", lifts, "--json"]);
        let mut measuring = daemon.program.start(&args);
        measuring.wait("the route runs", |event| {
            event["progress"]["running"] == true
        });
        FlowEvening {
            shop,
            station,
            shows,
            daemon,
            dice: SplitMix64::new(11),
            surge: 0.004,
            swell: 0.0,
            _manometer: manometer,
            _measuring: measuring,
        }
    }

    /// The manometer shows these pressures, in H2O, as they run over the seconds from now.
    fn run(&mut self, seconds: f64, pressures: impl Fn(f64) -> [f64; 2]) {
        for tick in 0..(seconds / TICK_S) as usize {
            let draw = (self.dice.draw() >> 11) as f64 / (1u64 << 53) as f64 - 0.5;
            self.swell = 0.9 * self.swell + 1.5 * draw * self.surge;
            let shown = pressures(tick as f64 * TICK_S).map(|p| p * (1.0 + self.swell));
            *self.shows.lock().expect("not poisoned") = shown;
            self.station.pass(TICK_S);
        }
    }

    fn hold(&mut self, seconds: f64, metering: f64) {
        self.run(seconds, |_| [TEST, metering]);
    }

    /// The metering pressure nears its level with this time constant; the test pressure holds.
    fn climb(&mut self, seconds: f64, (from, to): (f64, f64), time: f64) {
        self.run(seconds, |t| [TEST, to + (from - to) * (-t / time).exp()]);
    }

    fn asks(&self) -> String {
        let live = self.daemon.api.get("state").good();
        let question = &live["routes"][0]["asked"]["text"];
        question.as_str().unwrap_or_default().to_owned()
    }

    /// Each spot with its metering pressure, in H2O.
    fn kept(&self) -> Vec<(String, f64)> {
        // The list of readings has their main channel only; the journal has all of each.
        let journal = self.shop.program.data().join("jobs/v8/journal.ndjson");
        let journal = std::fs::read_to_string(journal).expect("a journal");
        let facts: Vec<Value> = journal
            .lines()
            .map(|line| serde_json::from_str(line).expect("JSON"))
            .collect();
        let one = |reading: &Value| {
            let fact = facts.iter().find(|fact| fact["seq"] == reading["id"]);
            let parts = fact.expect("its fact")["parts"].as_array().expect("parts");
            let metering = parts.iter().find(|part| part["role"] == "metering");
            let pascal = metering.expect("a metering pressure")["value"].as_f64();
            let spot = reading["spot"].as_str().expect("a spot").to_owned();
            (spot, pascal.expect("a number") / PASCAL_PER_INCH_OF_WATER)
        };
        self.shop.readings().iter().map(one).collect()
    }

    #[track_caller]
    fn has(&self, wanted: &[f64]) {
        let kept = self.kept();
        let asks = self.asks();
        assert_eq!(kept.len(), wanted.len(), "{kept:?}, asked {asks:?}");
        for ((spot, found), wanted) in kept.iter().zip(wanted) {
            let off = (found / wanted - 1.0).abs();
            assert!(off < 0.01, "{spot}: {found} for {wanted}");
        }
    }
}

#[test]
fn a_metering_pressure_that_still_climbs_is_waited_for() {
    for time in [3.0, 5.0, 8.0] {
        let mut evening = FlowEvening::new();
        evening.run(4.0, |_| [0.0, 0.0]);
        evening.climb(70.0, (0.5 * METERING[0], METERING[0]), time);
        evening.has(&[METERING[0]]);
    }
}

#[test]
fn a_metering_pressure_that_never_holds_is_asked_about() {
    let mut evening = FlowEvening::new();
    evening.run(4.0, |_| [0.0, 0.0]);
    evening.run(70.0, |t| [TEST, METERING[0] * (1.0 + 0.003 * t)]);
    assert!(evening.asks().contains("climbs"), "{:?}", evening.asks());
    evening.has(&[]);
}

#[test]
fn a_lift_that_changes_the_metering_pressure_by_a_twentieth_is_the_next_one() {
    let mut evening = FlowEvening::new();
    evening.run(4.0, |_| [0.0, 0.0]);
    for metering in METERING {
        evening.hold(40.0, metering);
    }
    evening.has(&METERING);
}

/// The blower's level wanders; the valve stays.
#[test]
fn a_blower_that_wanders_is_no_next_lift() {
    let mut evening = FlowEvening::new();
    evening.run(4.0, |_| [0.0, 0.0]);
    evening.hold(20.0, METERING[0]);
    let wanders = |t: f64| 1.0 + 0.04 * (t / 12.0).sin();
    evening.run(60.0, |t| [TEST * wanders(t), METERING[0] * wanders(t)]);
    evening.has(&METERING[..1]);
}

/// A lift that changes nothing can be told by nobody; whoever waits is told so, and `take` goes on.
#[test]
fn a_lift_that_changes_nothing_is_told_and_taken_on_request() {
    let mut evening = FlowEvening::new();
    let events = evening.daemon.api.events(None);
    evening.run(4.0, |_| [0.0, 0.0]);
    evening.hold(20.0, METERING[0]);
    evening.hold(50.0, 1.005 * METERING[0]);
    let mut events = events;
    events.wait("what to do", |event| {
        let text = event["text"].as_str().unwrap_or_default();
        text.contains("take if it is set")
    });
    evening.daemon.program.json(&["steer", "v8", "take"]);
    evening.hold(20.0, 1.005 * METERING[0]);
    assert!(evening.kept().len() == 2 || !evening.asks().is_empty());
}

#[test]
fn going_back_measures_the_lift_anew_without_a_change() {
    let mut evening = FlowEvening::new();
    evening.run(4.0, |_| [0.0, 0.0]);
    evening.hold(20.0, METERING[0]);
    evening.daemon.program.json(&["steer", "v8", "back"]);
    evening.hold(20.0, METERING[0]);
    evening.hold(40.0, METERING[1]);
    let live: Vec<(String, f64)> = evening.kept();
    let spots: Vec<&str> = live.iter().map(|(spot, _)| spot.as_str()).collect();
    assert!(
        spots.ends_with(&["flow/1/intake/10.16mm", "flow/1/intake/11.43mm"]),
        "{live:?}"
    );
}

#[test]
fn a_manometer_off_its_zero_with_the_blower_off_gives_nothing() {
    let mut evening = FlowEvening::new();
    evening.run(60.0, |_| [0.15, 0.1]);
    evening.has(&[]);
    assert_eq!(evening.asks(), "");
}

#[test]
fn a_blower_that_spins_up_slowly_does_not_pulse() {
    let mut evening = FlowEvening::new();
    evening.run(4.0, |_| [0.0, 0.0]);
    let up = |t: f64| 1.0 - (-t / 6.0_f64).exp();
    evening.run(75.0, |t| [TEST * up(t), METERING[0] * up(t)]);
    assert_eq!(evening.asks(), "");
    evening.has(&METERING[..1]);
}
