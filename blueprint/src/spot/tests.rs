//! Spots as text, compared and sorted.

use std::collections::{BTreeSet, HashSet};

use super::*;

fn spot(text: &str) -> Spot {
    text.parse()
        .unwrap_or_else(|error| panic!("{text}: {error}"))
}

#[test]
fn spots_print_as_they_read() {
    for text in [
        "chamber/3",
        "crown/3",
        "crown/3/fluid",
        "crown/3/depth",
        "deck/5",
        "deck/5/front",
        "deck/5/antithrust",
        "deck/5/quench-pad",
        "bore/2",
        "bore/2/top/thrust",
        "bore/2/25mm/pin",
        "stroke/1",
        "rod/8",
        "height/2",
        "skirt/2",
        "block/1/front",
        "gasket/bore",
        "gasket/thickness",
        "gasket/thickness/1",
        "flow/4/intake/7.62mm",
        "flow/4/intake/long/7.62mm",
        "runner/3/intake",
        "seat/3/exhaust",
        "valve/3/intake-2",
        "throat/1/intake",
        "gap/3/intake/-12.5deg",
        "chamber/12",
    ] {
        assert_eq!(spot(text).to_string(), text);
    }
}

#[test]
fn lifts_and_depths_are_compared_as_values() {
    let by_inch = spot("flow/4/intake/0.300in");
    let by_mm = spot("flow/4/intake/7.62mm");
    assert_eq!(by_inch, by_mm);
    assert_eq!(by_inch.to_string(), "flow/4/intake/7.62mm");
    assert_eq!(spot("flow/4/intake/300thou"), by_mm);
    assert_eq!(HashSet::from([by_inch, by_mm.clone()]).len(), 1);
    assert_ne!(spot("flow/4/intake/7.621mm"), by_mm);
    assert_eq!(spot("bore/2/1in/pin"), spot("bore/2/25.4mm/pin"));
    assert_eq!(spot("gap/3/intake/10deg"), spot("gap/3/intake/10.000deg"));
    for (one, other) in [
        ("-10", "350"),
        ("180", "-180"),
        ("12.5", "-707.5"),
        ("0", "720"),
    ] {
        let of = |angle: &str| spot(&format!("gap/3/intake/{angle}deg"));
        assert_eq!(of(one), of(other));
        assert_eq!(of(other).to_string(), format!("gap/3/intake/{one}deg"));
    }
    assert_eq!(
        spot("flow/4/intake/0.0005in").to_string(),
        "flow/4/intake/0.0127mm"
    );
}

#[test]
fn spots_sort_by_cylinder_and_lift() {
    let texts = [
        "flow/2/intake/12.7mm",
        "flow/2/intake/5mm",
        "flow/10/intake/5mm",
        "chamber/10",
    ];
    let sorted: Vec<String> = texts
        .iter()
        .map(|text| spot(text))
        .collect::<BTreeSet<_>>()
        .iter()
        .map(Spot::to_string)
        .collect();
    assert_eq!(
        sorted,
        [
            "chamber/10",
            "flow/2/intake/5mm",
            "flow/2/intake/12.7mm",
            "flow/10/intake/5mm"
        ]
    );
}

#[test]
fn spots_that_do_not_exist_say_what_was_expected() {
    let error = "piston/3".parse::<Spot>().unwrap_err().to_string();
    assert!(
        error.contains("\"piston\"") && error.contains("chamber, deck, crown"),
        "{error}"
    );
    for (text, hint) in [
        ("chamber", "chamber/3"),
        ("chamber/x", "chamber/3"),
        ("chamber/0", "chamber/3"),
        ("chamber/3/4", "chamber/3"),
        ("flow/4/intake", "7.62mm"),
        ("flow/4/intake/7.62", "7.62mm"),
        ("flow/4/intake/-1mm", "7.62mm"),
        ("deck/5/front/left", "deck/5/front"),
        ("gasket/weight", "gasket/bore"),
        ("gap/3/intake/10", "10deg"),
        ("chamber/+3", "chamber/3"),
    ] {
        let error = text.parse::<Spot>().unwrap_err().to_string();
        assert!(error.contains(text) && error.contains(hint), "{error}");
    }
}

#[test]
fn a_spot_moves_to_another_cylinder() {
    assert_eq!(spot("deck/3/front").at_cylinder(5), spot("deck/5/front"));
    assert_eq!(spot("gasket/bore").at_cylinder(5), spot("gasket/bore"));
}
