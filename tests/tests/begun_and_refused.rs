//! What a person meets when he zeroes the wrong gauge, checks one channel of two, or takes a part of a
//! route up again.

use benchhand_tests::refusals::{CANNOT_BE_USED, NOT_THERE, refused};
use benchhand_tests::shop::{Shop, example};
use serde_json::{Value, json};

/// A shop with a job, a flow bench and a burette, both read by eye.
fn by_eye() -> Shop {
    let shop = Shop::new();
    let program = &shop.program;
    let engine = example("invented-v8.toml").display().to_string();
    program.json(&["job", "new", "v8", &engine]);
    let bench = ["gauge", "set", "bench", "--profile", "labelled-flow"];
    program.json(&[&bench[..], &["--resolution", "0.01 inH2O"]].concat());
    let glass = ["gauge", "set", "glass", "--profile", "ascii-volume"];
    program.json(&[&glass[..], &["--resolution", "0.1 cc"]].concat());
    shop
}

#[test]
fn a_manometer_and_a_burette_take_no_zero_that_would_do_nothing() {
    let shop = by_eye();
    for (gauge, shows, todo) in [
        ("bench", "0.51 inH2O", "--channel"),
        ("glass", "0.4 cc", "nothing to zero"),
    ] {
        let zero = ["gauge", "zero", gauge, "--job", "v8", "--raw", shows];
        refused(&shop, &zero, CANNOT_BE_USED, &[todo]);
    }
}

#[test]
fn a_check_is_of_the_channel_that_was_named() {
    let shop = by_eye();
    let check = |channel| {
        let args = ["gauge", "check", "bench", "--job", "v8", "--channel"];
        [&args[..], &[channel, "--raw", "0.40 inH2O", "--json"]].concat()
    };
    refused(&shop, &check("nonsense"), NOT_THERE, &["metering"]);
    let ran = shop.program.run(&check("metering"));
    assert_eq!(ran.json()["error"], 0.4, "{}", ran.err);
    let journal = String::from_utf8(shop.journal()).expect("text");
    let kept = journal.lines().last().expect("a line");
    let kept: Value = serde_json::from_str(kept).expect("a line of the record");
    assert!(kept.to_string().contains("\"channel\":1"), "{kept}");
}

#[test]
fn a_part_of_a_route_is_taken_up_as_that_part() {
    let shop = by_eye();
    let daemon = shop.program.serve(&[]);
    let start = |key: &str, more: Value| {
        let mut body = json!({"job": "v8", "route": "chambers", "gauges": {"volume": "glass"}});
        for (name, value) in more.as_object().expect("an object") {
            body[name] = value.clone();
        }
        let begun = daemon.api.post("routes/start", key, &body);
        let begun = begun.expect("it answers").good();
        let end = json!({"job": "v8", "control": "end"});
        let ended = daemon
            .api
            .post("routes/control", &format!("{key} end"), &end);
        ended.expect("it answers").good();
        let stops = begun["stops"].as_array().expect("stops");
        let spots = stops.iter().map(|stop| stop["spot"].clone());
        spots.collect::<Vec<Value>>()
    };
    let part = start("part", json!({"cylinders": [3, 1], "rounds": 1}));
    assert_eq!(part, ["chamber/3", "chamber/1"]);
    assert_eq!(start("again", json!({})), part);
    // Who chooses anew, or starts over, gets what he chose.
    assert_eq!(
        start("other", json!({"cylinders": [5], "rounds": 1})).len(),
        1
    );
    assert_eq!(start("over", json!({"afresh": true})).len(), 16);
}
