//! Every shipped route begins on the example engine, with gauges that are read by eye.

use std::sync::Arc;

use benchhand_drivers::timebase::RealTime;
use serde_json::json;

use crate::clock::SystemClock;
use crate::live::SerialOpener;
use crate::route::shipped;
use crate::serve::Works;

#[test]
fn every_shipped_route_begins_and_can_be_typed_at_its_first_stop() {
    let folder = tempfile::tempdir().unwrap();
    let opener = Arc::new(SerialOpener::new(Arc::new(RealTime::new())));
    let works = Works::start(folder.path(), Arc::new(SystemClock::new()), opener).unwrap();
    let key = std::cell::Cell::new(0);
    let ask = |path: &str, body| {
        key.set(key.get() + 1);
        works
            .desk
            .dispatch(path, body, Some(&key.get().to_string()))
    };
    let gauges = [
        ("dial", "ascii-length"),
        ("glass", "ascii-volume"),
        ("column", "modbus-pressure-pair"),
    ];
    for (name, profile) in gauges {
        let setup = json!({"name": name, "profile": profile});
        ask("gauges/set", json!({ "setup": setup })).unwrap();
    }
    let engine = include_str!("../../../../examples/invented-v8.toml");
    for (route, _) in shipped() {
        // A job for each route, so that no other route's value makes a value look like a slip.
        let new = json!({"name": route, "engine": engine, "file": "engine.toml"});
        ask("jobs/new", new).unwrap();
        let begun = ask("routes/start", json!({"job": route, "route": route}));
        let begun = begun.unwrap_or_else(|refusal| panic!("{route}: {refusal}"));
        let first = &begun["stops"][0];
        let unit = first["unit"].as_str().unwrap();
        let value = match first["kind"].as_str() {
            Some("pressure") => format!("28 {unit} and 1 {unit}"),
            _ => format!("1 {unit}"),
        };
        // One unit is far from any chamber; the person is sure.
        let typed = json!({"job": route, "control": "type", "value": value, "sure": true});
        let after = ask("routes/control", typed);
        let after = after.unwrap_or_else(|refusal| panic!("{route}: {refusal}"));
        assert_eq!(after["stops"][0]["state"], "taken", "{route}");
        ask("routes/control", json!({"job": route, "control": "end"})).unwrap();
    }
    works.stop_blocking();
}

/// The parts of the example: 9.057 - 3.548 / 2 - 6.071 - 1.203 in leave the piston 0.009 in below.
#[test]
fn a_zero_on_the_wrong_face_and_a_bore_of_another_size_are_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let opener = Arc::new(SerialOpener::new(Arc::new(RealTime::new())));
    let works = Works::start(folder.path(), Arc::new(SystemClock::new()), opener).unwrap();
    let key = std::cell::Cell::new(0);
    let ask = |path: &str, body| {
        key.set(key.get() + 1);
        let key = key.get().to_string();
        works.desk.dispatch(path, body, Some(&key))
    };
    let engine = include_str!("../../../../examples/invented-v8.toml");
    let new = json!({"name": "v8", "engine": engine, "file": "engine.toml"});
    ask("jobs/new", new).unwrap();
    let enter = |spot: &str, value: &str| {
        ask(
            "readings/enter",
            json!({"job": "v8", "spot": spot, "value": value}),
        )
    };
    // Before anything is measured: judged by the parts and the nominal bore.
    let refused = enter("deck/1/front", "0.060 in").unwrap_err();
    assert!(refused.to_string().contains("from the parts"), "{refused}");
    enter("deck/1/front", "0.012 in").unwrap();
    assert!(enter("bore/1/top/thrust", "4.247 in").is_err());
    enter("bore/1/top/thrust", "4.0771 in").unwrap();
    // Judged by the other cylinder: a sign that was flipped, a bore of another size.
    assert!(enter("deck/3/front", "-0.012 in").is_err());
    enter("deck/3/front", "0.020 in").unwrap();
    assert!(enter("bore/3/top/thrust", "4.0471 in").is_err());
    works.stop_blocking();
}

#[test]
fn a_gauge_that_feeds_a_route_is_refused_to_a_second_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let opener = Arc::new(SerialOpener::new(Arc::new(RealTime::new())));
    let works = Works::start(folder.path(), Arc::new(SystemClock::new()), opener).unwrap();
    let key = std::cell::Cell::new(0);
    let ask = |path: &str, body| {
        key.set(key.get() + 1);
        let key = key.get().to_string();
        works.desk.dispatch(path, body, Some(&key))
    };
    let setup = json!({"name": "glass", "profile": "ascii-volume"});
    ask("gauges/set", json!({ "setup": setup })).unwrap();
    let engine = include_str!("../../../../examples/invented-v8.toml");
    for name in ["one", "two"] {
        let new = json!({"name": name, "engine": engine, "file": "engine.toml"});
        ask("jobs/new", new).unwrap();
    }
    ask("routes/start", json!({"job": "one", "route": "chambers"})).unwrap();
    for afresh in [false, true] {
        for route in ["chambers", "runners"] {
            let other = json!({"job": "two", "route": route, "afresh": afresh});
            let refused = ask("routes/start", other).unwrap_err().to_string();
            assert!(
                refused.contains("glass") && refused.contains("job one"),
                "{refused}"
            );
            let same = json!({"job": "one", "route": route, "afresh": afresh});
            let refused = ask("routes/start", same).unwrap_err().to_string();
            assert!(refused.contains("job one"), "{refused}");
        }
    }
    works.stop_blocking();
}
