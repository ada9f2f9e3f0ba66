//! A refused request leaves nothing behind: not a route, not a gauge's entry, not a line.

use std::collections::BTreeMap;

use benchhand_tests::program::Daemon;
use benchhand_tests::shop::Shop;
use benchhand_tests::tree::files;
use serde_json::{Value, json};

/// Everything that is kept, without what can be made again or names the process.
fn kept(shop: &Shop) -> BTreeMap<String, Vec<u8>> {
    let data = shop.program.data();
    let of_the_process = ["lock", "lock-holder.json", "daemon.json"];
    files(data, "")
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(data).expect("below").to_string_lossy();
            (name.into_owned(), std::fs::read(&path).expect("readable"))
        })
        .filter(|(name, _)| !name.starts_with("index"))
        .filter(|(name, _)| !of_the_process.contains(&name.as_str()))
        .collect()
}

fn served() -> (Shop, Daemon) {
    let shop = Shop::with_job();
    let by_eye = ["gauge", "set", "burette", "--profile", "ascii-volume"];
    shop.program.json(&by_eye);
    let enter = |spot, value| shop.program.json(&["enter", "v8", spot, value, "--sure"]);
    enter("chamber/1", "64.2 cc");
    enter("chamber/2", "64.1 cc");
    enter("chamber/3", "64.3 cc");
    let daemon = shop.program.serve(&[]);
    (shop, daemon)
}

/// A route of the name of one that is shipped, without its cautions.
const CHAMBERS: &str = r#"route = 1
name = "chambers"
title = "Chambers, without a caution"

[[step]]
spot = "chamber/{cylinder}"
mode = "pour"
kind = "volume"
prompt = "Fill it"
"#;

#[test]
fn a_route_that_could_not_begin_replaces_none() {
    let (shop, daemon) = served();
    let before = kept(&shop);
    for job in ["no-such-job", "v8"] {
        let none = json!({"volume": "no-such-gauge"});
        let body = json!({"job": job, "route": "chambers", "text": CHAMBERS, "gauges": none});
        let answer = daemon.api.post("routes/start", job, &body);
        let answer = answer.expect("it answers");
        assert!(answer.status >= 400, "{answer:?}");
    }
    assert_eq!(kept(&shop), before);
    let routes = daemon.api.get("routes").good();
    let of = |r: &&Value| r["name"] == "chambers";
    let all = routes["routes"].as_array().expect("routes");
    let chambers = all.iter().find(of).expect("it is shipped");
    assert!(
        chambers["cautions"]
            .as_array()
            .is_some_and(|c| c.len() >= 2),
        "{chambers}"
    );
}

#[test]
fn every_change_that_is_refused_leaves_everything_as_it_was() {
    let (shop, daemon) = served();
    let engine = "bore = \"-4 in\"\n";
    let bad_stage = "spot,value,unit,gauge,stage\nchamber/4,64.2,cc,burette,no such stage\n";
    let far_off = "spot,value,unit,gauge\nchamber/4,64.2,cc,burette\nchamber/5,164,cc,burette\n";
    let setup = |more: Value| {
        let mut setup = json!({"name": "burette", "profile": "ascii-volume", "sense": 1});
        let fields = more.as_object().expect("fields").clone();
        setup.as_object_mut().expect("fields").extend(fields);
        json!({"setup": setup})
    };
    let refused = [
        (
            "jobs/new",
            json!({"name": "b", "engine": engine, "file": "b.toml"}),
        ),
        (
            "jobs/new",
            json!({"name": "v8", "engine": engine, "file": "b.toml"}),
        ),
        (
            "jobs/engine/set",
            json!({"job": "v8", "engine": engine, "file": "b.toml"}),
        ),
        (
            "jobs/cut",
            json!({"job": "v8", "stage": "as received", "what": "x", "changes": ["chamber"]}),
        ),
        // Far off: it is asked about, and nobody is sure.
        (
            "readings/enter",
            json!({"job": "v8", "spot": "chamber/4", "value": "84 cc", "gauge": "burette"}),
        ),
        (
            "readings/enter",
            json!({"job": "v8", "spot": "chamber/4", "value": "-5 cc", "gauge": "burette"}),
        ),
        (
            "readings/import",
            json!({"job": "v8", "csv": bad_stage, "file": "a.csv"}),
        ),
        (
            "readings/import",
            json!({"job": "v8", "csv": far_off, "file": "a.csv"}),
        ),
        (
            "readings/move",
            json!({"job": "v8", "id": 3, "to": "deck/1/1", "reason": "x"}),
        ),
        (
            "readings/void",
            json!({"job": "v8", "id": 999, "reason": "x"}),
        ),
        (
            "readings/void",
            json!({"job": "v8", "id": 3, "reason": " "}),
        ),
        (
            "conditions/set",
            json!({"job": "v8", "name": "moon", "value": "full"}),
        ),
        (
            "gauges/zero",
            json!({"job": "v8", "name": "burette", "raw": "0.1 cc", "u": "-1 cc"}),
        ),
        (
            "gauges/check",
            json!({"job": "v8", "name": "burette", "raw": "0.1 cc", "u": "-1 cc"}),
        ),
        (
            "gauges/compare",
            json!({"job": "v8", "name": "burette", "points": []}),
        ),
        ("gauges/set", setup(json!({"u": "0.1 in"}))),
        ("gauges/set", setup(json!({"profile": "no-such-profile"}))),
        ("gauges/remove", json!({"name": "no-such-gauge"})),
        ("routes/control", json!({"job": "v8", "control": "take"})),
    ];
    let before = kept(&shop);
    for (at, (path, body)) in refused.iter().enumerate() {
        let answer = daemon.api.post(path, &format!("k{at}"), body);
        let answer = answer.expect("it answers");
        assert!(
            (400..500).contains(&answer.status),
            "{path} {body}: {answer:?}"
        );
        let after = kept(&shop);
        let changed: Vec<&String> = after
            .iter()
            .filter(|(name, text)| before.get(*name) != Some(text))
            .map(|(name, _)| name)
            .collect();
        assert!(changed.is_empty(), "{path} {body} left {changed:?}");
        assert_eq!(after.len(), before.len(), "{path} {body}");
    }
}

#[test]
fn a_gauge_is_not_changed_where_the_pedals_cannot_be_read() {
    let (shop, daemon) = served();
    std::fs::write(shop.program.data().join("pedals.toml"), "no pedals = [").expect("written");
    let before = kept(&shop);
    let setup = json!({"name": "other", "profile": "ascii-volume", "sense": 1});
    let answer = daemon
        .api
        .post("gauges/set", "k1", &json!({"setup": setup}))
        .expect("it answers");
    assert_eq!(answer.status, 422, "{answer:?}");
    assert_eq!(kept(&shop), before);
}
