//! Repeats in the report: those that disagree, those that are all equal, deck clearances of several
//! kinds, and the degrees of freedom of a repeatability that is used at many spots. Against hand
//! calculation by `docs/formulas.md`, section 11.

use benchhand_blueprint::report::{Finding, FindingKind};
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

const ENGINE: &str = r#"name = "check"
units = "metric"
cylinders = 4
bore = "86 mm +- 0 mm"
stroke = "86 mm +- 0 mm"
[piston]
crown = "5.5 cc +- 0 cc"
[gasket]
bore = "87.5 mm +- 0 mm"
thickness = "1.1 mm +- 0 mm"
[gauges.burette]
kind = "burette"
resolution = "0.1 cc"
u = "0 cc"
repeatability = "0.08 cc"
repeatability_dof = 10
[gauges.coarse]
kind = "burette"
resolution = "1 cc"
u = "0 cc"
repeatability = "0.05 cc"
[gauges.dial]
kind = "dial"
resolution = "0.0001 mm"
u = "0 mm"
zero_u = "0 mm"
repeatability = "0.05 mm"
repeatability_dof = 4
[gauges.fine]
kind = "dial"
resolution = "0.01 mm"
u = "0 mm"
zero_u = "0 mm"
repeatability = "0.006 mm"
"#;

fn report_of(csv: &str) -> Report {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let csv = format!("spot,value,unit,u,gauge\n{csv}");
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn u_of_chamber(report: &Report, number: u32) -> f64 {
    let chamber = report.cylinder(number).and_then(|one| one.chamber.clone());
    chamber.expect("a chamber").u.expect("a known uncertainty")
}

fn disagreeing(report: &Report) -> Vec<&Finding> {
    report.findings_of(FindingKind::Disagrees).collect()
}

/// A mean of 45.6 and 54.4 is no better than those two say: s/√2 = 4.4.
#[test]
fn a_mean_of_repeats_that_disagree_is_no_better_than_their_scatter() {
    let report = report_of(
        "chamber/1,45.0,cc,,burette
chamber/1,45.1,cc,,burette
chamber/2,45.3,cc,,burette
chamber/2,45.2,cc,,burette
chamber/4,45.6,cc,,burette
chamber/4,54.4,cc,,burette
",
    );
    assert_eq!(disagreeing(&report)[0].spot, "chamber/4");
    let (good, bad) = (u_of_chamber(&report, 1), u_of_chamber(&report, 4));
    assert!((4.4..4.41).contains(&bad), "{bad}");
    assert!(good < 0.1, "{good}");
    let spread = report.summary.chamber_spread.expect("a spread");
    assert!(spread.u.expect("known") > 4.4, "{spread:?}");
}

/// The same where the readings state their uncertainty themselves.
#[test]
fn readings_with_an_uncertainty_of_their_own_may_disagree_too() {
    let report = report_of("chamber/1,45.0,cc,0.1,\nchamber/1,46.0,cc,0.1,\n");
    assert_eq!(disagreeing(&report)[0].spot, "chamber/1");
    // s/√2 of 45.0 and 46.0.
    let u = u_of_chamber(&report, 1);
    assert!((u - 0.5).abs() < 1e-9, "{u}");
}

/// Ten equal readings of a coarse scale were all rounded alike: what the rounding took away from
/// one of them it took away from their mean (GUM F.2.2.1). Two roundings, for it is a difference.
#[test]
fn equal_readings_of_a_coarse_scale_keep_one_whole_rounding() {
    let one = "chamber/1,45,cc,,coarse\n";
    let rounding = 2.0 / 12.0;
    let expected = |n: usize| (rounding + 0.05f64.powi(2) / n as f64).sqrt();
    for n in [1, 2, 10] {
        let u = u_of_chamber(&report_of(&one.repeat(n)), 1);
        assert!((u - expected(n)).abs() < 1e-9, "{n}: {u}");
    }
    // Readings that lie several steps apart are rounded each in its own way.
    let scattered = report_of(
        "chamber/1,45.0,cc,,burette\nchamber/1,45.2,cc,,burette\nchamber/1,45.1,cc,,burette\n",
    );
    let equal = report_of(&"chamber/1,45.1,cc,,burette\n".repeat(3));
    let rounding = 2.0 * 0.1f64.powi(2) / 12.0;
    let own = |report: &Report, s: f64, share: f64| {
        let u = u_of_chamber(report, 1).powi(2);
        assert!((u - s * s / 3.0 - rounding * share).abs() < 1e-9, "{u}");
    };
    // The gauge's 0.08 with 10 degrees of freedom, pooled with the job's own repeats.
    let pooled = |squares: f64| ((10.0 * 0.08f64.powi(2) + squares) / 12.0).sqrt();
    own(&scattered, pooled(0.02), 1.0 / 3.0);
    own(&equal, pooled(0.0), 1.0);
}

/// Front and rear rest on one and the same repeatability of 4 degrees of freedom: the mean has 4,
/// not 8, and k is that of Student's t for 4 (2.776, GUM table G.2).
#[test]
fn one_repeatability_at_two_points_keeps_its_degrees_of_freedom() {
    let report = report_of(
        "chamber/1,60.00,cc,0,
crown/1,0,cc,0,
deck/1/front,0.5,mm,,dial
deck/1/rear,0.5,mm,,dial
",
    );
    let expanded = report
        .cylinder(1)
        .and_then(|one| one.compression_expanded)
        .expect("known");
    let dof = expanded.dof.expect("not infinite");
    assert!((dof - 4.0).abs() < 0.01, "{dof}");
    assert!((expanded.k - 2.776).abs() < 0.001, "{}", expanded.k);
}

#[test]
fn kinds_of_deck_readings_are_compared_before_they_are_averaged() {
    let of = |whole: &str, front: f64, thrust: f64| {
        report_of(&format!(
            "{whole}deck/4/front,{front:.2},mm,,fine
deck/4/rear,{:.2},mm,,fine
deck/4/thrust,{thrust:.2},mm,,fine
deck/4/antithrust,{:.2},mm,,fine
",
            front + 0.02,
            thrust + 0.10,
        ))
    };
    let whole = "deck/4,0.30,mm,,fine\n";
    let text = |report: &Report| -> String {
        let found = disagreeing(report).into_iter();
        found
            .filter(|one| one.spot == "deck/4")
            .map(|one| one.text.clone())
            .collect()
    };
    let one = text(&of(whole, 0.15, 0.11));
    assert!(one.contains("0.300 mm as one value"), "{one}");
    assert!(one.contains("0.160 mm on the pin axis"), "{one}");
    let sides = text(&of("", 0.15, 0.40));
    assert!(
        sides.contains("0.160 mm on the pin axis and 0.450 mm as the mean of the thrust sides"),
        "{sides}"
    );
    // Rock does not show in the mean of both sides.
    assert_eq!(text(&of("", 0.15, 0.11)), "");
}

#[test]
fn a_piston_with_both_thrust_sides_lacks_no_point_of_the_pin_axis() {
    let report = report_of(
        "deck/1/thrust,0.10,mm,,fine
deck/1/antithrust,0.22,mm,,fine
deck/4/front,0.15,mm,,fine
deck/4/rear,0.17,mm,,fine
",
    );
    let missing: Vec<&str> = report
        .findings_of(FindingKind::Missing)
        .map(|one| one.spot.as_str())
        .filter(|spot| spot.starts_with("deck/1") || spot.starts_with("deck/4"))
        .collect();
    assert_eq!(missing, Vec::<&str>::new());
}
