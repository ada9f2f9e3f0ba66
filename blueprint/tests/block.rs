//! Bores, parts and piston-to-valve clearances in the report, against hand calculation and against
//! the geometry of crank and rod.

use benchhand_blueprint::formula::crank::{Crank, valve_gap, valve_gap_after_cut};
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

const ENGINE: &str = r#"name = "check"
units = "metric"
cylinders = 2
bore = "101.6 mm +- 0.002 mm"
stroke = "88.4 mm +- 0.01 mm"
rod = "154.4 mm +- 0.02 mm"
block_height = "229.00 mm +- 0.02 mm"
torque_plate = true
[piston]
compression_height = "30.0 mm +- 0.01 mm"
skirt = "101.55 mm +- 0.005 mm"
[gasket]
bore = "104 mm"
thickness = "1 mm"
[cylinder.2]
rod = "154.5 mm +- 0.02 mm"
piston_part = "P7"
rod_part = "R2"
"#;

fn report_of(csv: &str) -> Report {
    report_with(ENGINE, csv)
}

fn report_with(engine: &str, csv: &str) -> Report {
    let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn a_measured_bore_has_its_form_its_clearance_and_takes_the_stated_ones_place() {
    let report = report_of(
        "spot,value,unit,u
bore/1/top/pin,101.612,mm,0.002
bore/1/top/thrust,101.608,mm,0.002
bore/1/mid/pin,101.606,mm,0.002
bore/1/mid/thrust,101.604,mm,0.002
bore/1/bottom/pin,101.602,mm,0.002
bore/1/bottom/thrust,101.598,mm,0.002
",
    );
    let bore = &report.bores[0];
    let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found}");
    near(
        bore.out_of_round.clone().expect("both directions").value,
        0.004,
    );
    near(
        bore.roundness_if_oval
            .clone()
            .expect("both directions")
            .value,
        0.002,
    );
    near(bore.taper.clone().expect("three heights").value, 0.010);
    near(
        bore.taper_worst.clone().expect("three heights").value,
        0.010,
    );
    // The skirt runs across the pin, where the bore is least.
    let clearance = bore.piston_clearance.clone().expect("a clearance");
    near(clearance.value, 101.598 - 101.55);
    near(
        clearance.u.expect("known"),
        (0.002f64.powi(2) + 0.005f64.powi(2)).sqrt(),
    );
    assert_eq!((bore.heights, bore.torque_plate), (3, Some(true)));
    let swept = |number: u32| {
        report
            .cylinder(number)
            .expect("a cylinder")
            .swept
            .clone()
            .expect("bore and stroke")
            .value
    };
    let ratio = swept(1) / swept(2);
    assert!(
        (ratio - (101.605000097f64 / 101.6).powi(2)).abs() < 1e-10,
        "{ratio}"
    );
}

/// At 100 mm nothing was measured along the pin: there is no mean diameter there, hence no taper of
/// means, and none of nothing either.
#[test]
fn a_height_measured_in_one_direction_gives_no_taper_of_means_and_is_not_lost() {
    let report = report_of(
        "spot,value,unit,u
bore/2/25mm/thrust,101.612,mm,0.002
bore/2/25mm/pin,101.600,mm,0.002
bore/2/100mm/thrust,101.604,mm,0.002
bore/1/top/pin,101.600,mm,0.002
bore/1/top/thrust,101.603,mm,0.002
",
    );
    let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found}");
    let [one, two] = &report.bores[..] else {
        panic!("two bores: {:?}", report.bores);
    };
    assert_eq!(two.taper, None);
    let worst = two
        .taper_worst
        .clone()
        .expect("thrust was measured at two heights");
    near(worst.value, 0.008);
    near(worst.u.expect("known"), 0.002 * 2f64.sqrt());
    near(two.out_of_round.clone().expect("at 25 mm").value, 0.012);
    near(
        two.piston_clearance.clone().expect("a clearance").value,
        0.054,
    );
    assert_eq!(
        two.piston_clearance_at
            .as_ref()
            .map(ToString::to_string)
            .as_deref(),
        Some("bore/2/100mm/thrust")
    );
    let spots: Vec<String> = two
        .diameters
        .iter()
        .map(|one| one.spot.to_string())
        .collect();
    for spot in [
        "bore/2/25mm/thrust",
        "bore/2/25mm/pin",
        "bore/2/100mm/thrust",
    ] {
        assert!(spots.iter().any(|one| one == spot), "{spots:?}");
    }
    assert!(
        report
            .findings
            .iter()
            .any(|one| one.spot == "bore/2/100mm/pin"),
        "{:?}",
        report.findings
    );
    // One height has no taper at all.
    assert_eq!((one.taper.clone(), one.taper_worst.clone()), (None, None));
    // A bore that was measured as one value is shown with its form unknown.
    let whole = report_of("spot,value,unit,u\nbore/1,101.61,mm,0.002\n");
    near(whole.bores[0].diameter.value, 101.61);
    assert_eq!(whole.bores[0].out_of_round, None);
}

#[test]
fn the_deck_follows_from_the_parts_apart_from_the_mock_up() {
    let report = report_of(
        "spot,value,unit\ndeck/1,0.35,mm\nblock/2/front,229.10,mm\nblock/2/rear,229.20,mm\n",
    );
    let deck = |number: u32| {
        report
            .cylinder(number)
            .expect("a cylinder")
            .deck_from_parts
            .clone()
            .expect("all known")
    };
    assert!((deck(1).value - (229.0 - 44.2 - 154.4 - 30.0)).abs() < 1e-9);
    // u² = block² + (stroke/2)² + rod² + height².
    let u = (0.02f64.powi(2) + 0.005f64.powi(2) + 0.02f64.powi(2) + 0.01f64.powi(2)).sqrt();
    assert!((deck(1).u.expect("known") - u).abs() < 1e-12);
    assert!((deck(2).value - (229.15 - 44.2 - 154.5 - 30.0)).abs() < 1e-9);
    assert_eq!(
        deck(2).u,
        None,
        "nothing is known of the gauge at the block"
    );
    let second = report.cylinder(2).expect("cylinder 2");
    assert_eq!(second.piston_part.as_deref(), Some("P7"));
    assert_eq!(second.rod_part.as_deref(), Some("R2"));
    assert!(
        report
            .measured
            .iter()
            .any(|one| one.spot.to_string() == "block/2/front" && one.readings == 1)
    );
}

#[test]
fn the_least_distance_of_valve_and_piston_is_found_between_the_measured_angles() {
    // True distances of a lift curve that is a parabola about 105 degrees after top dead centre.
    let crank = Crank {
        radius: 44.2,
        rod: 154.4,
        offset: 0.0,
    };
    let lift = |angle: f64| 12.0 * (1.0 - ((angle - 105.0) / 120.0).powi(2)).max(0.0);
    let gap = |angle: f64| valve_gap(&crank, &6.5, &lift(angle), 10.0, &angle);
    let mut csv = "spot,value,unit,u\n".to_owned();
    for angle in [0.0, 4.0, 8.0, 12.0, 16.0, 20.0] {
        csv += &format!("gap/1/intake/{angle}deg,{:.6},mm,0.02\n", gap(angle));
    }
    csv += "gap/2/exhaust/-10deg,3.0,mm,0.02\ngap/2/exhaust/-5deg,2.5,mm,0.02\n";
    let report = report_of(&csv);
    let first = &report.valve_gaps[0];
    let fine = (0..2000)
        .map(|at| gap(f64::from(at) * 0.01))
        .fold(f64::INFINITY, f64::min);
    let (least, at) = first.enclosed.clone().expect("enclosed");
    assert!((least.value - fine).abs() < 0.002, "{} {fine}", least.value);
    assert!((gap(at.value) - fine).abs() < 0.002);
    assert!(first.least.value >= fine - 1e-6 && least.u.expect("known") < 0.05);
    assert_eq!(first.points.len(), 6);
    // At the end of what was measured it may still be falling.
    assert_eq!(report.valve_gaps[1].enclosed, None);
    assert_eq!(report.valve_gaps[1].least_at.value, -5.0);
    // A head milled by 0.5 mm takes cos φ of it.
    let after = valve_gap_after_cut(&fine, &0.5, 10.0);
    assert!((fine - after - 0.5 * 10f64.to_radians().cos()).abs() < 1e-12);
}

/// With an offset e the pin stands √((L+r)² − e²) above the crank at top dead centre (formulas 4.4),
/// and the throw is a little less than half of the travel.
#[test]
fn the_deck_from_the_parts_knows_the_offset_of_the_pin() {
    let offset = "[piston]\npin_offset = \"1.524 mm +- 0.05 mm\"";
    let report = report_with(
        &ENGINE.replace("[piston]", offset),
        "spot,value,unit\ndeck/1,0.35,mm\n",
    );
    let deck = report
        .cylinder(1)
        .and_then(|one| one.deck_from_parts.clone());
    let found = deck.expect("all known").value;
    let (stroke, rod, e) = (88.4f64, 154.4f64, 1.524f64);
    let travel = |r: f64| ((rod + r).powi(2) - e * e).sqrt() - ((rod - r).powi(2) - e * e).sqrt();
    let (mut low, mut high) = (44.0, 44.2);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if travel(middle) < stroke {
            low = middle
        } else {
            high = middle
        }
    }
    let expected = 229.0 - ((rod + low).powi(2) - e * e).sqrt() - 30.0;
    assert!((found - expected).abs() < 1e-9, "{found} {expected}");
    assert!(found - (229.0 - 44.2 - 154.4 - 30.0) > 0.005);
}

/// 350 degrees are 10 before top dead centre: a repeat of it, and no end on the other side.
#[test]
fn angles_are_counted_from_top_dead_centre_both_ways() {
    let report = report_of(
        "spot,value,unit,u
gap/1/exhaust/-20deg,3.1,mm,0.1
gap/1/exhaust/-10deg,2.9,mm,0.1
gap/1/exhaust/350deg,2.8,mm,0.1
gap/1/exhaust/0deg,3.2,mm,0.1
",
    );
    let gaps = &report.valve_gaps[0];
    let angles: Vec<f64> = gaps.points.iter().map(|(angle, _)| angle.value).collect();
    assert_eq!(angles, [-20.0, -10.0, 0.0]);
    assert!((gaps.least.value - 2.85).abs() < 1e-12);
    assert!(gaps.enclosed.is_some());
}

#[test]
fn rock_is_half_the_difference_of_the_thrust_sides_and_not_in_the_mean() {
    let report = report_of(
        "spot,value,unit,u
deck/1/thrust,0.30,mm,0.01
deck/1/antithrust,0.20,mm,0.01
deck/2/thrust,0.30,mm,0.01
",
    );
    let first = report.cylinder(1).expect("cylinder 1");
    assert!((first.rock.clone().expect("rock").value - 0.05).abs() < 1e-12);
    assert!((first.deck.clone().expect("a deck").value - 0.25).abs() < 1e-12);
    // One thrust side alone carries rock: it is no deck clearance.
    assert_eq!(report.cylinder(2).expect("cylinder 2").deck, None);
    assert!(
        report
            .findings
            .iter()
            .any(|one| one.spot == "deck/2/antithrust")
    );
}

#[test]
fn a_crown_poured_in_the_bore_is_used_with_its_depth() {
    let report = report_of(
        "spot,value,unit,u
crown/1/fluid,57.4,cc,0.1
crown/1/depth,6.35,mm,0.01
crown/2/fluid,57.4,cc,0.1
",
    );
    let crown = report
        .cylinder(1)
        .expect("cylinder 1")
        .crown
        .clone()
        .expect("a crown");
    let plain = std::f64::consts::PI / 4.0 * 101.6f64.powi(2) * 6.35 / 1000.0;
    assert!((crown.value - (plain - 57.4)).abs() < 1e-9);
    // The depth and the liquid count most, the bore a little.
    assert!(
        (crown.u.expect("known") - 0.1288).abs() < 0.001,
        "{crown:?}"
    );
    assert!(
        report
            .findings
            .iter()
            .any(|one| one.spot == "crown/2/depth")
    );
}
