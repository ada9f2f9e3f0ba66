//! Work that goes on after hours or weeks: what is told, and what is asked for anew.

use std::sync::Arc;

use benchhand_drivers::timebase::RealTime;
use benchhand_wire::Refusal;
use serde_json::{Value, json};

use crate::clock::HandClock;
use crate::live::SerialOpener;
use crate::serve::Works;

const ENGINE: &str = include_str!("../../../../examples/invented-v8.toml");
const HOUR_US: u64 = 3_600_000_000;

/// A shop with a burette that is read by eye, and its calendar.
struct Shop {
    folder: tempfile::TempDir,
    clock: Arc<HandClock>,
    works: Works,
    asked: std::cell::Cell<u32>,
}

impl Shop {
    fn new() -> Shop {
        let folder = tempfile::tempdir().unwrap();
        let clock = Arc::new(HandClock::new("2026-03-02T09:00:00Z".parse().unwrap()));
        let opener = Arc::new(SerialOpener::new(Arc::new(RealTime::new())));
        let works = Works::start(folder.path(), Arc::clone(&clock) as _, opener).unwrap();
        let shop = Shop {
            folder,
            clock,
            works,
            asked: std::cell::Cell::new(0),
        };
        shop.gauge(None);
        let new = json!({"name": "v8", "engine": ENGINE, "file": "engine.toml"});
        shop.ask("jobs/new", new).unwrap();
        shop
    }

    fn gauge(&self, u: Option<&str>) {
        let setup = json!({"name": "glass", "profile": "ascii-volume", "u": u});
        self.ask("gauges/set", json!({ "setup": setup })).unwrap();
    }

    fn ask(&self, path: &str, body: Value) -> Result<Value, Refusal> {
        self.asked.set(self.asked.get() + 1);
        let key = self.asked.get().to_string();
        self.works.desk.dispatch(path, body, Some(&key))
    }

    fn control(&self, control: Value) -> Value {
        let mut body = json!({"job": "v8"});
        let fields = control.as_object().unwrap().clone();
        body.as_object_mut().unwrap().extend(fields);
        self.ask("routes/control", body).unwrap()
    }

    fn start(&self) -> Value {
        let body = json!({"job": "v8", "route": "chambers"});
        self.ask("routes/start", body).unwrap()
    }

    /// Two chambers are read, the third is in question, and the work is put aside.
    fn two_and_a_question(&self) {
        self.start();
        for value in ["64.2 cc", "64.1 cc"] {
            self.control(json!({"control": "type", "value": value}));
        }
        let asked = self.control(json!({"control": "type", "value": "94.3 cc"}));
        assert!(asked["asked"]["text"].is_string(), "{asked}");
        self.control(json!({"control": "end"}));
    }
}

fn texts(list: &Value) -> Vec<&str> {
    let all = list.as_array().map(Vec::as_slice).unwrap_or_default();
    all.iter().map(|one| one.as_str().unwrap()).collect()
}

#[test]
fn a_route_taken_up_after_weeks_says_where_it_stood_and_what_changed() {
    let shop = Shop::new();
    shop.two_and_a_question();
    shop.clock.advance(21 * 24 * HOUR_US);

    // Meanwhile the parts, the engine file and the gauge change.
    let file = shop.folder.path().join("jobs/v8/engine.toml");
    let edited = ENGINE.replacen("value = \"3.548 in\"", "value = \"3.750 in\"", 1);
    assert_ne!(edited, ENGINE);
    std::fs::write(&file, edited).unwrap();
    shop.gauge(Some("0.05 cc"));
    let cut = json!({"job": "v8", "stage": "decked", "what": "0.004 in off the block", "changes": ["deck"]});
    shop.ask("jobs/cut", cut).unwrap();

    // The route tells it when it is taken up, `job show` and the page as long as it stands.
    let begun = shop.start();
    shop.control(json!({"control": "end"}));
    let shown = shop.ask("jobs/show", json!({"job": "v8"})).unwrap();
    for stood in [&begun, &shown["route"]] {
        let stood = &stood["taken_up"];
        assert_eq!(stood["ago"], "3 weeks ago", "{stood}");
        assert_eq!(stood["last"], "2026-03-02 09:00");
        let changed = texts(&stood["changed"]).join("\n");
        for part in [
            "decked: 0.004 in off the block (changes deck)",
            "stroke value 3.750 in, was 3.548 in",
            "gauge glass: calibration uncertainty 0.05 cc, was not said",
        ] {
            assert!(changed.contains(part), "{part:?} in {changed}");
        }
        assert_eq!(changed.lines().count(), 3, "{changed}");
    }
}

#[test]
fn what_stands_what_is_open_and_what_is_next_are_told() {
    let shop = Shop::new();
    shop.two_and_a_question();
    shop.clock.advance(30 * HOUR_US);
    let begun = shop.start();
    let stood = &begun["taken_up"];
    assert_eq!(stood["ago"], "30 hours ago", "{stood}");
    let first: Vec<&str> = begun["stops"].as_array().unwrap()[..3]
        .iter()
        .map(|stop| stop["spot"].as_str().unwrap())
        .collect();
    assert_eq!(texts(&stood["kept"]), first[..2]);
    assert_eq!(stood["next"], first[2]);
    let open = texts(&stood["open"]);
    assert_eq!(open.len(), 1, "{stood}");
    assert!(open[0].contains("94.3"), "{open:?}");
    assert!(stood["changed"].is_null(), "{stood}");
}

#[test]
fn within_a_day_nothing_is_told() {
    let shop = Shop::new();
    shop.two_and_a_question();
    shop.clock.advance(20 * HOUR_US);
    assert!(shop.start()["taken_up"].is_null());
}

/// The chamber of the cylinder that was typed at the given stop of the route, cc.
fn chamber(report: &Value, stop: &Value) -> f64 {
    let cylinder = stop["spot"].as_str().unwrap().rsplit('/').next().unwrap();
    let cylinder: u64 = cylinder.parse().unwrap();
    let cylinders = report["document"]["cylinders"].as_array().unwrap().iter();
    let mut found = cylinders.filter(|one| one["cylinder"] == cylinder);
    let one = found
        .next()
        .unwrap_or_else(|| panic!("{cylinder}: {report}"));
    one["chamber"]["value"].as_f64().unwrap()
}

#[test]
fn a_temperature_of_an_earlier_session_is_asked_anew_and_enters_no_reading_of_the_new_one() {
    let shop = Shop::new();
    let warm = |value: &str| {
        let said = [
            ("liquid", "water"),
            ("chamber/temperature", "20 degC"),
            ("liquid/temperature", value),
        ];
        for (name, value) in said {
            let body = json!({"job": "v8", "name": name, "value": value});
            shop.ask("conditions/set", body).unwrap();
        }
    };
    let type_in = || shop.control(json!({"control": "type", "value": "64.20 cc"}));
    let asked = |progress: &Value| {
        let asks = progress["asks"].as_array().unwrap().iter();
        let mut of_it = asks.filter(|one| one["name"] == "liquid/temperature");
        let one = of_it.next().unwrap().clone();
        (one["known"].clone(), one["before"].clone())
    };
    warm("60 degC");
    shop.start();
    // Three and a half hours are one session.
    shop.clock.advance(HOUR_US * 7 / 2);
    let same = type_in();
    assert_eq!(asked(&same).1, Value::Null, "{}", same["asks"]);
    shop.clock.advance(HOUR_US * 5);
    let next = type_in();
    assert_eq!(asked(&next), (Value::Null, "60 degC".into()));
    warm("60 degC");
    let last = type_in();
    assert_eq!(asked(&last), ("60 degC".into(), Value::Null));

    let report = shop.ask("jobs/report", json!({"job": "v8"})).unwrap();
    let of = |stop: usize| chamber(&report, &last["stops"][stop]);
    let [before, unsaid, said] = [of(0), of(1), of(2)];
    assert!((before - said).abs() < 1e-9, "{before} {said}");
    assert!(
        (before - unsaid).abs() > 0.001,
        "the warm liquid counts: {unsaid}"
    );
}
