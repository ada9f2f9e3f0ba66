//! Spots as text, compared and sorted.

use std::collections::{BTreeSet, HashSet};

use super::*;
use crate::engine::LengthUnits;

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
        "free/spring_height/3/intake",
        "free/spring_height/3",
        "free/end_play",
        "free/cam_bore/rear",
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
        ("free", "free/spring_height/3/intake"),
        (
            "free/spring_height/3/intake/9",
            "free/spring_height/3/intake",
        ),
        ("free/spring_height/0", "free/spring_height/3/intake"),
    ] {
        let error = text.parse::<Spot>().unwrap_err().to_string();
        assert!(error.contains(text) && error.contains(hint), "{error}");
    }
}

#[test]
fn what_is_typed_with_or_without_the_slash_singular_or_plural_is_the_same_spot() {
    for (typed, canonical) in [
        ("chamber 3", "chamber/3"),
        ("Chamber 3", "chamber/3"),
        ("chambers/3", "chamber/3"),
        ("chamber3", "chamber/3"),
        ("CHAMBERS  12", "chamber/12"),
        ("deck 5 front", "deck/5/front"),
        ("Deck 5/Front", "deck/5/front"),
        ("crowns 3 fluid", "crown/3/fluid"),
        ("gasket thickness 1", "gasket/thickness/1"),
        ("bores 2 25 mm pin", "bore/2/25mm/pin"),
        ("flow 4 intake 0.300in", "flow/4/intake/7.62mm"),
        ("flow 4 intake 0.300 in", "flow/4/intake/7.62mm"),
        ("flow 4 intake long 7.62 mm", "flow/4/intake/long/7.62mm"),
        ("gap 3 intake -12.5 deg", "gap/3/intake/-12.5deg"),
        ("gap 3 intake 10°", "gap/3/intake/10deg"),
        ("runners 3 intake", "runner/3/intake"),
        ("Free Spring_Height 3 Intake", "free/spring_height/3/intake"),
    ] {
        assert_eq!(spot(typed).to_string(), canonical, "{typed}");
    }
    for text in [
        "chamber//3",
        "chamber/3/",
        "chamber 3 4",
        "deck 5 0.3in",
        "/3",
    ] {
        assert!(text.parse::<Spot>().is_err(), "{text}");
    }
}

#[test]
fn a_lift_without_a_unit_is_in_the_engines() {
    let said = |text, units| Spot::typed(text, units).map(|spot| spot.to_string());
    let (inch, metric) = (LengthUnits::Inch, LengthUnits::Metric);
    let lift = "flow 4 intake 0.3";
    assert_eq!(said(lift, inch), Ok("flow/4/intake/7.62mm".to_owned()));
    assert_eq!(said(lift, metric), Ok("flow/4/intake/0.3mm".to_owned()));
    assert_eq!(
        said("gap 3 intake 10", inch),
        Ok("gap/3/intake/10deg".to_owned())
    );
    assert_eq!(said("chamber 3", inch), Ok("chamber/3".to_owned()));
    assert!(said("chamber 3 4", inch).is_err());
    assert!(said("flow 4 intake -1", inch).is_err());
}

#[test]
fn a_family_that_does_not_exist_is_answered_with_the_one_that_was_meant() {
    let error = "chamer/3".parse::<Spot>().unwrap_err().to_string();
    assert!(error.contains("did you mean chamber?"), "{error}");
    let error = "piston 3".parse::<Spot>().unwrap_err().to_string();
    assert!(!error.contains("did you mean"), "{error}");
}

/// Every family has a spot that begins with its name and belongs to it.
#[test]
fn every_family_reads_its_own_spot() {
    for &family in SpotFamily::ALL {
        let forms = [
            "/3",
            "/3/intake",
            "/bore",
            "/3/intake/1mm",
            "/3/intake/1deg",
        ];
        let mut all = forms.iter().map(|form| format!("{family}{form}"));
        let one = all.find_map(|text| text.parse::<Spot>().ok());
        assert_eq!(one.map(|spot| spot.family()), Some(family), "{family}");
    }
}

#[test]
fn a_spot_moves_to_another_cylinder() {
    assert_eq!(spot("deck/3/front").at_cylinder(5), spot("deck/5/front"));
    assert_eq!(spot("gasket/bore").at_cylinder(5), spot("gasket/bore"));
    let height = spot("free/spring_height/3/intake").at_cylinder(5);
    assert_eq!(height, spot("free/spring_height/5/intake"));
    assert_eq!(spot("free/end_play").at_cylinder(5), spot("free/end_play"));
}
