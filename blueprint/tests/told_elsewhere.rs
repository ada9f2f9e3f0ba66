//! What a gasket, a crown or a change does elsewhere is told: quench by the report's own rule, the
//! measured piston-to-valve clearances, and cylinders that one crown for all does not bring in. What
//! is decided hits its target when it is applied.

#[path = "common/asking.rs"]
mod asking;

use asking::{FOUR, FOUR_CSV, ask, says, try_ask, u, value};
use serde_json::{Value, json};

const V8: &str = include_str!("../../examples/invented-v8.toml");
const V8_CSV: &str = include_str!("../../examples/invented-v8-readings.csv");

fn four(question: Value) -> Value {
    ask(FOUR, FOUR_CSV, question)
}

/// The invented four with intake valves at 15 degrees, and a measured distance at each valve of
/// cylinder 1.
fn with_gaps(question: Value) -> Value {
    let engine = format!("{FOUR}[ports.intake]\ninclination = \"15 deg +- 1 deg\"\n");
    let csv = format!(
        "{FOUR_CSV}gap/1/intake/0deg,2.6,mm,,dial\ngap/1/intake/10deg,1.9,mm,,dial\ngap/1/intake/20deg,2.2,mm,,dial\ngap/1/exhaust/0deg,2.9,mm,,dial\n"
    );
    ask(&engine, &csv, question)
}

fn mean_after(document: &Value) -> f64 {
    value(&document["answer"]["compression_mean"]["after"])
}

#[test]
fn a_crown_and_a_gasket_thickness_applied_hit_the_mean_ratio_to_rounding() {
    // Bores, crowns and crevices differ, so that the mean of the volumes is another one.
    let dome = four(json!({"ask": "dome", "ratio": 12.5}));
    let crown = value(&dome["answer"]["crown"]);
    let after = four(json!({"ask": "what-if", "set": [format!("crown = {crown} cc")]}));
    assert!(
        (mean_after(&after) - 12.5).abs() < 1e-10,
        "{}",
        mean_after(&after)
    );
    let each: Vec<f64> = dome["answer"]["cylinders"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| value(&one["crown"]))
        .collect();
    let of_volumes = each.iter().sum::<f64>() / 4.0;
    assert!(
        (of_volumes - crown).abs() > 1e-5,
        "the two means differ here"
    );
    let offers = json!([{"name": "one", "bore": "87.5 mm", "thickness": "1 mm"}]);
    let gasket = four(json!({"ask": "gasket", "ratio": 11.5, "offers": offers}));
    let wanted = value(&gasket["answer"]["thickness_wanted"]);
    let set = format!("gasket thickness = {wanted} mm");
    let after = four(json!({"ask": "what-if", "set": [set]}));
    assert!(
        (mean_after(&after) - 11.5).abs() < 1e-10,
        "{}",
        mean_after(&after)
    );
}

#[test]
fn a_cylinder_that_no_crown_tolerance_brings_in_is_named() {
    let found = ask(
        V8,
        V8_CSV,
        json!({"ask": "dome", "ratio": 10.8, "ratio_tolerance": 0.05}),
    );
    let answer = &found["answer"];
    assert_eq!(answer["beyond"], json!([6]), "its chamber is the large one");
    let off = value(&answer["cylinders"][5]["off_target"]);
    assert!(off < -0.05, "{off}");
    assert!(answer["tolerance_each"].is_null());
    // Wide enough for all, also for the one whose two deck points disagree: then the tolerance for each is less than that for the mean.
    let wide = ask(
        V8,
        V8_CSV,
        json!({"ask": "dome", "ratio": 10.8, "ratio_tolerance": 2.0}),
    );
    let (mean, each) = (
        value(&wide["answer"]["tolerance"]),
        value(&wide["answer"]["tolerance_each"]),
    );
    assert_eq!(wide["answer"]["beyond"], json!([]));
    assert!(0.0 < each && each < mean, "{each} {mean}");
    // A crown off by it leaves the worst cylinder within, with its expanded uncertainty to spare.
    let crown = value(&wide["answer"]["crown"]) - each;
    let set = format!("crown = {crown} cc");
    let after = ask(V8, V8_CSV, json!({"ask": "what-if", "set": [set]}));
    for one in after["answer"]["cylinders"].as_array().unwrap() {
        let ratio = &one["compression"]["after"];
        assert!(value(ratio) > 8.8, "{ratio}");
    }
}

#[test]
fn what_cannot_be_built_is_said() {
    let dome = four(json!({"ask": "dome", "ratio": 100.0}));
    assert!(says(&dome["answer"]["warnings"], "cannot be built"));
    let possible = four(json!({"ask": "dome", "ratio": 12.0}));
    assert!(!says(&possible["answer"]["warnings"], "cannot be built"));
    let offers = json!([{"name": "one", "bore": "87.5 mm", "thickness": "1 mm"}]);
    let gasket = four(json!({"ask": "gasket", "ratio": 30.0, "offers": offers}));
    assert!(gasket["answer"]["thickness_wanted"].is_null());
    assert!(says(
        &gasket["remarks"],
        "No gasket gives a compression of 30"
    ));
}

#[test]
fn quench_is_held_against_its_limits_by_the_rule_of_the_report() {
    // Decks of 0.16, -0.12, -0.10 and 0.16 mm, the least quench 0.9 mm.
    let offer = |thickness: &str| {
        let offers = json!([{"name": "one", "bore": "87.5 mm +- 0.05 mm", "thickness": thickness}]);
        let found = four(json!({"ask": "gasket", "offers": offers}));
        found["answer"]["gaskets"][0]["warnings"].clone()
    };
    let near = offer("1.03 mm +- 0.005 mm");
    assert!(says(
        &near,
        "cylinder 2 keeps to the least that is wanted, 0.9000 mm, is too close to call"
    ));
    assert!(!says(&near, "would be less"));
    let thin = offer("0.6 mm +- 0.005 mm");
    assert!(says(
        &thin,
        "cylinders 1, 2, 3, 4 would be less than the least"
    ));
    let thick = offer("1.2 mm +- 0.005 mm");
    assert!(!says(&thick, "quench distance of"));
    // What if says the same of the same.
    let changed = four(json!({"ask": "what-if", "set": ["gasket thickness = 0.6 mm +- 0.005 mm"]}));
    assert!(says(
        &changed["answer"]["warnings"],
        "cylinders 1, 2, 3, 4 would be less than the least"
    ));
    let other = four(json!({"ask": "what-if", "set": ["chamber += 1 cc"]}));
    assert!(!says(&other["answer"]["warnings"], "quench distance of"));
}

/// Expected by `docs/formulas.md`, section 6: the distance shrinks by what head and piston come
/// closer, times the cosine of the valve's inclination.
#[test]
fn measured_valve_distances_follow_a_gasket_and_a_change() {
    let cos = 15f64.to_radians().cos();
    let gap = |gaps: &Value, port: &str| {
        let found = gaps
            .as_array()
            .unwrap()
            .iter()
            .find(|one| one["port"] == port);
        let found = found.unwrap_or_else(|| panic!("no {port} in {gaps}"));
        (
            value(&found["before"]) - value(&found["after"]),
            u(&found["after"]),
        )
    };
    let offers = json!([{"name": "one", "bore": "87.5 mm", "thickness": "0.8 mm +- 0.02 mm"}]);
    let found = with_gaps(json!({"ask": "gasket", "offers": offers}));
    let gaps = &found["answer"]["gaskets"][0]["valve_gaps"];
    assert!((gap(gaps, "intake").0 - 0.3 * cos).abs() < 1e-12);
    assert!(
        (gap(gaps, "exhaust").0 - 0.3).abs() < 1e-12,
        "not stated: along the bore"
    );
    assert!(says(
        &found["remarks"],
        "inclination of the valves of exhaust is not stated"
    ));
    // Both thicknesses have their uncertainty, 0.03 and 0.02 mm.
    assert!(gap(gaps, "exhaust").1 > 0.03f64.hypot(0.02));
    let found = with_gaps(json!({"ask": "what-if",
        "set": ["gasket thickness -= 0.1 mm", "block height/1 -= 0.2 mm"]}));
    let gaps = &found["answer"]["valve_gaps"];
    assert!((gap(gaps, "intake").0 - 0.3 * cos).abs() < 1e-12);
    let touch = with_gaps(json!({"ask": "what-if", "set": ["deck/1 -= 3 mm"]}));
    assert!(says(
        &touch["answer"]["warnings"],
        "the exhaust valve of cylinder 1 would meet the piston"
    ));
    assert!(says(
        &touch["answer"]["warnings"],
        "the intake valve of cylinder 1 would meet the piston"
    ));
    // Where no formula says what becomes of them, that is said.
    let crown = with_gaps(json!({"ask": "what-if", "set": ["crown/1 = 4 cc"]}));
    assert!(says(
        &crown["answer"]["warnings"],
        "cylinder 1 intake) hold no longer"
    ));
    let other = with_gaps(json!({"ask": "what-if", "set": ["crown/2 = 4 cc"]}));
    assert!(!says(&other["answer"]["warnings"], "hold no longer"));
    let dome = with_gaps(json!({"ask": "dome", "ratio": 12.0}));
    assert!(says(&dome["answer"]["warnings"], "hold no longer"));
}

#[test]
fn the_deck_follows_rod_block_and_compression_height() {
    let deck = |set: &str| {
        let found = four(json!({"ask": "what-if", "set": [set]}));
        found["answer"]["cylinders"][2]["deck"]["difference"].clone()
    };
    // The third rod is stated as 143.3 mm ± 0.02 mm, the others as 143 mm; the decks are measured.
    let rod = deck("rod/3 = 143.5 mm +- 0.01 mm");
    assert!((value(&rod) + 0.2).abs() < 1e-9 && (u(&rod) - 0.02f64.hypot(0.01)).abs() < 1e-9);
    let block = deck("block height -= 0.25 mm");
    assert!((value(&block) + 0.25).abs() < 1e-9 && u(&block) == 0.0);
    let height = deck("compression height += 0.1 mm +- 0.003 mm");
    assert!((value(&height) + 0.1).abs() < 1e-9 && (u(&height) - 0.003).abs() < 1e-12);
    // Without a height that is known only a difference can be said.
    let bare = FOUR.replace("compression_height = \"31.0 mm +- 0.01 mm\"\n", "");
    let ask = |set: &str| try_ask(&bare, FOUR_CSV, json!({"ask": "what-if", "set": [set]}));
    let error = ask("compression height = 31 mm")
        .expect_err("unknown")
        .to_string();
    assert!(
        error.contains("compression height of cylinder 1 is not known"),
        "{error}"
    );
    assert!(ask("compression height += 0.1 mm").is_ok());
}

#[test]
fn a_change_with_its_uncertainty_brings_it_along() {
    let thickness = |text: &str| {
        let found = four(json!({"ask": "what-if", "set": [format!("gasket thickness = {text}")]}));
        u(&found["answer"]["cylinders"][0]["quench"]["after"])
    };
    let (exact, wide) = (thickness("1.2 mm"), thickness("1.2 mm +- 0.05 mm"));
    assert!((wide - exact.hypot(0.05)).abs() < 1e-12, "{wide} {exact}");
    let crown =
        |set: &str| four(json!({"ask": "what-if", "set": [set]}))["answer"]["warnings"].clone();
    assert!(says(
        &crown("crown = -5 cc"),
        "leaves less metal in the crown"
    ));
    assert!(!says(&crown("crown = -5 cc"), "larger dome"));
    assert!(says(&crown("crown = 7 cc"), "larger dome"));
}
