//! Free spots in the report: average, spread, verdicts and findings. The decision rule is that of
//! ISO 14253-1; the numbers are worked by hand from it.

use benchhand_blueprint::decide::VerdictAnswer::{self, CannotTell, Outside, Within};
use benchhand_blueprint::report::{FindingKind, FreeReport, ToleranceName, ToleranceVerdict};
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

/// A dial whose calibration is known to 0.0005 in (one standard deviation) and whose repeatability
/// is nothing beside that: U = 0.001 in.
const GAUGE: &str = "[gauges.dial]\nkind = \"dial\"\nresolution = \"0.0001 in\"\nu = \"0.0005 in\"\n\
    zero_u = \"0 in\"\nrepeatability = \"0.00005 in\"\n";
const HEIGHT: &str = "[free.spring_height]\ntitle = \"Spring height\"\nunit = \"in\"\n\
    at = [\"intake\", \"exhaust\"]\nleast = \"1.790 in\"\nmost = \"1.810 in\"\nspread = \"0.010 in\"\n";

fn engine(sections: &str) -> Engine {
    let text = format!("name = \"check\"\nunits = \"inch\"\ncylinders = 8\n{sections}{GAUGE}");
    Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"))
}

fn report_of(sections: &str, csv: &str) -> Report {
    let engine = engine(sections);
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

/// Rows of the intake springs of all cylinders, each by the dial.
fn intakes(heights: [f64; 8]) -> String {
    let row = |(at, height): (usize, &f64)| {
        format!("free/spring_height/{}/intake,{height:.4},in,dial\n", at + 1)
    };
    let rows: String = heights.iter().enumerate().map(row).collect();
    format!("spot,value,unit,gauge\n{rows}")
}

fn place<'a>(report: &'a Report, at: &str) -> &'a FreeReport {
    let mut all = report.free.iter();
    let found = all.find(|one| one.at.as_ref().is_some_and(|place| place.as_str() == at));
    found.expect("the place is reported")
}

fn answers(report: &Report) -> Vec<(u32, VerdictAnswer)> {
    let singles = report.verdicts.iter();
    let singles = singles.filter(|one| one.about == ToleranceName::Free);
    singles
        .map(|one| (one.cylinder.expect("a cylinder"), one.answer))
        .collect()
}

fn spread(report: &Report) -> &ToleranceVerdict {
    let mut all = report.verdicts.iter();
    let found = all.find(|one| one.about == ToleranceName::FreeSpread);
    found.expect("the spread is judged")
}

/// Limits 1.790 and 1.810 with U = 0.001: proven within from 1.791 to 1.809, outside from 1.811.
#[test]
fn each_is_judged_with_the_guard_band_and_limits_are_exact() {
    let rows = intakes([
        1.8000, 1.8000, 1.8095, 1.8120, 1.7920, 1.7905, 1.7880, 1.8000,
    ]);
    let report = report_of(HEIGHT, &rows);
    assert_eq!(
        answers(&report),
        [
            (1, Within),
            (2, Within),
            (3, CannotTell),
            (4, Outside),
            (5, Within),
            (6, CannotTell),
            (7, Outside),
            (8, Within)
        ]
    );
    let intake = place(&report, "intake");
    assert_eq!(
        intake.least.as_ref().map(|one| (one.value, one.u)),
        Some((1.790, Some(0.0)))
    );
    let found = |cylinder: u32| {
        let mut all = report.verdicts.iter();
        all.find(|one| one.cylinder == Some(cylinder))
            .expect("a verdict")
    };
    assert_eq!(
        found(4).spot.as_ref().map(ToString::to_string).as_deref(),
        Some("free/spring_height/4/intake")
    );
    assert!(
        found(4).text.contains("1.8120 ± 0.0010 in"),
        "{}",
        found(4).text
    );
    assert!(found(4).text.contains("limit 1.8100"), "{}", found(4).text);
}

/// Mean of eight by hand: 1.8000. The calibration is shared: it stays in the mean's U (0.001 in) and
/// cancels in the spread, of which only the steps and the repeats are left.
#[test]
fn average_and_spread_are_those_of_the_place() {
    let mut rows = intakes([
        1.7980, 1.8020, 1.7990, 1.8010, 1.8000, 1.8000, 1.7980, 1.8020,
    ]);
    rows += "free/spring_height/1/exhaust,1.7700,in,dial\n";
    let report = report_of(HEIGHT, &rows);
    let intake = place(&report, "intake");
    let mean = intake.mean.as_ref().expect("a mean");
    assert!((mean.value - 1.8).abs() < 1e-9, "{mean:?}");
    assert!(
        (mean.expanded().expect("known") - 0.001).abs() < 5e-5,
        "{mean:?}"
    );
    let wide = intake.spread.as_ref().expect("a spread");
    assert!((wide.value - 0.004).abs() < 1e-9, "{wide:?}");
    assert!(wide.expanded().expect("known") < 0.0003, "{wide:?}");
    assert_eq!(spread(&report).answer, Within, "{}", spread(&report).text);
    assert_eq!((intake.measured.len(), intake.spots), (8, 8));
    assert_eq!(place(&report, "exhaust").measured.len(), 1);
}

#[test]
fn a_spread_that_exceeds_what_is_allowed_is_outside() {
    let rows = intakes([
        1.7930, 1.8060, 1.7940, 1.8050, 1.7950, 1.8040, 1.7930, 1.8060,
    ]);
    let report = report_of(HEIGHT, &rows);
    let judged = spread(&report);
    assert_eq!(judged.answer, Outside, "{}", judged.text);
    assert_eq!(judged.cylinder, None);
    let spot = judged.spot.as_ref().expect("it names the spot").to_string();
    assert_eq!(spot, "free/spring_height/intake");
}

/// Grubbs' test finds one of eight; the exhausts, which all differ from the intakes, accuse nobody.
#[test]
fn one_out_of_line_is_found_within_its_place_alone() {
    let mut rows = intakes([
        1.8000, 1.8010, 1.7990, 1.8000, 1.8010, 1.8000, 1.8090, 1.7990,
    ]);
    for (cylinder, height) in (1..=8).zip(["1.7000", "1.7010", "1.6990", "1.7000"].iter().cycle()) {
        rows += &format!("free/spring_height/{cylinder}/exhaust,{height},in,dial\n");
    }
    let report = report_of(HEIGHT, &rows);
    let outliers: Vec<(&str, &str)> = report
        .findings_of(FindingKind::Outlier)
        .map(|one| (one.spot.as_str(), one.text.as_str()))
        .collect();
    let [(spot, text)] = outliers[..] else {
        panic!("{outliers:?}")
    };
    assert_eq!(spot, "free/spring_height/7/intake");
    assert!(text.contains("0.0090 in larger"), "{text}");
}

#[test]
fn what_is_limited_and_not_measured_is_missing_and_nothing_else() {
    let free = format!("{HEIGHT}[free.ring_gap]\nunit = \"in\"\n[free.end_play]\nunit = \"in\"\n");
    let report = report_of(&free, &intakes([1.8; 8]));
    let missing: Vec<&str> = report
        .findings_of(FindingKind::Missing)
        .map(|one| one.spot.as_str())
        .filter(|spot| spot.starts_with("free/"))
        .collect();
    assert_eq!(missing.len(), 8, "the exhausts: {missing:?}");
    assert!(missing.iter().all(|spot| spot.ends_with("/exhaust")));
}

/// Without a gauge neither calibration nor repeats are known: less said is never surer.
#[test]
fn what_nobody_states_is_lacking_and_a_limit_is_not_called_kept_by_it() {
    let csv = "spot,value,unit\nfree/spring_height/1/intake,1.8000,in\n";
    let report = report_of(HEIGHT, csv);
    let intake = place(&report, "intake");
    let height = &intake.measured[0].figure;
    assert_eq!(height.u, None);
    assert!(!height.lacking.is_empty());
    let lacking = report.lacking.join(" ");
    assert!(lacking.contains("free spots"), "{lacking}");
    let single = &report.verdicts.iter().find(|one| one.cylinder == Some(1));
    let single = single.expect("a verdict");
    assert_eq!(single.answer, Within, "{}", single.text);
    let near = report_of(
        HEIGHT,
        "spot,value,unit\nfree/spring_height/1/intake,1.8095,in\n",
    );
    let near = near.verdicts.iter().find(|one| one.cylinder == Some(1));
    assert_eq!(near.expect("a verdict").answer, CannotTell);
}

/// Two readings of one spring a fifth of an inch apart, where the gauge repeats to 0.00005 in.
#[test]
fn repeats_that_do_not_agree_are_found() {
    let rows = intakes([1.8; 8]) + "free/spring_height/3/intake,1.6000,in,dial\n";
    let report = report_of(HEIGHT, &rows);
    let disagrees: Vec<&str> = report
        .findings_of(FindingKind::Disagrees)
        .map(|one| one.spot.as_str())
        .collect();
    assert_eq!(disagrees, ["free/spring_height/3/intake"]);
}

#[test]
fn a_free_spot_of_another_stage_holds_as_long_as_no_cut_changed_it() {
    let stages = format!(
        "{HEIGHT}[[stages]]\nname = \"as received\"\n[[stages]]\nname = \"milled\"\nchanged = [\"chamber\"]\n\
         [[stages]]\nname = \"valves ground\"\nchanged = [\"free\"]\n"
    );
    let at = |stage: &str| {
        let engine = engine(&stages);
        let csv = "spot,value,unit,gauge\nfree/spring_height/1/intake,1.8000,in,dial\n";
        let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
        let inputs = ReportInputs {
            engine: &engine,
            readings: &readings,
            stages: &[],
            stage: Some(stage),
        };
        let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
        place(&report, "intake").measured.len()
    };
    assert_eq!((at("milled"), at("valves ground")), (1, 0));
}

#[test]
fn other_units_and_kinds_are_told_in_their_own_unit() {
    let free = "[free.end_play]\nunit = \"thou\"\ncylinders = \"none\"\nleast = \"4 thou\"\nmost = \"0.008 in\"\n\
        [free.rod_weight]\nunit = \"g\"\nspread = \"1 g\"\n[free.oil]\nunit = \"psi\"\ncylinders = \"none\"\nleast = \"40 psi\"\n";
    let csv = "spot,value,unit,u\nfree/end_play,6.0,thou,0.1\nfree/rod_weight/1,650.0,g,0.1\n\
        free/rod_weight/2,650.1,g,0.1\nfree/oil,60,psi,1\n";
    let report = report_of(free, csv);
    let of = |name: &str| {
        let mut all = report.free.iter();
        let one = all
            .find(|one| one.name.as_str() == name)
            .expect("it is reported");
        one.mean
            .as_ref()
            .map(|mean| (mean.value, mean.unit.symbol()))
    };
    let (play, unit) = of("end_play").expect("a mean");
    assert!((play - 6.0).abs() < 1e-9 && unit == "thou", "{play} {unit}");
    let (weight, unit) = of("rod_weight").expect("a mean");
    assert!(
        (weight - 650.05).abs() < 1e-9 && unit == "g",
        "{weight} {unit}"
    );
    let (oil, unit) = of("oil").expect("a mean");
    assert!((oil - 60.0).abs() < 1e-9 && unit == "psi", "{oil} {unit}");
    let singles = report
        .verdicts
        .iter()
        .filter(|one| one.about == ToleranceName::Free);
    assert!(singles.clone().all(|one| one.answer == Within));
    assert_eq!(singles.count(), 2);
}

#[test]
fn a_row_of_a_free_spot_that_is_not_stated_or_of_another_kind_is_refused() {
    let engine = engine(HEIGHT);
    for (row, told) in [
        (
            "free/spring_hieght/1/intake,1.8,in",
            "did you mean spring_height?",
        ),
        ("free/spring_height/1,1.8,in", "free/spring_height/1/intake"),
        ("free/spring_height/1/intake,1.8,cc", "this spot takes"),
        ("free/spring_height/1/intake,1800,in", "at most"),
    ] {
        let faults = readings::from_csv(&format!("spot,value,unit\n{row}\n"), &engine);
        let faults = faults.expect_err(row).to_string();
        assert!(faults.contains(told), "{row}: {faults}");
    }
}
