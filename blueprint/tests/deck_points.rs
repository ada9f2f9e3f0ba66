//! Points of one piston that disagree, and the nearest of them. Worked by hand from
//! `docs/formulas.md`, section 14.

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

fn report_of(units: &str, tolerances: &str, csv: &str) -> Report {
    let metric = units == "metric";
    let (unit, bore, gasket, thickness) = match metric {
        true => ("mm", "86 mm +- 0 mm", "87 mm +- 0 mm", "1.1 mm +- 0 mm"),
        false => ("in", "4 in +- 0 in", "4.1 in +- 0 in", "0.0405 in +- 0 in"),
    };
    let repeatability = if metric { "0.003 mm" } else { "0.0001 in" };
    let text = format!(
        "name = \"check\"\nunits = \"{units}\"\ncylinders = 4\nbore = \"{bore}\"\nstroke = \"{bore}\"\n[gasket]\nbore = \"{gasket}\"\nthickness = \"{thickness}\"\n{tolerances}\n[gauges.dial]\nkind = \"dial\"\nresolution = \"0.0001 {unit}\"\nu = \"0 {unit}\"\nzero_u = \"0 {unit}\"\nrepeatability = \"{repeatability}\"\n"
    );
    let engine = Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"));
    let rows: String = csv
        .lines()
        .map(|line| format!("{line},{unit},dial\n"))
        .collect();
    let csv = format!("spot,value,unit,gauge\n{rows}");
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn u_of_deck(report: &Report, cylinder: u32) -> f64 {
    let deck = report.cylinder(cylinder).and_then(|one| one.deck.clone());
    deck.expect("a deck").u.expect("known")
}

const LIKE: &str = "deck/2/front,0.20\ndeck/2/rear,0.21\ndeck/3/front,0.21\ndeck/3/rear,0.20\ndeck/4/front,0.20\ndeck/4/rear,0.205\n";

/// 0.10 and 0.60 mm in a single round: s/√2 of the two is 0.25.
#[test]
fn points_that_differ_in_a_single_round_carry_their_scatter() {
    for others in ["", LIKE] {
        let csv = format!("deck/1/front,0.10\ndeck/1/rear,0.60\n{others}");
        let report = report_of("metric", "", &csv);
        let told: Vec<&str> = report
            .findings_of(FindingKind::Disagrees)
            .map(|one| one.spot.as_str())
            .collect();
        assert_eq!(told, ["deck/1"]);
        let u = u_of_deck(&report, 1);
        assert!((0.24..0.26).contains(&u), "{u}");
        if !others.is_empty() {
            assert!(u_of_deck(&report, 2) < 0.01);
        }
    }
}

/// The same difference in two rounds is the form of the part, and the mean is as good as any.
#[test]
fn a_difference_that_repeats_is_the_form_of_the_part() {
    let twice = "deck/1/front,0.10\ndeck/1/rear,0.60\n".repeat(2);
    let report = report_of("metric", "", &format!("{twice}{}", LIKE.repeat(2)));
    assert_eq!(report.findings_of(FindingKind::Disagrees).count(), 0);
    let shape: Vec<_> = report.findings_of(FindingKind::Outlier).collect();
    assert!(
        shape
            .iter()
            .any(|one| one.spot == "deck/1" && one.text.contains("in each round")),
        "{shape:?}"
    );
    assert!(u_of_deck(&report, 1) < 0.005);
    // A second round that does not repeat the first: each mean carries its own scatter.
    let moved = "deck/1/front,0.10\ndeck/1/rear,0.60\ndeck/1/front,0.35\ndeck/1/rear,0.60\n";
    let report = report_of("metric", "", &format!("{moved}{}", LIKE.repeat(2)));
    // s/√2 of the front is 0.125, half of it in the mean of front and rear.
    assert!(u_of_deck(&report, 1) > 0.06, "{}", u_of_deck(&report, 1));
}

/// 0.011 and 0.005 in over a gasket of 0.0405 in: the mean is 0.0485, but the nearest point 0.0455,
/// nearer than the 0.0465 that is wanted.
#[test]
fn the_least_quench_is_kept_by_the_nearest_point() {
    let twice = "deck/1/front,0.0110\ndeck/1/rear,0.0050\n".repeat(2);
    let limit = "[tolerances]\nleast_quench = \"0.0465 in\"";
    let report = report_of("inch", limit, &twice);
    let one = report.cylinder(1).expect("a cylinder");
    let (mean, nearest) = (
        one.quench.clone().expect("known"),
        one.quench_nearest.clone().expect("known"),
    );
    assert!((mean.value - 0.0485).abs() < 1e-9, "{mean:?}");
    assert!((nearest.value - 0.0455).abs() < 1e-9, "{nearest:?}");
    let judged = report
        .verdicts
        .iter()
        .find(|one| one.about.name() == "quench");
    let judged = judged.expect("a verdict");
    assert_eq!(judged.answer, VerdictAnswer::Outside, "{}", judged.text);
    assert!(
        judged.text.contains("nearest point 0.0455"),
        "{}",
        judged.text
    );
    // Rock: the thrust side comes nearer than the mean of both sides.
    let rocking = "deck/1/thrust,0.0050\ndeck/1/antithrust,0.0110\n".repeat(2);
    let report = report_of("inch", limit, &rocking);
    let nearest = report
        .cylinder(1)
        .and_then(|one| one.quench_nearest.clone());
    assert!((nearest.expect("known").value - 0.0455).abs() < 1e-9);
}

/// Two numbers of a sentence that are unequal look unequal.
#[test]
fn a_figure_and_its_limit_are_told_apart_in_words() {
    let csv = "deck/1/front,0.00600002\ndeck/1/rear,0.00600002\n".repeat(2);
    let limit = "[tolerances]\nleast_quench = \"0.0465 in\"";
    let report = report_of("inch", limit, &csv);
    let judged = report
        .verdicts
        .iter()
        .find(|one| one.about.name() == "quench");
    let text = &judged.expect("a verdict").text;
    assert!(
        text.contains("0.04650002") && text.contains("limit 0.04650000"),
        "{text}"
    );
}
