//! The executable's own `serve` on true time: held up by stops of 50 to 500 ms as a busy machine
//! holds it up, and killed amid a route. What it keeps is right, or it keeps nothing.
//!
//! These are the only tests of live values that run on true time; the gauges live in this
//! process, the daemon is one of its own.

#![cfg(target_os = "linux")]

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use benchhand_testbed::SplitMix64;
use benchhand_tests::program::{Daemon, RunningProgram};
use benchhand_tests::shop::{Shop, example};
use benchhand_tests::signals::Hand;
use benchhand_tests::true_time::TrueTimeGauge;
use rustix::process::Signal;
use serde_json::Value;

const SEED: u64 = 20_260_302;

/// What the dial shows on the deck, mm: it is zeroed there.
const ZERO_MM: f64 = 10.0;
const CHAMBER_CC: f64 = 64.03;
/// How far the piston stays below the deck at its top, front and rear, mm.
const DECKS_MM: [f64; 2] = [0.20, 0.25];

#[track_caller]
fn set_up(daemon: &Daemon, gauge: &str, profile: &str, port: &str) {
    let mut set = vec!["gauge", "set", gauge, "--profile", profile];
    set.extend(["--port", port]);
    if gauge == "burette" {
        set.extend(["--capacity", "100 cc", "--counts", "up"]);
    }
    daemon.program.json(&set);
    daemon.api.wait_for_port(gauge);
}

#[track_caller]
fn measure(daemon: &Daemon, job: &str, route: &[&str]) -> RunningProgram {
    let mut args = vec!["measure", job];
    args.extend(route);
    args.push("--json");
    let mut running = daemon.program.start(&args);
    running.wait("the route runs", |event| {
        event["progress"]["running"] == true
    });
    running
}

/// A piston over its top and back, at 9 degrees of crank a second on a crank radius of 46 mm.
fn over_the_top(hand: Hand, deck_mm: f64) -> Hand {
    let shown = |degrees: f64| ZERO_MM - deck_mm - 46.0 * (1.0 - degrees.to_radians().cos());
    let steps = (-25..=25).chain((-25..=25).rev());
    steps.fold(hand, |hand, step| hand.show(shown(0.9 * f64::from(step))))
}

/// Stops the daemon for 50 to 500 ms at seeded moments until it is told to end; how often.
fn hold_up(daemon: &Daemon, over: &AtomicBool) -> usize {
    let mut dice = SplitMix64::new(SEED);
    let mut between = |least: u64, most: u64| {
        std::thread::sleep(Duration::from_millis(least + dice.draw() % (most - least)));
    };
    let mut stops = 0;
    while !over.load(Ordering::Acquire) {
        between(100, 900);
        daemon.tell(Signal::STOP);
        between(50, 500);
        daemon.tell(Signal::CONT);
        stops += 1;
    }
    stops
}

/// What a job keeps: spot and value of each reading that counts.
#[track_caller]
fn kept(shop: &Shop, job: &str) -> Vec<(String, f64)> {
    let shown = shop.program.json(&["job", "show", job]);
    let all = shown["readings"].as_array().expect("readings").iter();
    let counts = |r: &&Value| r["state"] == "final" || r["state"] == "held";
    let pair = |r: &Value| {
        let spot = r["spot"].as_str().expect("a spot").to_owned();
        (spot, r["figure"]["value"].as_f64().expect("a value"))
    };
    all.filter(counts).map(pair).collect()
}

#[test]
fn a_daemon_that_is_held_up_keeps_what_one_that_is_not_would_keep_or_nothing() {
    let shop = Shop::with_job();
    let engine = example("invented-v8.toml");
    let engine = engine.to_str().expect("UTF-8");
    shop.program.json(&["job", "new", "tops", engine]);
    let (burette, dial) = (TrueTimeGauge::plug_in(), TrueTimeGauge::plug_in());
    let daemon = shop.program.serve(&[]);
    set_up(&daemon, "burette", "ascii-volume", burette.path());
    set_up(&daemon, "dial", "ascii-length", dial.path());
    dial.play(&Hand::at_dial(1).from(ZERO_MM).rest(4.0).stream());
    daemon
        .program
        .json(&["gauge", "zero", "dial", "--job", "tops", "--u", "0.001 mm"]);
    let one = ["chambers", "--cylinders", "1", "--rounds", "1"];
    let routes = [
        measure(&daemon, "v8", &one),
        measure(&daemon, "tops", &["deck", "--cylinders", "1"]),
    ];

    let pour = Hand::at_burette(3).pour(CHAMBER_CC).refill().rest(2.0);
    let away = |hand: Hand| hand.show(2.0).rest(1.0);
    let over_both = DECKS_MM.iter().fold(Hand::at_dial(4), |hand, deck| {
        over_the_top(away(hand), *deck)
    });
    let over = AtomicBool::new(false);
    let stops = std::thread::scope(|scope| {
        let holding = scope.spawn(|| hold_up(&daemon, &over));
        let playing = [
            burette.begin(&pour.stream()),
            dial.begin(&away(over_both).stream()),
        ];
        for one in playing {
            one.recv().expect("it is plugged in").expect("it plays");
        }
        over.store(true, Ordering::Release);
        holding.join().expect("the daemon goes on")
    });
    assert!(stops > 10, "it was held up only {stops} times");
    // What was handed over is taken in before this is answered.
    daemon.api.get("state").good();
    daemon.kill();
    drop(routes);

    let (pours, tops) = (kept(&shop, "v8"), kept(&shop, "tops"));
    let right = |kept: &[(String, f64)], spots: &[(&str, f64)], within: f64| {
        kept.len() <= spots.len()
            && kept.iter().all(|(spot, value)| {
                let at = spots.iter().find(|(name, _)| name == spot);
                at.is_some_and(|(_, truth)| (value - truth).abs() <= within)
            })
    };
    assert!(
        right(&pours, &[("chamber/1", CHAMBER_CC)], 0.03),
        "{pours:?}"
    );
    let decks = [("deck/1/front", DECKS_MM[0]), ("deck/1/rear", DECKS_MM[1])];
    assert!(right(&tops, &decks, 0.002), "{tops:?}");
    // Refusing everything would be no way out.
    assert!(!pours.is_empty() && !tops.is_empty(), "{pours:?} {tops:?}");
}
