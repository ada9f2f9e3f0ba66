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
        // A job for each, so that no brother from another route calls a value a slip.
        let new = json!({"name": route, "engine": engine, "file": "engine.toml"});
        ask("jobs/new", new).unwrap();
        let begun = ask("routes/start", json!({"job": route, "route": route}));
        let begun = begun.unwrap_or_else(|refusal| panic!("{route}: {refusal}"));
        let first = &begun["stops"][0];
        let value = format!("1 {}", first["unit"].as_str().unwrap());
        // One unit is far from any chamber; the person is sure.
        let typed = json!({"job": route, "control": "type", "value": value, "sure": true});
        let after = ask("routes/control", typed);
        let after = after.unwrap_or_else(|refusal| panic!("{route}: {refusal}"));
        assert_eq!(after["stops"][0]["state"], "taken", "{route}");
        ask("routes/control", json!({"job": route, "control": "end"})).unwrap();
    }
    works.stop_blocking();
}
