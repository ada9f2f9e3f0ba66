//! A deck that is measured over two sessions: the zero is asked anew, and what was checked around
//! the readings stands in the report.

#![cfg(unix)]

use benchhand_tests::api::ApiEvents;
use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::Daemon;
use benchhand_tests::shop::{Shop, findings};
use benchhand_tests::signals::Hand;

/// Where the dial stands on its zero face, mm.
const FACE: f64 = 10.0;

struct Deck {
    shop: Shop,
    station: DrivenStation,
    dial: DrivenGauge,
    daemon: Daemon,
}

impl Deck {
    fn new() -> Deck {
        let shop = Shop::with_job();
        let station = DrivenStation::new();
        let dial = station.plug_in("dial");
        let daemon = station.serve(&shop.program);
        let set = ["gauge", "set", "dial", "--profile", "ascii-length"];
        let set = [&set[..], &["--port", dial.path(), "--u", "0.002 mm"]].concat();
        daemon.program.json(&set);
        daemon.api.wait_for_port("dial");
        Deck {
            shop,
            station,
            dial,
            daemon,
        }
    }

    /// Lifts the dial and sets it down where it shows `at`.
    fn set_down(&self, seed: u64, from: f64, at: f64) {
        let hand = Hand::at_dial(seed).from(from).rest(0.5).go_to(4.0, 4.0);
        self.dial
            .play(&hand.rest(0.5).go_to(at, 4.0).rest(6.0).stream());
    }

    fn zero(&self, seed: u64) {
        self.set_down(seed, 4.0, FACE);
        let zero = ["gauge", "zero", "dial", "--job", "v8", "--u", "0.002 mm"];
        self.daemon.program.json(&zero);
    }

    /// Checks that the zero comes back; the exit code.
    fn check(&self) -> i32 {
        let check = ["gauge", "check", "dial", "--job", "v8"];
        self.daemon.program.run(&check).code
    }

    fn hears(&self, events: &mut ApiEvents, words: &str) {
        let what = format!("{words:?} is said");
        events.wait(&what, |event| {
            event["event"] == "say" && event["text"].as_str().unwrap().contains(words)
        });
    }

    /// Kind and text of the findings on zeros and gauges.
    fn found(&self) -> Vec<(String, String)> {
        let report = self.shop.program.json(&["report", "v8"]);
        let all = report["findings"].as_array().unwrap().iter();
        let of = |f: &serde_json::Value| {
            let text = |key: &str| f[key].as_str().unwrap().to_owned();
            (text("kind"), text("text"))
        };
        let zeros = all.map(of);
        zeros
            .filter(|(kind, _)| kind == "marked" || kind == "unchecked")
            .collect()
    }
}

const ROUTE: [&str; 5] = ["measure", "v8", "deck-sides", "--cylinders", "1"];

#[test]
fn a_zero_of_the_day_before_is_asked_anew_before_a_route_and_on_the_way() {
    let deck = Deck::new();
    deck.zero(1);
    deck.station.comes_back_after(20);
    // Before anything is greased.
    let refused = deck.daemon.program.run(&ROUTE);
    assert_ne!(refused.code, 0);
    for words in [
        "dial was zeroed 20 hours ago",
        "benchhand gauge zero dial --job v8",
    ] {
        assert!(refused.err.contains(words), "{}", refused.err);
    }

    // Zeroed anew it begins, with what is to be checked.
    deck.zero(2);
    let mut events = deck.daemon.api.events(None);
    let running = deck.daemon.program.start(&ROUTE);
    deck.hears(
        &mut events,
        "second point at zero: dial elsewhere on its zero face",
    );
    deck.set_down(3, FACE, 9.5);
    // 0.5 mm, on an engine in inches.
    deck.hears(&mut events, "deck 1 thrust 19.68 thou in the hole");
    // The night passes while the route runs.
    deck.station.comes_back_after(12);
    deck.set_down(4, 9.5, 9.4);
    deck.hears(
        &mut events,
        "but dial was zeroed 12 hours ago. zero it, or keep",
    );
    assert_eq!(deck.shop.readings().len(), 1, "nothing is kept in silence");
    deck.daemon.program.json(&["steer", "v8", "keep"]);
    deck.hears(&mut events, "closing zero: dial back on its zero face");
    assert_eq!(running.end().code, 0);
    let (kind, text) = &deck.found()[0];
    assert_eq!(kind, "marked");
    assert!(text.contains("dial was not zeroed anew since"), "{text}");
}

#[test]
fn a_closing_zero_that_does_not_come_back_is_a_finding_and_one_that_does_is_none() {
    let deck = Deck::new();
    deck.zero(1);
    let mut events = deck.daemon.api.events(None);
    let running = deck.daemon.program.start(&ROUTE);
    deck.hears(&mut events, "second point at zero");
    deck.set_down(2, FACE, 9.5);
    deck.set_down(3, 9.5, 9.4);
    deck.hears(&mut events, "closing zero");
    assert_eq!(running.end().code, 0);
    let lacks = "gauge dial: neither a second point at zero nor a closing zero";
    assert_eq!(deck.found(), [("unchecked".into(), lacks.to_owned())]);
    let u_before = deck_u(&deck);

    deck.set_down(4, 9.4, FACE + 0.04);
    assert_eq!(deck.check(), 1, "it does not come back");
    let found = deck.found();
    assert!(found.iter().any(|(kind, _)| kind == "marked"), "{found:?}");
    assert!(!found.iter().any(|(_, text)| text == lacks), "{found:?}");
    let all = findings(&deck.shop.program.json(&["report", "v8"]));
    assert!(all.contains(&("deck/1/thrust".into(), "marked".into())));
    // 0.04 mm off: the zero stood anywhere between, which widens the deck's u.
    let widened = deck_u(&deck);
    assert!(widened > u_before + 0.01, "{u_before} {widened}");
}

/// The standard uncertainty of cylinder 1's deck, mm.
#[track_caller]
fn deck_u(deck: &Deck) -> f64 {
    let report = deck.shop.program.json(&["report", "v8"]);
    let figure = &report["cylinders"][0]["deck"];
    let u = figure["u"].as_f64().or(figure["u_known"].as_f64());
    let u = u.unwrap_or_else(|| panic!("{figure}"));
    if figure["unit"] == "in" { u * 25.4 } else { u }
}

/// The digits at the gauge count from the zero of the job, also where the daemon was started since.
#[test]
fn the_digits_count_from_the_zero_after_the_daemon_was_started_anew() {
    let Deck {
        shop,
        station,
        dial,
        daemon,
    } = {
        let deck = Deck::new();
        deck.zero(1);
        deck
    };
    daemon.stop();
    let daemon = station.serve(&shop.program);
    daemon.api.wait_for_port("dial");
    let deck = Deck {
        shop,
        station,
        dial,
        daemon,
    };
    let mut events = deck.daemon.api.events(None);
    let running = deck.daemon.program.start(&ROUTE);
    deck.hears(&mut events, "second point at zero");
    deck.set_down(2, FACE, 9.5);
    deck.hears(&mut events, "deck 1 thrust");
    let gauges = deck.daemon.program.json(&["gauge", "list"]);
    let live = &gauges["gauges"][0]["live"][0];
    let zeroed = live["zeroed"].as_f64();
    let zeroed = zeroed.unwrap_or_else(|| panic!("raw digits: {gauges}"));
    assert!((zeroed - 0.5).abs() < 0.02, "{live}");
    deck.daemon.program.json(&["steer", "v8", "end"]);
    running.end();
}

/// A dial that lies in its drawer is no reason to ask which one is meant.
#[test]
fn of_two_dials_the_one_that_has_a_port_measures_and_that_is_said() {
    let deck = Deck::new();
    let spare = ["gauge", "set", "spare", "--profile", "ascii-length"];
    let spare = [&spare[..], &["--port", "/dev/not-plugged-in"]].concat();
    deck.daemon.program.json(&spare);
    deck.zero(1);
    let mut events = deck.daemon.api.events(None);
    let running = deck.daemon.program.start(&ROUTE);
    deck.hears(
        &mut events,
        "dial measures: of dial, spare it alone has a port now",
    );
    deck.hears(&mut events, "second point at zero");
    deck.daemon.program.json(&["steer", "v8", "end"]);
    running.end();
}
