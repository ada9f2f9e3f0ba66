//! A whole route of eight chambers, twice each, over a pseudo-terminal with no key touched: once
//! in peace, once with the daemon killed half-way, once with the gauge pulled out half-way.

#![cfg(unix)]

use benchhand_tests::api::ApiEvents;
use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::{Daemon, RunningProgram};
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use serde_json::Value;

/// The order of the banks in which the chambers are visited, with what each of them holds, cc.
const CHAMBERS: [(u32, f64); 8] = [
    (1, 64.03),
    (3, 64.10),
    (5, 63.96),
    (7, 64.06),
    (2, 63.99),
    (4, 64.93),
    (6, 64.01),
    (8, 64.08),
];

/// One after the other, in two rounds: cylinder, and what is poured.
fn pours() -> Vec<(u32, f64)> {
    let second = CHAMBERS.iter().map(|(cylinder, cc)| (*cylinder, cc + 0.02));
    CHAMBERS.iter().copied().chain(second).collect()
}

/// Pours one chamber and fills the burette again.
fn pour(burette: &DrivenGauge, number: usize) {
    let hand = Hand::at_burette(number as u64).pour(pours()[number].1);
    burette.play(&hand.refill().rest(1.0).stream());
}

struct BuretteShop {
    shop: Shop,
    station: DrivenStation,
    /// Where the shop's burette is always found, whatever the system calls its port.
    port: String,
}

impl BuretteShop {
    fn new() -> BuretteShop {
        let shop = Shop::with_job();
        let port = shop.folder().join("burette-port");
        let port = port.to_str().expect("UTF-8").to_owned();
        BuretteShop {
            shop,
            station: DrivenStation::new(),
            port,
        }
    }

    fn plug_in(&self) -> DrivenGauge {
        let burette = self.station.plug_in("burette");
        let _ = std::fs::remove_file(&self.port);
        std::os::unix::fs::symlink(burette.path(), &self.port).expect("a link");
        burette
    }

    fn serve(&self) -> Daemon {
        self.station.serve(&self.shop.program)
    }

    fn set_up(&self, daemon: &Daemon) {
        let mut args = vec!["gauge", "set", "burette", "--profile", "ascii-volume"];
        args.extend(["--port", &self.port, "--u", "0.03 cc"]);
        args.extend(["--capacity", "100 cc", "--counts", "up"]);
        daemon.program.json(&args);
        daemon.api.wait_for_port("burette");
    }

    /// Every chamber was taken twice, in order, each right.
    #[track_caller]
    fn all_is_there(&self) {
        let readings = self.shop.readings();
        let spots: Vec<_> = readings
            .iter()
            .map(|r| r["spot"].as_str().unwrap())
            .collect();
        let wanted: Vec<_> = pours()
            .iter()
            .map(|(n, _)| format!("chamber/{n}"))
            .collect();
        assert_eq!(spots, wanted);
        for (reading, (cylinder, poured)) in readings.iter().zip(pours()) {
            let value = reading["figure"]["value"].as_f64().unwrap();
            assert!(
                (value - poured).abs() <= 0.03,
                "chamber {cylinder}: {value}, not {poured}"
            );
            assert_eq!(reading["source"], "captured");
        }
        let verified = self.shop.program.json(&["job", "verify", "v8"]);
        assert_eq!(verified["broken"], Value::Null);
        let again = self.shop.program.json(&["job", "recompute", "v8"]);
        for reading in again["readings"].as_array().unwrap() {
            // What was said last before a kill may not have been written to its stream.
            assert!(
                reading["verdict"] == "same" || reading["verdict"] == "no stream",
                "{reading}"
            );
        }
    }
}

/// `measure` as a builder starts it, with the spots where readings were taken.
struct Measuring {
    running: RunningProgram,
    events: ApiEvents,
}

fn measure(daemon: &Daemon) -> Measuring {
    let events = daemon.api.events(None);
    let mut running = daemon
        .program
        .start(&["measure", "v8", "chambers", "--json"]);
    running.wait("the route runs", |event| {
        event["progress"]["running"] == true
    });
    Measuring { running, events }
}

impl Measuring {
    /// The route must end by itself.
    #[track_caller]
    fn ends(mut self) {
        self.events.wait("the end of the route", |event| {
            event["event"] == "route" && event["progress"]["running"] == false
        });
        self.running.end().good();
    }
}

#[test]
fn eight_chambers_twice_each_with_no_key_touched() {
    let burette_shop = BuretteShop::new();
    let burette = burette_shop.plug_in();
    let daemon = burette_shop.serve();
    burette_shop.set_up(&daemon);
    let measuring = measure(&daemon);
    for number in 0..16 {
        pour(&burette, number);
    }
    measuring.ends();
    burette_shop.all_is_there();
}

#[test]
fn the_same_with_the_daemon_killed_half_way_and_started_again() {
    let burette_shop = BuretteShop::new();
    let burette = burette_shop.plug_in();
    let daemon = burette_shop.serve();
    burette_shop.set_up(&daemon);
    let mut measuring = measure(&daemon);
    for number in 0..9 {
        pour(&burette, number);
    }
    // The ninth is held: shown and kept, though it may yet be revised.
    let ninth = |event: &Value| {
        event["event"] == "reading"
            && event["reading"]["spot"] == "chamber/1"
            && event["reading"]["round"] == 2
    };
    measuring.events.wait("the ninth reading", ninth);
    daemon.kill();
    burette.let_go();
    let ran = measuring.running.end();
    assert_eq!(ran.code, 14, "{}", ran.err);
    assert!(
        ran.err.contains("benchhand measure v8 chambers"),
        "it says how: {}",
        ran.err
    );

    let daemon = burette_shop.serve();
    let shown = burette_shop.shop.program.json(&["job", "show", "v8"]);
    let stands = &shown["route"];
    assert_eq!(
        (&stands["running"], &stands["done"]),
        (&false.into(), &false.into())
    );
    assert_eq!(
        stands["stops"][stands["at"].as_u64().unwrap() as usize]["spot"],
        "chamber/3"
    );
    daemon.api.wait_for_port("burette");
    let measuring = measure(&daemon);
    for number in 9..16 {
        pour(&burette, number);
    }
    measuring.ends();
    burette_shop.all_is_there();
}

#[test]
fn the_same_with_the_burette_pulled_out_half_way_and_back_under_another_name() {
    let burette_shop = BuretteShop::new();
    let burette = burette_shop.plug_in();
    let daemon = burette_shop.serve();
    burette_shop.set_up(&daemon);
    let mut measuring = measure(&daemon);
    for number in 0..8 {
        pour(&burette, number);
    }
    burette.pull_out();
    let lost = measuring.events.wait("the burette is gone", |event| {
        event["event"] == "link" && event["gauge"]["link"] == "lost"
    });
    assert_ne!(lost["gauge"]["todo"], "", "{lost}");
    let said = measuring
        .events
        .wait("it is said", |event| event["event"] == "say");
    assert_eq!(said["said_as"], "gauge");
    assert!(said["text"].as_str().unwrap().contains("burette"), "{said}");
    let kept = burette_shop.shop.journal();
    let stands = daemon.api.get("state").good();
    assert_eq!(stands["routes"][0]["running"], true, "the route waits");

    let burette = burette_shop.plug_in();
    daemon.api.wait_for_port("burette");
    let spots = |journal: &[u8]| String::from_utf8_lossy(journal).matches("\"spot\"").count();
    for number in 8..16 {
        if number == 8 {
            // A value from before the loss never becomes the next spot's.
            assert_eq!(spots(&burette_shop.shop.journal()), spots(&kept));
        }
        pour(&burette, number);
    }
    measuring.ends();
    burette_shop.all_is_there();
}

#[test]
fn a_chamber_that_was_passed_over_stays_so_after_the_daemon_was_killed() {
    let burette_shop = BuretteShop::new();
    let burette = burette_shop.plug_in();
    let daemon = burette_shop.serve();
    burette_shop.set_up(&daemon);
    let measuring = measure(&daemon);
    daemon.program.json(&["steer", "v8", "skip"]);
    daemon.kill();
    burette.let_go();
    assert_eq!(measuring.running.end().code, 14);

    let stands = |progress: &Value| {
        let at = progress["at"].as_u64().expect("a stop is next") as usize;
        assert_eq!(progress["stops"][0]["state"], "skipped");
        assert_eq!(progress["stops"][at]["spot"], "chamber/3");
    };
    let shown = burette_shop.shop.program.json(&["job", "show", "v8"]);
    stands(&shown["route"]);
    let daemon = burette_shop.serve();
    daemon.api.wait_for_port("burette");
    let measuring = measure(&daemon);
    let shown = daemon.program.json(&["job", "show", "v8"]);
    stands(&shown["route"]);
    daemon.program.json(&["steer", "v8", "end"]);
    measuring.ends();
}
