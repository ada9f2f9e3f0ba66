//! Cuts as they are told: flat, tipped and learned; what is not known of the area, the angle and
//! the depths reaches the figures after the cut, and a cut that may not be made is none.

#[path = "common/asking.rs"]
mod asking;

use asking::{FOUR, FOUR_CSV, ask, says, u, value};
use serde_json::{Value, json};

fn mill(question: Value) -> Value {
    ask(FOUR, FOUR_CSV, question)
}

fn head(document: &Value) -> &Value {
    &document["answer"]["heads"][0]
}

/// Expected by hand: for each cylinder the chamber is less by area times depth, and by u of the
/// area times depth.
#[test]
fn what_is_not_known_of_the_area_is_not_known_of_the_chamber_after_the_cut() {
    let found = mill(json!({"ask": "mill", "ratio": 11.8}));
    let head = head(&found);
    let depth = value(&head["depth"]);
    for one in head["cylinders"].as_array().unwrap() {
        let taken = &one["chamber"]["difference"];
        assert!((value(taken) + 5.0 * depth).abs() < 1e-9, "{taken}");
        assert!((u(taken) - 0.05 * depth).abs() < 1e-9, "{taken}");
    }
    // The area's part of the mean ratio: about (ratio - 1)²/Vs for each cc, the swept volume of
    // 86 x 86 mm being 500 cc; what is left without it is of the other inputs.
    let exact = mill(json!({"ask": "mill", "ratio": 11.8, "area": "5000 mm2 +- 0 mm2"}));
    let of = |found: &Value| u(&found["answer"]["compression_mean"]["difference"]);
    let part = (of(&found).powi(2) - of(&exact).powi(2)).sqrt();
    let share = part / u(&head["cylinders"][0]["chamber"]["difference"]);
    let expected = 10.8f64.powi(2) / 500.0;
    assert!((share / expected - 1.0).abs() < 0.02, "{share} {expected}");
}

#[test]
fn the_angles_uncertainty_goes_into_the_depth_at_the_line() {
    let tipped = |angle: &str| {
        mill(json!({"ask": "mill", "ratio": 11.8, "angle": angle, "centroid": "60 mm +- 0 mm"}))
    };
    let exact = u(&head(&tipped("0.5 deg +- 0 deg"))["depth_at_pivot"]);
    let found = tipped("0.5 deg +- 0.4 deg");
    let per_degree = 1f64.to_radians() / 0.5f64.to_radians().cos().powi(2);
    let expected = exact.hypot(60.0 * 0.4 * per_degree);
    let pivot = u(&head(&found)["depth_at_pivot"]);
    assert!((pivot - expected).abs() < 1e-12, "{pivot} {expected}");
    // 5 cc for each millimetre; the depth at the line is set, the angle is not known better.
    let taken = u(&head(&found)["cylinders"][0]["chamber"]["difference"]);
    assert!((taken / (5.0 * 60.0 * 0.4 * per_degree) - 1.0).abs() < 1e-3);
    let unknown = tipped("0.5 deg");
    assert!(head(&unknown)["depth_at_pivot"]["u"].is_null());
    assert!(says(&unknown["remarks"], "--angle \"0.5 deg +- 0.1 deg\""));
}

#[test]
fn a_tipped_cut_is_held_against_its_deepest_place() {
    let tipped = |more: Value| {
        let mut question = json!({"ask": "mill", "ratio": 11.8, "angle": "0.5 deg +- 0 deg",
            "centroid": "60 mm +- 0 mm", "most": "1 mm"});
        question
            .as_object_mut()
            .unwrap()
            .extend(more.as_object().unwrap().clone());
        mill(question)
    };
    // 0.16 mm at the centroid leaves the cutter above the face at the line.
    let found = tipped(json!({}));
    assert_eq!(head(&found)["deepest_at"], "centroid");
    assert_eq!(head(&found)["reachable"], true);
    assert!(says(&head(&found)["warnings"], "above the face"));
    assert!(says(&head(&found)["warnings"], "--far-edge"));
    // Tipped to the other side the line is the deepest of the two places that are known.
    let other = tipped(json!({"centroid": "-60 mm +- 0 mm"}));
    assert_eq!(head(&other)["deepest_at"], "pivot");
    assert!(!says(&head(&other)["warnings"], "above the face"));
    // The edge 170 mm from the line is deeper by 110 mm times the tangent.
    let edge = tipped(json!({"far_edge": "170 mm"}));
    let depth = value(&head(&edge)["depth"]);
    let deepest = value(&head(&edge)["deepest"]);
    assert!((deepest - depth - 110.0 * 0.5f64.to_radians().tan()).abs() < 1e-9);
    assert_eq!(head(&edge)["deepest_at"], "far_edge");
    assert_eq!(head(&edge)["reachable"], false, "deeper than 1 mm there");
    let why = head(&edge)["why_not"].as_str().unwrap();
    assert!(why.contains("at the edge of the face"), "{why}");
}

#[test]
fn a_cut_that_may_not_be_made_is_none_and_says_what_the_most_gives() {
    let found = mill(json!({"ask": "mill", "ratio": 14.0}));
    assert_eq!(head(&found)["reachable"], false);
    let why = head(&found)["why_not"].as_str().unwrap();
    assert!(why.contains("0.5000 mm that may be cut"), "{why}");
    // What half a millimetre gives, asked as a change: 5 cc/mm · 0.5 mm.
    let most = mill(json!({"ask": "what-if", "set": ["chamber -= 2.5 cc"]}));
    let mean = value(&most["answer"]["compression_mean"]["after"]);
    assert!(
        why.contains(&format!("mean compression of {mean:.2}")),
        "{why} {mean}"
    );
    assert_eq!(
        value(&found["answer"]["compression_mean"]["difference"]),
        0.0
    );
    assert!(
        !says(&head(&found)["warnings"], "shrinks"),
        "nothing is cut"
    );
    // A target that lies on the other side changes nothing either.
    let other = mill(json!({"ask": "mill", "ratio": 9.0}));
    assert_eq!(head(&other)["reachable"], false);
    assert!(!says(&head(&other)["warnings"], "shrinks"));
}

const CUTS: &str = "[[stages]]\nname = \"as received\"\n[[stages]]\nname = \"cut 1\"\nchanged = [\"chamber\"]\ndepth = \"0.10 mm\"\n[[stages]]\nname = \"cut 2\"\nchanged = [\"chamber\"]\ndepth = \"0.15 mm\"\n";

/// Three volumes of four chambers, at 0, 0.10 and 0.25 mm.
fn cut_chambers() -> String {
    let mut csv = "spot,value,unit,u,gauge,stage\n".to_owned();
    for (stage, volumes) in [
        ("as received", [47.1, 47.2, 47.3, 47.4]),
        ("cut 1", [46.7, 46.7, 46.9, 46.8]),
        ("cut 2", [45.9, 45.9, 46.0, 46.1]),
    ] {
        for (at, cc) in volumes.iter().enumerate() {
            csv += &format!("chamber/{},{cc},cc,,burette,{stage}\n", at + 1);
        }
    }
    for line in FOUR_CSV.lines().filter(|line| line.starts_with("deck")) {
        csv += &format!("{line},as received\n");
    }
    csv
}

#[test]
fn a_learned_slope_says_what_it_does_not_know_and_where_it_ends() {
    let question = || json!({"ask": "mill", "ratio": 11.8, "learn": true, "most": "2 mm"});
    let (engine, csv) = (format!("{FOUR}{CUTS}"), cut_chambers());
    let found = ask(&engine, &csv, question());
    let area = &found["answer"]["area"];
    let taken = &head(&found)["cylinders"][0]["chamber"]["difference"];
    // The relative uncertainty of the slope is that of what the depth takes.
    assert!((u(taken) / -value(taken) - u(area) / value(area)).abs() < 1e-9);
    assert_eq!(found["answer"]["learned_from"], 12);
    assert_eq!(found["answer"]["learned_chambers"], 4);
    assert!(says(&head(&found)["warnings"], "deeper than any cut"));
    assert!(says(
        &found["remarks"],
        "No ± is stated for the depth of cut 1, cut 2"
    ));
    // Both depths too deep by a hundredth make the slope less by a hundredth; each has its part.
    let stated = engine
        .replace("\"0.10 mm\"", "\"0.10 mm +- 0.01 mm\"")
        .replace("\"0.15 mm\"", "\"0.15 mm +- 0 mm\"");
    let wider = ask(&stated, &csv, question());
    assert!(!says(&wider["remarks"], "No ± is stated"));
    let more = u(&wider["answer"]["area"]).powi(2) - u(area).powi(2);
    // By hand: depths 0, d and d + 0.15 of mean volumes 47.25, 46.775 and 45.975.
    let slope = |d: f64| {
        let (x, y) = ([0.0, d, d + 0.15], [47.25, 46.775, 45.975]);
        let (mx, my) = (x.iter().sum::<f64>() / 3.0, y.iter().sum::<f64>() / 3.0);
        let sum = |f: &dyn Fn(usize) -> f64| (0..3).map(f).sum::<f64>();
        1e3 * sum(&|i| (x[i] - mx) * (y[i] - my)) / sum(&|i| (x[i] - mx).powi(2))
    };
    let expected = 0.01 * (slope(0.10001) - slope(0.09999)) / 2e-5;
    assert!(
        (more.sqrt() / expected.abs() - 1.0).abs() < 1e-3,
        "{} {expected}",
        more.sqrt()
    );
}
