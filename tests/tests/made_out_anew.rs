//! A steered evening is made out anew from its recorded streams, value for value.

#![cfg(unix)]

use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::{Daemon, RunningProgram};
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use serde_json::Value;

/// A burette at four chambers of the example's job, on driven time. `told` is said of the burette.
struct AtFourChambers {
    shop: Shop,
    station: DrivenStation,
    burette: DrivenGauge,
    daemon: Daemon,
    route: RunningProgram,
}

impl AtFourChambers {
    fn begin(told: &[&str]) -> AtFourChambers {
        let shop = Shop::with_job();
        let station = DrivenStation::new();
        let burette = station.plug_in("burette");
        let daemon = station.serve(&shop.program);
        let set = ["gauge", "set", "burette", "--profile", "ascii-volume"];
        let rest = ["--port", burette.path(), "--u", "0.03 cc"];
        let all = [&set[..], &rest, &["--capacity", "100 cc"], told].concat();
        daemon.program.json(&all);
        daemon.api.wait_for_port("burette");
        let args = ["measure", "v8", "chambers", "--cylinders", "1,3,5,7"];
        let args = [&args[..], &["--rounds", "1", "--json"]].concat();
        let mut route = daemon.program.start(&args);
        route.wait("the route runs", |event| {
            event["progress"]["running"] == true
        });
        AtFourChambers {
            shop,
            station,
            burette,
            daemon,
            route,
        }
    }

    fn steer(&self, control: &str) {
        self.daemon.program.json(&["steer", "v8", control]);
    }

    /// The route ends, and each reading made out anew is the very value that was kept.
    #[track_caller]
    fn end_with_all_the_same(self, readings: u64) {
        let AtFourChambers {
            shop,
            station,
            daemon,
            route,
            ..
        } = self;
        route.end().good();
        let again = shop.program.json(&["job", "recompute", "v8"]);
        for kept in again["readings"].as_array().expect("a list") {
            assert_eq!(kept["verdict"], "same", "{kept}");
            traced(&daemon, kept);
        }
        assert!(again["same"].as_u64() >= Some(readings), "{again}");
        drop(station);
    }

    /// Each spot has one reading, and it is what was poured.
    #[track_caller]
    fn kept(&self, poured: &[(&str, f64)]) {
        for (spot, cc) in poured {
            let values = self.shop.values_at(spot);
            assert_eq!(values.len(), 1, "{spot}: {values:?}");
            assert!((values[0] - cc).abs() < 0.05, "{spot}: {values:?}");
        }
    }
}

/// The samples that a reading was taken from are there, inside the minute about them.
#[track_caller]
fn traced(daemon: &Daemon, kept: &Value) {
    let answer = daemon
        .api
        .get(&format!("readings/trace?job=v8&id={}", kept["id"]));
    let traces = answer.good()["traces"].clone();
    let trace = &traces[0];
    assert_eq!(trace["gauge"], "burette", "{traces}");
    let samples = |of: &str| -> Vec<(u64, f64)> {
        let all = trace[of].as_array().expect("samples");
        let one = |s: &Value| Some((s["at_us"].as_u64()?, s["value"].as_f64()?));
        all.iter().map(|s| one(s).expect("a sample")).collect()
    };
    let (window, around) = (samples("window"), samples("around"));
    assert!(
        !window.is_empty() && window.iter().all(|s| around.contains(s)),
        "{trace}"
    );
    assert!(
        around.len() > window.len(),
        "only the window is told: {trace}"
    );
}

#[test]
fn pours_that_were_steered_come_out_of_their_streams_as_they_were_kept() {
    let at = AtFourChambers::begin(&[]);
    let (steer, burette) = (|control: &str| at.steer(control), &at.burette);

    // The direction of the scale is asked about, and answered.
    let hand = Hand::at_burette(1).from(0.4).pour(40.0);
    burette.play(&hand.stream());
    steer("delivered");
    // The hand looks away in mid-pour, and goes on.
    steer("hold");
    burette.play(&Hand::at_burette(2).from(40.4).rest(3.0).stream());
    steer("continue");
    let hand = Hand::at_burette(3).from(40.4).pour(24.03);
    burette.play(&hand.rest(20.0).refill().rest(2.0).stream());
    // A bubble: the second chamber is poured again.
    let hand = Hand::at_burette(4).from(0.4).pour(64.3);
    burette.play(&hand.stream());
    // Right after its value it is the one that is meant.
    steer("again");
    let hand = Hand::at_burette(5).from(64.7).refill();
    burette.play(&hand.rest(1.0).pour(64.1).refill().rest(1.0).stream());
    // A little more is added to the third after its value was said.
    let hand = Hand::at_burette(6).from(0.4).pour(61.0);
    burette.play(&hand.stream());
    steer("add");
    let hand = Hand::at_burette(7).from(61.4).pour(3.0);
    burette.play(&hand.refill().rest(1.0).stream());
    let hand = Hand::at_burette(8).from(0.4).pour(64.0);
    burette.play(&hand.refill().rest(1.0).stream());

    at.kept(&[
        ("chamber/1", 64.03),
        ("chamber/3", 64.1),
        ("chamber/5", 64.0),
    ]);
    at.end_with_all_the_same(4);
}

/// Two chambers that are both smaller than the engine file says were poured from one filling; the
/// person says so when two more have been poured.
#[test]
fn a_pour_that_was_parted_late_comes_out_of_its_stream_in_the_same_parts() {
    let at = AtFourChambers::begin(&["--counts", "up"]);
    let (steer, burette) = (|control: &str| at.steer(control), &at.burette);
    let hand = Hand::at_burette(1)
        .from(0.4)
        .pour(45.2)
        .rest(8.0)
        .pour(45.0);
    burette.play(&hand.refill().rest(3.0).stream());
    let hand = Hand::at_burette(2).from(0.4).pour(60.4).refill().rest(3.0);
    burette.play(&hand.pour(60.3).refill().rest(3.0).stream());
    steer("split");
    steer("keep");
    // The next is much larger, and so is the last.
    steer("keep");
    at.kept(&[
        ("chamber/1", 45.2),
        ("chamber/3", 45.0),
        ("chamber/5", 60.4),
        ("chamber/7", 60.3),
    ]);
    at.end_with_all_the_same(4);
}

/// A daemon that is killed leaves its last stream cut short, or empty. What was cut off is said, the
/// rest is made out, and no sound reading is called different.
#[test]
fn a_stream_that_is_cut_short_anywhere_leaves_the_rest_of_the_job() {
    let at = AtFourChambers::begin(&["--counts", "up"]);
    for (seed, cc) in (1..).zip([64.0, 64.4, 63.9, 64.2]) {
        let hand = Hand::at_burette(seed).from(0.4).pour(cc).rest(3.0);
        at.burette.play(&hand.refill().rest(2.0).stream());
    }
    let shop = at.shop;
    at.route.end().good();
    drop(at.station);
    let sound = shop.program.json(&["job", "recompute", "v8"]);
    let readings = sound["readings"].as_array().expect("a list").len();
    assert!(readings >= 4, "{sound}");
    let folder = shop.job().join("streams");
    let file = std::fs::read_dir(&folder)
        .expect("streams")
        .map(|entry| entry.expect("an entry").path())
        .max_by_key(|path| std::fs::metadata(path).expect("its size").len())
        .expect("a stream");
    let whole = std::fs::read(&file).expect("the stream");
    let header = whole.iter().position(|b| *b == b'\n').expect("a header") + 1;
    for length in [
        0,
        1,
        header - 1,
        header,
        header + 3,
        whole.len() / 2,
        whole.len() - 1,
    ] {
        std::fs::write(&file, &whole[..length]).expect("written");
        let again = shop.program.json(&["job", "recompute", "v8"]);
        assert_eq!(again["different"], 0, "{length} bytes: {again}");
        assert_eq!(again["outside_window"], 0, "{length} bytes: {again}");
        let all = again["readings"].as_array().expect("a list").len();
        assert_eq!(all, readings, "{length} bytes");
    }
}
