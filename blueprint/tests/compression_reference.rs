//! Compression and its uncertainty against `cr_cases.csv` and `cr_target.csv`, by way of an engine
//! file and a readings file as a user writes them.
//!
//! The files were made with `uncertainties` and GTC (PyPI); they name their versions. Tolerance:
//! half a unit of the twelfth significant figure, to which they are written.
//! Not checked here: the columns `MC_…` of `cr_cases.csv` are simulations (see `monte_carlo`);
//! `dVc_linearised` is checked as the error it is meant to show.

mod common;

use benchhand_blueprint::formula::compression::{clearance_for, slope_by_clearance};
use benchhand_blueprint::{Engine, Figure, Report, ReportInputs, readings, report};
use common::{Row, TWELVE, close, rows};

fn engine_file(case: &Row) -> String {
    format!(
        r#"
name = "check"
units = "metric"
cylinders = 1
bore = {{ value = "{B} mm", u = "0.0025 mm", dof = 9 }}
stroke = "{S} mm +- 0.01 mm"
[piston]
crevice = "{crev} cc +- 0.1 cc"
[gasket]
bore = "{Gb} mm +- 0.1 mm"
thickness = {{ value = "{Gt} mm", u = "0.015 mm", dof = 4 }}
"#,
        B = case.text("B"),
        S = case.text("S"),
        crev = case.text("crev"),
        Gb = case.text("Gb"),
        Gt = case.text("Gt"),
    )
}

fn readings_file(case: &Row) -> String {
    format!(
        "spot,value,unit,u,dof\nchamber/1,{},cc,0.12,2\ndeck/1,{},mm,0.006,3\ncrown/1,{},cc,0.15,2\n",
        case.text("Vch"),
        case.text("deck"),
        case.text("dome"),
    )
}

fn report_of(engine: &str, csv: &str) -> Report {
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

fn figure(figure: Option<Figure>) -> Figure {
    figure.expect("a figure")
}

#[test]
fn every_case_gives_its_ratio_and_its_uncertainty() {
    for case in rows("cr_cases.csv") {
        let name = case.text("case");
        let report = report_of(&engine_file(&case), &readings_file(&case));
        let cylinder = report.cylinder(1).expect("cylinder 1");
        let ratio = figure(cylinder.compression.clone());
        close(ratio.value, case.number("CR"), TWELVE, name);
        let u = ratio.u.expect("a known uncertainty");
        close(u, case.number("u_uncertainties"), TWELVE, name);
        close(u, case.number("u_GTC"), TWELVE, name);
        close(
            figure(cylinder.clearance.clone()).value,
            case.number("Vc"),
            TWELVE,
            name,
        );
        close(
            cylinder.swept.clone().expect("bore and stroke").value,
            case.number("Vs"),
            TWELVE,
            name,
        );
        let expanded = cylinder
            .compression_expanded
            .expect("an expanded uncertainty");
        close(
            expanded.dof.expect("finite"),
            case.number("nu_eff"),
            TWELVE,
            name,
        );
        close(expanded.k, case.number("k95"), TWELVE, name);
        close(expanded.value, case.number("U95"), TWELVE, name);
    }
}

#[test]
fn every_case_gives_the_contribution_of_each_input() {
    let inputs = [
        ("bore", "contrib_B"),
        ("stroke", "contrib_S"),
        ("chamber/1 line 2", "contrib_Vch"),
        ("gasket bore", "contrib_Gb"),
        ("gasket thickness", "contrib_Gt"),
        ("deck/1 line 3", "contrib_deck"),
        ("crown/1 line 4", "contrib_dome"),
        ("volume above the top ring", "contrib_crev"),
    ];
    for case in rows("cr_cases.csv") {
        let report = report_of(&engine_file(&case), &readings_file(&case));
        let budget = &report.cylinder(1).expect("cylinder 1").compression_budget;
        assert_eq!(budget.len(), inputs.len());
        for (source, column) in inputs {
            let share = budget.iter().find(|share| share.source == source);
            let share = share.unwrap_or_else(|| panic!("{source} is in the budget"));
            close(
                share.contribution.clone().expect("known").value,
                case.number(column),
                TWELVE,
                source,
            );
        }
        let sizes: Vec<f64> = budget
            .iter()
            .filter_map(|share| Some(share.contribution.clone()?.value))
            .collect();
        assert!(sizes.is_sorted_by(|a, b| a >= b), "the largest comes first");
    }
}

#[test]
fn the_volumes_and_slopes_of_every_case_agree() {
    use benchhand_blueprint::formula::volume::disc;
    for case in rows("cr_cases.csv") {
        let n = |column| case.number(column);
        close(disc(&n("Gb"), &n("Gt")), n("Vgasket"), TWELVE, "gasket");
        let deck = disc(&n("B"), &n("deck"));
        assert!(
            (deck - n("Vdeck")).abs() <= TWELVE * n("Vdeck").abs(),
            "deck"
        );
        close(
            slope_by_clearance(n("Vs"), n("Vc")),
            n("dCR_dVc_per_cc"),
            2.0 * TWELVE,
            "slope",
        );
    }
}

#[test]
fn every_target_gives_its_clearance_volume() {
    for case in rows("cr_target.csv") {
        let n = |column| case.number(column);
        let wanted = clearance_for(&n("Vs"), &n("CR_target"));
        close(wanted, n("Vc_target"), TWELVE, "target");
        // The amount to remove is printed to fewer absolute figures than the volumes.
        close(n("Vc") - wanted, n("remove_cc"), TWELVE, "remove");
        close(1.0 + n("Vs") / n("Vc"), n("CR"), TWELVE, "ratio");
        let slope = slope_by_clearance(n("Vs"), n("Vc"));
        close(slope, n("dCR_dVc"), TWELVE, "slope");
        let linear = (n("CR_target") - n("CR")) / slope;
        close(
            linear,
            n("dVc_linearised"),
            1e-9,
            "linearised (from a ratio of twelve figures)",
        );
    }
}

#[test]
fn common_practice_gives_11_2() {
    // Common practice, no source: bore 4.600 in, stroke 4.375 in, chamber 106 cc, dome 5 cc,
    // gasket 4.640 in by 0.040 in, deck clearance 0.015 in; the trade says 11.2.
    let engine = r#"
name = "common practice"
units = "inch"
cylinders = 8
bore = "4.600 in"
stroke = "4.375 in"
[gasket]
bore = "4.640 in"
thickness = "0.040 in"
"#;
    let mut csv = "spot,value,unit\n".to_owned();
    for n in 1..=8 {
        csv += &format!("chamber/{n},106,cc\ndeck/{n},0.015,in\ncrown/{n},5,cc\n");
    }
    let report = report_of(engine, &csv);
    let mean = figure(report.summary.compression_mean);
    assert!((mean.value - 11.2).abs() < 0.1, "{}", mean.value);
    assert_eq!(mean.u, None, "nothing is known of any gauge");
    let displacement = figure(report.summary.displacement).value / 16.387064;
    assert!((displacement - 582.0).abs() < 0.5, "{displacement} cu in");
}
