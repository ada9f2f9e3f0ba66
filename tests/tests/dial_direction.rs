//! Which way a dial's number runs, seen by a movement, kept until something else is stated, and
//! doubted where the plunger hangs on the wrong side of its zero; and what is no lift of a bridge.

#![cfg(unix)]

use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::{Daemon, RunningProgram};
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use serde_json::Value;

/// A shop with a dial that hangs free at 0 mm.
struct DialShop {
    shop: Shop,
    station: DrivenStation,
    dial: DrivenGauge,
    daemon: Daemon,
    stands: f64,
}

impl DialShop {
    fn new() -> DialShop {
        let shop = Shop::with_job();
        let station = DrivenStation::new();
        let dial = station.plug_in("dial");
        let daemon = station.serve(&shop.program);
        let dial_shop = DialShop {
            shop,
            station,
            dial,
            daemon,
            stands: 0.0,
        };
        dial_shop.set(&[]);
        dial_shop.daemon.api.wait_for_port("dial");
        let rests = Hand::at_dial(1).rest(4.0);
        dial_shop.dial.play(&rests.stream());
        dial_shop.station.pass(2.0);
        dial_shop
    }

    fn set(&self, more: &[&str]) {
        let mut set = vec!["gauge", "set", "dial", "--profile", "ascii-length"];
        set.extend(["--port", self.dial.path()]);
        set.extend(more);
        self.daemon.program.json(&set);
    }

    /// The plunger goes there and rests.
    fn goes_to(&mut self, to: f64) {
        let hand = Hand::at_dial(2).from(self.stands).go_to(to, 4.0);
        self.dial.play(&hand.rest(4.0).stream());
        self.station.pass(2.0);
        self.stands = to;
    }

    /// The dial is set on its zero face, which it shows as this, and zeroed there.
    fn is_zeroed_at(&mut self, face: f64) {
        self.goes_to(face);
        let zero = ["gauge", "zero", "dial", "--job", "v8"];
        self.daemon.program.json(&zero);
    }

    /// Begins the route at the thrust sides of the first piston.
    fn measures_sides(&self) -> RunningProgram {
        let sides = ["measure", "v8", "deck-sides", "--cylinders", "1", "--json"];
        let mut route = self.shop.program.start(&sides);
        route.wait("the route runs", |event| {
            event["progress"]["running"] == true
        });
        route
    }

    fn sense(&self) -> Value {
        let list = self.daemon.program.json(&["gauge", "list"]);
        list["gauges"][0]["setup"]["sense"].clone()
    }

    /// Begins the step and reads until the plunger is asked for.
    #[track_caller]
    fn begin(&self, more: &[&str]) -> RunningProgram {
        let args = [&["gauge", "direction", "dial"], more].concat();
        let mut step = self.shop.program.start(&args);
        while let Some(line) = step.line() {
            if line.contains("push it in by a millimetre") {
                return step;
            }
        }
        panic!("the step ended: {}", step.end().err);
    }
}

#[test]
fn a_plunger_that_is_pushed_in_tells_which_way_the_number_runs() {
    let mut bench = DialShop::new();
    let step = bench.begin(&[]);
    bench.goes_to(3.0);
    let told = step.end().good().out;
    for part in [
        "rose from 0.000",
        "it grows as the plunger is pushed in",
        "as the register says",
    ] {
        assert!(told.contains(part), "{told}");
    }

    // A key on the dial turned its number over: the register says otherwise.
    bench.goes_to(0.0);
    let step = bench.begin(&[]);
    bench.goes_to(-3.0);
    let refused = step.end();
    assert_eq!(refused.code, 5, "{}", refused.err);
    assert!(refused.err.contains("--replace"), "{}", refused.err);
    assert_eq!(bench.sense(), 1);

    bench.goes_to(0.0);
    let step = bench.begin(&["--replace"]);
    bench.goes_to(-3.0);
    let told = step.end().good().out;
    assert!(
        told.contains("shrinks") && told.contains("register is changed"),
        "{told}"
    );
    assert_eq!(bench.sense(), -1);

    // What was learned stays where something else is stated.
    bench.set(&["--u", "0.005 mm"]);
    assert_eq!(bench.sense(), -1);
}

#[test]
fn a_hanging_value_on_the_wrong_side_of_the_zero_is_refused() {
    let mut bench = DialShop::new();
    bench.is_zeroed_at(-3.0);
    bench.goes_to(0.0);
    let hangs = ["gauge", "zero", "dial", "--job", "v8", "--hanging"];
    let refused = bench.daemon.program.run(&hangs);
    assert_eq!(refused.code, 5, "{}{}", refused.out, refused.err);
    for part in ["hanging free", "pushed in", "gauge direction dial"] {
        assert!(refused.err.contains(part), "{}", refused.err);
    }
    bench.set(&["--sense", "-1"]);
    bench.daemon.api.wait_for_port("dial");
    bench.goes_to(0.001);
    bench.daemon.program.run(&hangs).good();
}

#[test]
fn a_deck_by_a_dial_that_runs_the_other_way_is_asked_about_and_not_kept() {
    let mut bench = DialShop::new();
    bench.is_zeroed_at(-3.0);
    let mut route = bench.measures_sides();
    // Lifted off the deck, where it hangs free, and set down on a piston 0.2 mm in the hole.
    bench.goes_to(0.0);
    bench.goes_to(-2.8);
    let asked = route.wait("a question", |event| event["progress"]["asked"].is_object());
    let text = asked["progress"]["asked"]["text"].as_str().expect("words");
    assert!(text.contains("further in than on its zero face"), "{text}");
    assert_eq!(bench.shop.values_at("deck/1/thrust"), [0.0; 0]);
}

#[test]
fn a_push_at_the_piston_is_not_the_next_side() {
    let mut bench = DialShop::new();
    bench.is_zeroed_at(3.0);
    bench.goes_to(0.0);
    let hangs = ["gauge", "zero", "dial", "--job", "v8", "--hanging"];
    bench.daemon.program.run(&hangs).good();
    let _route = bench.measures_sides();
    bench.goes_to(2.8);
    // The piston is pushed over, and a hand leans on the bridge.
    bench.goes_to(2.78);
    bench.goes_to(2.86);
    let near = |values: Vec<f64>, wanted: f64| {
        assert_eq!(values.len(), 1, "{values:?}");
        assert!((values[0] - wanted).abs() < 0.003, "{values:?}");
    };
    near(bench.shop.values_at("deck/1/thrust"), 0.2);
    assert_eq!(bench.shop.values_at("deck/1/antithrust"), [0.0; 0]);
    bench.goes_to(0.0);
    bench.goes_to(2.7);
    near(bench.shop.values_at("deck/1/antithrust"), 0.3);
}
