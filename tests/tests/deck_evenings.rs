//! Evenings at a deck bridge: a dial over pistons that go through top dead centre, with what a
//! builder does between the passes. No pass is ignored in silence, and no value is kept at
//! another place than its own.

#![cfg(unix)]

use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::{Daemon, RunningProgram};
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use serde_json::Value;

/// What the dial shows with its plunger hanging free, and on the deck, mm.
const HANGS: f64 = 0.0;
const DECK: f64 = 10.0;

/// A dial on a bridge, and the deck route on two cylinders.
struct DeckEvening {
    shop: Shop,
    station: DrivenStation,
    dial: DrivenGauge,
    daemon: Daemon,
    measuring: Option<RunningProgram>,
    /// What the dial shows.
    at: f64,
    /// What the dial showed at first is this much more than what it shows now.
    off: f64,
    /// Whether it shows hundredths.
    coarse: bool,
    inch: bool,
    seed: u64,
}

impl DeckEvening {
    /// The dial rests on the deck, zeroed there for the job; the route runs.
    fn new() -> DeckEvening {
        let mut evening = DeckEvening::off_its_zero(0.0);
        evening.zero();
        evening.begin();
        evening
    }

    /// The dial rests on the deck, where it shows this much less than 10 mm.
    fn off_its_zero(off: f64) -> DeckEvening {
        let shop = Shop::with_job();
        let station = DrivenStation::new();
        let dial = station.plug_in("dial");
        let daemon = station.serve(&shop.program);
        let mut set = vec!["gauge", "set", "dial", "--profile", "ascii-length"];
        set.extend(["--port", dial.path(), "--u", "0.005 mm"]);
        daemon.program.json(&set);
        daemon.api.wait_for_port("dial");
        let mut evening = DeckEvening {
            shop,
            station,
            dial,
            daemon,
            measuring: None,
            at: HANGS - off,
            off,
            coarse: true,
            inch: false,
            seed: 1,
        };
        evening.rest(2.0);
        evening.set_on(DECK);
        evening.rest(3.0);
        evening
    }

    fn begin(&mut self) {
        let args = ["measure", "v8", "deck", "--cylinders", "1,2", "--json"];
        let mut measuring = self.daemon.program.start(&args);
        measuring.wait("the route runs", |event| {
            event["progress"]["running"] == true
        });
        self.measuring = Some(measuring);
    }

    fn zero(&self) {
        self.daemon
            .program
            .json(&["gauge", "zero", "dial", "--job", "v8"]);
    }

    fn play(&mut self, work: impl FnOnce(Hand) -> Hand) {
        self.seed += 1;
        let hand = Hand::at_dial(self.seed).from(self.at);
        let hand = match (self.coarse, self.inch) {
            (_, true) => hand.in_inches(),
            (true, _) => hand.in_hundredths(),
            (false, _) => hand,
        };
        self.dial.play(&work(hand).stream());
    }

    fn rest(&mut self, seconds: f64) {
        self.play(|hand| hand.rest(seconds));
    }

    /// Lifts the bridge, and sets it down where the dial of the first moment shows `value`.
    fn move_to(&mut self, value: f64) {
        self.at = HANGS - self.off;
        self.rest(1.5);
        self.set_on(value);
        self.rest(1.0);
    }

    /// The plunger is put on something between two samples.
    fn set_on(&mut self, value: f64) {
        self.at = value - self.off;
        self.rest(0.3);
    }

    /// Sets the bridge on a piston whose top is `below` the deck, with the crank at −15°.
    fn bridge_over(&mut self, below: f64) {
        self.move_to(DECK - below - 1.93);
    }

    /// Turns over top dead centre and back, as often as said, in all.
    fn passes(&mut self, below: f64, count: usize) {
        for pass in 0..count {
            let turn = if pass % 2 == 0 {
                (-15.0, 15.0)
            } else {
                (15.0, -15.0)
            };
            let top = DECK - below - self.off;
            self.play(|hand| hand.turn(top, turn, 6.0).rest(0.8));
        }
        self.at = DECK - below - 1.93 - self.off;
    }

    #[track_caller]
    fn steer(&self, words: &[&str]) {
        let mut args = vec!["steer", "v8"];
        args.extend(words);
        self.daemon.program.json(&args);
    }

    fn progress(&self) -> Value {
        self.daemon.api.get("state").good()["routes"][0].clone()
    }

    /// What the route asks now, in words; empty where it asks nothing.
    fn asks(&self) -> String {
        let progress = self.progress();
        progress["asked"]["text"]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }

    /// Each spot with its value in hundredths of a millimetre.
    fn kept(&self) -> Vec<(String, i64)> {
        let one = |reading: &Value| {
            let value = reading["figure"]["value"].as_f64().expect("a number");
            let mm = match reading["figure"]["unit"].as_str() {
                Some("in") => 25.4 * value,
                _ => value,
            };
            let spot = reading["spot"].as_str().expect("a spot").to_owned();
            (spot, (100.0 * mm).round() as i64)
        };
        let live = |reading: &&Value| reading["state"] != "voided";
        self.shop.readings().iter().filter(live).map(one).collect()
    }

    #[track_caller]
    fn has(&self, wanted: &[(&str, i64)]) {
        let wanted: Vec<(String, i64)> =
            wanted.iter().map(|(s, v)| ((*s).to_owned(), *v)).collect();
        assert_eq!(self.kept(), wanted, "asked: {:?}", self.asks());
    }
}

impl Drop for DeckEvening {
    fn drop(&mut self) {
        if let Some(measuring) = self.measuring.take() {
            drop(measuring);
        }
    }
}

const FRONT: &str = "deck/1/front";
const REAR: &str = "deck/1/rear";

#[test]
fn passes_after_back_measure_the_place_anew_where_the_bridge_still_stands() {
    let mut evening = DeckEvening::new();
    evening.bridge_over(0.20);
    evening.passes(0.20, 2);
    evening.has(&[(FRONT, 20)]);
    evening.steer(&["back"]);
    evening.passes(0.20, 2);
    evening.has(&[(FRONT, 20)]);
    assert_eq!(evening.progress()["at"], 1, "the route goes on by itself");
    evening.bridge_over(0.25);
    evening.passes(0.25, 2);
    evening.has(&[(FRONT, 20), (REAR, 25)]);
}

#[test]
fn a_bridge_that_is_moved_on_after_back_is_asked_about_and_the_answer_names_the_place() {
    let mut evening = DeckEvening::new();
    evening.bridge_over(0.20);
    evening.passes(0.20, 2);
    evening.steer(&["back"]);
    evening.bridge_over(0.25);
    evening.passes(0.25, 2);
    assert!(
        evening.asks().contains("which place"),
        "{:?}",
        evening.asks()
    );
    evening.has(&[(FRONT, 20)]);
    evening.steer(&["go", "deck 1 rear"]);
    evening.has(&[(FRONT, 20), (REAR, 25)]);
    assert_eq!(evening.asks(), "");
}

#[test]
fn one_pass_too_few_is_asked_about_and_skip_files_the_value_at_the_next_place() {
    let mut evening = DeckEvening::new();
    evening.bridge_over(0.20);
    evening.passes(0.20, 1);
    evening.bridge_over(0.25);
    evening.passes(0.25, 2);
    let asked = evening.progress()["asked"].clone();
    assert!(
        asked["text"]
            .as_str()
            .expect("words")
            .contains("which place")
    );
    let answers = asked["answers"].as_array().expect("answers").clone();
    assert!(answers.contains(&Value::from("skip")), "{answers:?}");
    evening.steer(&["skip"]);
    evening.has(&[(REAR, 25)]);
    assert_eq!(evening.asks(), "");
}

/// The second point at zero: the dial, zeroed by its own key, hangs free and is set on the deck.
#[test]
fn the_second_point_at_zero_does_not_stop_the_deck_route() {
    let mut evening = DeckEvening::off_its_zero(DECK);
    evening.zero();
    evening.begin();
    evening.move_to(DECK);
    evening.rest(2.0);
    evening.bridge_over(0.20);
    evening.passes(0.20, 2);
    evening.has(&[(FRONT, 20)]);
}

/// The zero key is pressed amid the work, on the piston.
#[test]
fn a_zero_key_that_is_pressed_on_the_piston_is_asked_about_with_the_value() {
    let mut evening = DeckEvening::new();
    evening.bridge_over(0.20);
    let stands = evening.at;
    evening.off = stands;
    evening.at = 0.0;
    evening.rest(2.0);
    evening.passes(0.20, 2);
    assert!(evening.asks().contains("zero key"), "{:?}", evening.asks());
    evening.has(&[]);
}

#[test]
fn a_dial_whose_inch_key_was_pressed_goes_on_once_it_is_zeroed_anew() {
    let mut evening = DeckEvening::new();
    evening.coarse = false;
    evening.bridge_over(0.20);
    evening.passes(0.20, 2);
    evening.has(&[(FRONT, 20)]);
    evening.inch = true;
    evening.move_to(DECK);
    evening.rest(3.0);
    evening.zero();
    evening.bridge_over(0.25);
    evening.passes(0.25, 2);
    evening.has(&[(FRONT, 20), (REAR, 25)]);
}

#[test]
fn a_bridge_that_is_moved_unheard_is_asked_about_and_nothing_is_ignored() {
    for held in [false, true] {
        let mut evening = DeckEvening::new();
        evening.bridge_over(0.20);
        evening.passes(0.20, 2);
        evening.dial.hush();
        evening.station.pass(4.0);
        evening.at = DECK - 0.22 - 1.6;
        evening.rest(1.0);
        if held {
            evening.steer(&["hold"]);
            evening.rest(1.0);
            evening.steer(&["continue"]);
        }
        evening.passes(0.22, 2);
        assert!(
            evening.asks().contains("which place"),
            "{:?}",
            evening.asks()
        );
        evening.steer(&["keep"]);
        evening.has(&[(FRONT, 20), (REAR, 22)]);
    }
}

/// Switched off and on on the piston, the dial shows 0 there. Nothing of it is taken before it is
/// zeroed or said to be sound; after that the work goes on.
#[test]
fn hold_and_continue_lets_a_stopped_dial_go_on() {
    let mut evening = DeckEvening::new();
    evening.bridge_over(0.20);
    evening.passes(0.20, 2);
    evening.dial.hush();
    evening.station.pass(4.0);
    evening.move_to(DECK - 0.22 - 1.93);
    // The first value after the silence is 0: the plunger hung free.
    evening.steer(&["hold"]);
    evening.rest(1.0);
    evening.steer(&["continue"]);
    evening.passes(0.22, 2);
    if !evening.asks().is_empty() {
        evening.steer(&["keep"]);
    }
    evening.has(&[(FRONT, 20), (REAR, 22)]);
}

/// The gauge's preset is pressed between two places: every later value is 2 mm off.
#[test]
fn a_preset_that_is_pressed_between_two_places_is_asked_about() {
    let mut evening = DeckEvening::new();
    evening.bridge_over(0.20);
    evening.passes(0.20, 2);
    evening.off = -2.0;
    evening.bridge_over(0.22);
    evening.passes(0.22, 2);
    assert!(
        evening.asks().contains("expected about 0.008 in"),
        "{:?}",
        evening.asks()
    );
    evening.has(&[(FRONT, 20)]);
}

/// What the page's button does: the refusal names the step, and after it the route begins.
#[test]
fn a_deck_route_without_a_zero_names_the_request_that_lets_it_begin() {
    let evening = DeckEvening::off_its_zero(0.0);
    let ask = |path: &str, key: &str, what: &Value| {
        let answer = evening.daemon.api.post(path, key, what);
        answer.expect("an answer")
    };
    let order = serde_json::json!({ "job": "v8", "route": "deck" });
    let refused = ask("routes/start", "start-1", &order).json();
    let step = &refused["next_step"];
    assert_eq!(step["step"], "zero", "{refused}");
    let zero = serde_json::json!({ "job": step["job"], "name": step["gauge"] });
    ask("gauges/zero", "zero-1", &zero).good();
    ask("routes/start", "start-2", &order).good();
    assert_eq!(evening.progress()["running"], true);
}

/// A dial of a thousandth under an even hand.
#[test]
fn a_fine_dial_under_an_even_hand_is_not_called_uneven() {
    let mut evening = DeckEvening::new();
    evening.coarse = false;
    for (place, below) in [0.201, 0.213, 0.187, 0.224].into_iter().enumerate() {
        evening.bridge_over(below);
        evening.passes(below, 2);
        assert_eq!(evening.kept().len(), place + 1, "{:?}", evening.asks());
    }
}
