//! A bore whose heights read alike has a taper of nothing, but not for certain. By hand from
//! `docs/formulas.md`, section 12.

use benchhand_blueprint::{Engine, ReportInputs, readings, report};

#[test]
fn the_taper_of_equal_heights_keeps_the_uncertainty_of_their_readings() {
    let text = "name = \"check\"\nunits = \"metric\"\ncylinders = 1\nbore = \"86 mm\"\nstroke = \"86 mm\"\n[gauges.bore]\nkind = \"micrometer\"\nresolution = \"0.002 mm\"\nu = \"0.001 mm\"\nrepeatability = \"0.0015 mm\"\n";
    let engine = Engine::from_toml(text).unwrap_or_else(|faults| panic!("{faults}"));
    let mut csv = "spot,value,unit,gauge\n".to_owned();
    for height in ["top", "middle", "bottom"] {
        for direction in ["pin", "thrust"] {
            csv += &format!("bore/1/{height}/{direction},86.010,mm,bore\n");
        }
    }
    let readings = readings::from_csv(&csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
    let bore = report.bores.first().expect("a bore");
    // One reading: 0.0015² and 0.002²/12. The calibration is shared and cancels.
    let one = (0.0015f64.powi(2) + 0.002f64.powi(2) / 12.0).sqrt();
    for (name, figure, expected) in [
        ("taper", bore.taper.clone(), one),
        (
            "taper in one direction",
            bore.taper_worst.clone(),
            one * 2f64.sqrt(),
        ),
        ("out of round", bore.out_of_round.clone(), one * 2f64.sqrt()),
    ] {
        let figure = figure.unwrap_or_else(|| panic!("no {name}"));
        assert_eq!(figure.value, 0.0, "{name}");
        let u = figure.u.unwrap_or_else(|| panic!("no u of {name}"));
        assert!((u / expected - 1.0).abs() < 1e-6, "{name}: {u} {expected}");
    }
}
