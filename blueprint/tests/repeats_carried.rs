//! How well a gauge repeats is not cut off with the metal: what was learned in an earlier stage
//! holds for the same gauge and kind in a later one, and nothing else of it does.
//!
//! Against hand calculation: duplicates give s = √(Σd²/2k) (docs/formulas.md, section 11.3).

use benchhand_blueprint::engine::Stage;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

const ENGINE: &str = r#"name = "check"
units = "metric"
cylinders = 4
[gauges.burette]
kind = "burette"
u = "0.02 cc"
resolution = "0.01 cc"
[gauges.other]
kind = "burette"
u = "0.02 cc"
resolution = "0.01 cc"
"#;

/// Two rounds before the cut, each pair 0.2 cc apart: s = √(4·0.04/8) = 0.141 cc.
const BEFORE: &str = "chamber/1,60.0,cc,burette,as received
chamber/2,60.1,cc,burette,as received
chamber/3,60.2,cc,burette,as received
chamber/4,60.3,cc,burette,as received
chamber/1,60.2,cc,burette,as received
chamber/2,60.3,cc,burette,as received
chamber/3,60.0,cc,burette,as received
chamber/4,60.1,cc,burette,as received
";

fn once(gauge: &str) -> String {
    let row = |cylinder: u32| format!("chamber/{cylinder},58.{cylinder}0,cc,{gauge},milled 1\n");
    (1..=4).map(row).collect()
}

fn told(rows: &[&str]) -> Report {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let csv = format!("spot,value,unit,gauge,stage\n{}", rows.concat());
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    report(&ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[Stage::named("as received"), Stage::named("milled 1")],
        stage: Some("milled 1"),
    })
    .unwrap_or_else(|error| panic!("{error}"))
}

/// The ± of chamber 1, of what is known.
fn width(report: &Report) -> f64 {
    let chamber = report.cylinders[0].chamber.clone().expect("a chamber");
    chamber.expanded_known().expect("something is known")
}

fn says_not_repeated(report: &Report) -> bool {
    let chamber = report.cylinders[0].chamber.clone().expect("a chamber");
    chamber
        .lacking
        .iter()
        .any(|words| words.contains("nothing was set up twice"))
}

#[test]
fn what_the_rounds_before_a_cut_showed_holds_after_it() {
    let (carried, alone) = (told(&[BEFORE, &once("burette")]), told(&[&once("burette")]));
    assert!(says_not_repeated(&alone) && !says_not_repeated(&carried));
    let chamber = carried.cylinders[0].chamber.clone().expect("a chamber");
    let s = (4.0 * 0.04_f64 / 8.0).sqrt();
    // Repeatability, calibration, and the two roundings of a burette.
    let u = (s * s + 0.02_f64.powi(2) + 0.01_f64.powi(2) / 6.0).sqrt();
    let found = chamber.u.expect("known");
    assert!((found / u - 1.0).abs() < 1e-6, "{found} {u}");
    // Four pairs: four degrees of freedom, and not infinitely many.
    let dof = chamber.dof.expect("finite");
    assert!((4.0..5.0).contains(&dof), "{dof}");
}

/// The values of the earlier stage stay where they are, and so does what is still to be repeated.
#[test]
fn nothing_but_the_repeatability_is_carried() {
    let carried = told(&[BEFORE, &once("burette")]);
    let mean = carried.summary.chamber_mean.clone().expect("a mean").value;
    assert!((mean - 58.25).abs() < 1e-9, "{mean}");
    let times = &carried.measured_times[0];
    assert_eq!((times.least, times.most), (1, 1));
}

#[test]
fn another_gauge_learns_nothing_from_it() {
    assert!(says_not_repeated(&told(&[BEFORE, &once("other")])));
}

/// Less said is never surer: without the second round after the cut the ± is wider, by √2 in its
/// repeatability where the pairs scatter as they did before.
#[test]
fn measured_once_after_a_cut_is_never_surer_than_measured_twice() {
    for seed in 1..=40_u64 {
        let mut dice = seed * 7919;
        let mut roll = || {
            dice = dice * 48_271 % 2_147_483_647;
            dice as f64 / 2_147_483_647.0
        };
        let apart = [0; 4].map(|_| 0.05 + 0.1 * roll());
        let sizes = [0; 4].map(|_| 58.0 + 0.4 * roll());
        let round = |stage: &str, more: f64, second: bool| -> String {
            let row = |at: usize| {
                let off = if second { apart[at] } else { 0.0 };
                let value = sizes[at] + more + off;
                format!("chamber/{},{value:.2},cc,burette,{stage}\n", at + 1)
            };
            (0..4).map(row).collect()
        };
        let before = round("as received", 2.0, false) + &round("as received", 2.0, true);
        let (first, second) = (round("milled 1", 0.0, false), round("milled 1", 0.0, true));
        let one = told(&[&before, &first]);
        let two = told(&[&before, &first, &second]);
        let (once, twice) = (width(&one), width(&two));
        assert!(once > twice, "seed {seed}: once {once}, twice {twice}");
    }
}
