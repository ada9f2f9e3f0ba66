//! A route that begins anew or is taken up, readings that are moved, and what is asked because of a
//! value before.

use serde_json::{Value, json};

use super::by_hand_tests::{ENGINE, Shop, shown};

fn flow(afresh: bool) -> Value {
    let lift = json!({"lift": ["2mm", "4mm", "6mm", "8mm"]});
    json!({"route": "flow", "cylinders": [1], "lists": lift, "rounds": 1, "afresh": afresh})
}

/// Where the route stands: the next stop's spot and round, and how many are taken.
fn stands(progress: &Value) -> (String, u64, usize) {
    let stops = progress["stops"].as_array().unwrap();
    let next = &stops[progress["at"].as_u64().unwrap() as usize];
    let taken = stops.iter().filter(|stop| stop["state"] == "taken").count();
    (
        next["spot"].as_str().unwrap().to_owned(),
        next["round"].as_u64().unwrap(),
        taken,
    )
}

#[test]
fn a_half_way_route_that_starts_over_begins_at_its_first_stop() {
    let mut shop = Shop::new();
    shop.route(flow(false));
    let half_way = shop.types("28.0 and 1.55 inH2O");
    let (spot, ..) = stands(&half_way);
    assert!(spot.ends_with("4mm"), "{spot}");
    shop.control(json!({"control": "end"})).unwrap();
    let over = shop.route(flow(true));
    let (spot, round, taken) = stands(&over);
    assert!(spot.ends_with("2mm"), "{spot}: {over}");
    assert_eq!((round, taken), (2, 0), "{over}");
}

/// A repeat that was broken off is taken up as the repeat that it is, after the daemon started anew too.
#[test]
fn a_repeat_that_stands_half_way_is_taken_up_in_its_own_round() {
    let mut shop = Shop::new();
    shop.route(flow(false));
    for metering in ["1.55", "3.10"] {
        shop.types(&format!("28.0 and {metering} inH2O"));
    }
    shop.control(json!({"control": "end"})).unwrap();
    shop.route(flow(true));
    shop.types("28.0 and 1.56 inH2O");
    shop.starts();
    let up = shop.route(flow(false));
    let (spot, round, taken) = stands(&up);
    assert!(spot.ends_with("4mm"), "{spot}: {up}");
    assert_eq!((round, taken), (2, 1), "{up}");
}

fn moved(shop: &mut Shop, number: u64, to: &str) -> Value {
    let moved = json!({"job": "v8", "number": number, "to": to, "reason": "poured there"});
    shop.ask("readings/move", moved).unwrap();
    shop.ask("jobs/show", json!({"job": "v8"})).unwrap()["route"].clone()
}

/// Chamber 1 was poured twice in place of 1 and 3.
#[test]
fn a_moved_reading_counts_as_the_next_round_of_its_spot() {
    let mut shop = Shop::new();
    let chambers = json!({"route": "chambers", "cylinders": [1, 3], "rounds": 2});
    shop.route(chambers.clone());
    shop.types("64.10 cc");
    shop.types("64.14 cc");
    let expected = [
        "chamber/1 1 64.10 cc",
        "chamber/3 1 ",
        "chamber/1 2 64.14 cc",
        "chamber/3 2 ",
    ];
    let now = moved(&mut shop, 2, "chamber/1");
    assert_eq!(shown(&now), expected);
    shop.starts();
    let again = shop.route(chambers);
    assert_eq!(shown(&again), expected, "{again}");
}

#[test]
fn two_readings_that_are_exchanged_amid_two_rounds_keep_their_rounds() {
    let mut shop = Shop::new();
    let chambers = json!({"route": "chambers", "cylinders": [1, 3], "rounds": 2});
    shop.route(chambers.clone());
    shop.types("64.10 cc");
    shop.types("64.40 cc");
    moved(&mut shop, 1, "chamber/3");
    let now = moved(&mut shop, 2, "chamber/1");
    let expected = [
        "chamber/1 1 64.40 cc",
        "chamber/3 1 64.10 cc",
        "chamber/1 2 ",
        "chamber/3 2 ",
    ];
    assert_eq!(shown(&now), expected);
    shop.starts();
    let again = shop.route(chambers);
    assert_eq!(shown(&again), expected, "{again}");
}

/// The first value of the spot is the slip, and the right one would be asked about as if it were.
#[test]
fn the_only_value_before_is_named_as_the_possible_slip() {
    let metric = ENGINE.replace("units = \"inch\"", "units = \"metric\"");
    let mut shop = Shop::of(&metric);
    let mut enter = |spot: &str, value: &str| {
        let body = json!({"job": "v8", "spot": spot, "value": value});
        shop.ask("readings/enter", body)
    };
    enter("deck/1/front", "0.482 mm").unwrap();
    enter("deck/3/front", "0.0539 mm").unwrap();
    let asked = enter("deck/3/front", "0.539 mm").unwrap_err().to_string();
    assert!(asked.contains("0.0539 mm, the slip"), "{asked}");
    assert!(asked.contains("benchhand void JOB 2"), "{asked}");
    // Where another cylinder speaks for the value before, that one is no slip.
    enter("deck/7/front", "0.485 mm").unwrap();
    enter("deck/5/front", "0.490 mm").unwrap();
    let asked = enter("deck/5/front", "0.049 mm").unwrap_err().to_string();
    assert!(!asked.contains("the slip?"), "{asked}");
}

#[test]
fn the_lift_before_is_told_in_the_unit_of_the_job() {
    for (units, told) in [("inch", "0.157 in:"), ("metric", "4.00 mm:")] {
        let engine = ENGINE.replace("units = \"inch\"", &format!("units = \"{units}\""));
        let mut shop = Shop::of(&engine);
        shop.route(flow(false));
        shop.types("28.0 and 1.55 inH2O");
        shop.types("28.0 and 4.60 inH2O");
        let asked = shop.types("28.0 and 4.60 inH2O");
        let text = asked["asked"]["text"].as_str().unwrap_or_default();
        assert!(text.contains("that of the lift before"), "{asked}");
        assert!(text.contains(told), "{text}");
    }
}
