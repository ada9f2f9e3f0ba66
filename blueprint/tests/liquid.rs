//! Chambers measured with liquid at other temperatures and by weight, by way of an engine file,
//! against `burette_correction.csv` and `gravimetric_volume.csv`.

mod common;

use benchhand_blueprint::readings::{ConditionValue, ReadingConditions};
use benchhand_blueprint::{Engine, Figure, Report, ReportInputs, readings, report};
use common::{Row, close, rows};

fn engine(sections: &str) -> Engine {
    let text = format!(
        "name = \"check\"\nunits = \"metric\"\ncylinders = 1\nbore = \"100 mm\"\nstroke = \"90 mm\"\n{sections}\n[gauges.balance]\nkind = \"balance\"\nresolution = \"0.01 g\"\nu = \"0.02 g\"\nrepeatability = \"0.05 g\"\n"
    );
    Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"))
}

fn report_of(engine: &Engine, csv: &str) -> Report {
    let readings = readings::from_csv(csv, engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn chamber(report: &Report) -> Figure {
    report
        .cylinder(1)
        .and_then(|one| one.chamber.clone())
        .expect("a chamber")
}

fn temperatures(row: &Row) -> String {
    format!(
        "[head]\nmetal = \"{}\"\n[liquid]\nkind = \"water\"\nglass = \"{}\"\ntemperature = \"{} degC\"\nchamber_temperature = \"{} degC\"",
        row.text("chamber").trim_end_matches(" head"),
        row.text("glass").trim_end_matches(" 3.3"),
        row.text("t_burette_C"),
        row.text("t_chamber_C"),
    )
}

#[test]
fn every_burette_reading_becomes_the_chamber_at_20_degrees() {
    for row in rows("burette_correction.csv") {
        let engine = engine(&temperatures(&row));
        let csv = format!(
            "spot,value,unit\nchamber/1,{},cc\n",
            row.text("indicated_cc")
        );
        let report = report_of(&engine, &csv);
        close(
            chamber(&report).value,
            row.number("chamber_at_20C_cc"),
            1e-11,
            "chamber",
        );
        let said = report
            .remarks
            .iter()
            .any(|text| text.contains("at 20 degC, corrected for"));
        assert!(said, "{:?}", report.remarks);
    }
}

#[test]
fn without_temperatures_a_chamber_is_as_it_was_read_and_that_is_said() {
    let report = report_of(&engine(""), "spot,value,unit\nchamber/1,64.2,cc\n");
    assert_eq!(chamber(&report).value, 64.2);
    assert!(report.remarks.iter().any(|text| text.contains("as read")));
}

#[test]
fn weighed_water_gives_its_volume() {
    for row in rows("gravimetric_volume.csv") {
        let water = row.text("liquid").starts_with("water");
        let liquid = if water {
            format!(
                "kind = \"water\"\ntemperature = \"{} degC\"",
                row.text("t_C")
            )
        } else {
            format!(
                "kind = \"other\"\ndensity = \"{} kg/m3\"",
                row.text("rho_liquid")
            )
        };
        let engine = engine(&format!(
            "[liquid]\n{liquid}\n[flow]\nair_pressure = \"{} hPa\"\nair_temperature = \"{} degC\"\nhumidity = \"{} %RH\"",
            row.text("p_hPa"),
            row.text("t_C"),
            100.0 * row.number("rh"),
        ));
        let csv = format!("spot,value,unit\nchamber/1,{},g\n", row.text("balance_g"));
        // Densities of twelve figures.
        close(
            chamber(&report_of(&engine, &csv)).value,
            row.number("V_cc"),
            2e-11,
            row.text("liquid"),
        );
    }
}

#[test]
fn a_weighed_volume_carries_the_errors_of_balance_liquid_and_air() {
    let engine = engine("[liquid]\nkind = \"other\"\ndensity = \"790 kg/m3 +- 0.8 kg/m3\"");
    let csv = "spot,value,unit,gauge\nchamber/1,50.00,g,balance\nchamber/1,50.04,g,balance\n";
    let figure = chamber(&report_of(&engine, csv));
    // In grams: calibration 0.02, two roundings of 0.01/√12 each over two readings, 0.05/√2.
    let grams = (0.02f64.powi(2) + 0.01f64.powi(2) / 12.0 + 0.05f64.powi(2) / 2.0).sqrt();
    let volume = figure.value;
    // Liquid 0.8/(790 − 1.18), air 0.05 times (1/ρ − 1/8000).
    let relative = |x: f64| volume * x;
    let parts = [
        volume / 50.02 * grams,
        relative(0.8 / (790.0 - 1.18)),
        relative(0.05 * (1.0 / (790.0 - 1.18) - 1.0 / (8000.0 - 1.18))),
    ];
    let expected = parts.iter().map(|part| part * part).sum::<f64>().sqrt();
    close(figure.u.expect("known"), expected, 1e-6, "u");
}

#[test]
fn a_weight_without_a_liquid_is_refused_with_what_to_do() {
    let engine = engine("");
    let csv = "spot,value,unit\nchamber/1,50.00,g\n";
    let faults = readings::from_csv(csv, &engine)
        .expect_err("refused")
        .to_string();
    assert!(
        faults.contains("[liquid]") && faults.contains("a volume"),
        "{faults}"
    );
    let text = "name = \"x\"\nunits = \"metric\"\ncylinders = 1\nbore = \"100 mm\"\nstroke = \"90 mm\"\n[liquid]\nkind = \"water\"\n";
    let faults = Engine::from_toml(text).expect_err("refused").to_string();
    assert!(faults.contains("liquid.temperature"), "{faults}");
}

#[test]
fn a_degree_between_burette_and_chamber_matters_for_spirit_and_its_doubt_is_carried() {
    let engine = engine(
        "[liquid]\nkind = \"other\"\ndensity = \"790 kg/m3 +- 0 kg/m3\"\nexpansion = \"0.00108 1 +- 0 1\"\ntemperature = \"25 degC +- 0 degC\"\nchamber_temperature = \"20 degC +- 1 degC\"",
    );
    let report = report_of(&engine, "spot,value,unit,u\nchamber/1,64.00,cc,0.0\n");
    // 5 K of 1.08e-3 a kelvin: the liquid shrinks by 0.54 %, 0.35 cc in 64.
    let figure = chamber(&report);
    assert!((figure.value - 64.0 / (1.0 + 5.0 * 0.00108)).abs() < 1e-9);
    // One kelvin of doubt in the chamber's temperature is 0.07 cc.
    let slope = figure.value * 0.00108 / (1.0 + 5.0 * 0.00108);
    assert!((figure.u.expect("known") - slope).abs() < 1e-9);
}

/// Two chambers of 64.00 cc, read without error, under these conditions each.
fn under(engine: &Engine, conditions: [ReadingConditions; 2]) -> Report {
    let csv = "spot,value,unit,u\nchamber/1,64.00,cc,0\nchamber/1,64.00,cc,0\n";
    let mut readings = readings::from_csv(csv, engine).unwrap_or_else(|faults| panic!("{faults}"));
    for (reading, said) in readings.iter_mut().zip(conditions) {
        reading.conditions = Some(Box::new(said));
    }
    let inputs = ReportInputs {
        engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn said(name: &str, value: f64, u: f64) -> Option<ConditionValue> {
    Some(ConditionValue {
        fact: None,
        step: None,
        name: name.to_owned(),
        value,
        u: Some(u),
    })
}

#[test]
fn what_was_said_of_each_reading_stands_above_the_engine_file() {
    let warm = |t: f64| ReadingConditions {
        liquid: Some("water".to_owned()),
        liquid_temperature: said(&format!("liquid, {t}"), t, 0.0),
        chamber_temperature: said("chamber", 20.0, 0.0),
        ..ReadingConditions::default()
    };
    // Densities of water at 20 and 25 degC by Tanaka et al., Metrologia 38 (2001) 301.
    let at_25 = 64.0 * 997.047_021_672 / 998.206_745_56;
    let engine = engine("");
    let same = chamber(&under(&engine, [warm(25.0), warm(25.0)]));
    close(same.value, at_25, 1e-11, "both rounds at 25 degC");
    let mixed = chamber(&under(&engine, [warm(25.0), warm(20.0)]));
    close(
        mixed.value,
        (64.0 + at_25) / 2.0,
        1e-5,
        "a round on another day",
    );
}

#[test]
fn what_was_asked_and_not_said_widens_the_uncertainty_and_is_named() {
    let engine = engine("");
    let asked = ReadingConditions {
        asked: true,
        ..poured_right()
    };
    let report = under(&engine, [asked.clone(), asked]);
    let figure = chamber(&report);
    assert_eq!(figure.value, 64.0);
    // Within 2 K of each other, of a liquid that expands by 0.00065 per K.
    let u = 64.0 * 0.000_65 * 2.0 / 3f64.sqrt();
    close(figure.u.expect("known"), u, 1e-9, "widened u");
    let named = |text: &String| text.contains("liquid/temperature, chamber/temperature");
    assert!(report.remarks.iter().any(named), "{:?}", report.remarks);

    let known = ReadingConditions {
        liquid: Some("water".to_owned()),
        liquid_temperature: said("liquid", 21.0, 0.5),
        chamber_temperature: said("chamber", 21.0, 0.5),
        asked: true,
        ..poured_right()
    };
    let report = under(&engine, [known.clone(), known]);
    let narrow = chamber(&report).u.expect("known");
    assert!(narrow < 0.25 * u, "{narrow}");
    let unsaid = |text: &String| text.contains("Not said");
    assert!(!report.remarks.iter().any(unsaid), "{:?}", report.remarks);
}

/// With the valves and plugs that run, and no liquid left in the fill hole.
fn poured_right() -> ReadingConditions {
    ReadingConditions {
        valves_and_plugs: Some("running".to_owned()),
        fill_hole: said("fill hole", 0.0, 0.0),
        ..ReadingConditions::default()
    }
}

/// Half a pool that was weighed in a liquid nobody knows is no volume.
#[test]
fn a_weight_of_a_liquid_of_another_name_is_no_volume() {
    let engine = engine("[liquid]\nkind = \"water\"\ntemperature = \"20 degC\"");
    let csv = "spot,value,unit,u\nchamber/1,64.00,g,0\n";
    let mut readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    readings[0].conditions = Some(Box::new(ReadingConditions {
        liquid: Some("spirit".to_owned()),
        ..ReadingConditions::default()
    }));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(report.cylinder(1).and_then(|one| one.chamber.clone()), None);
}

/// A spirit in a glass burette at 24 degC and a part at 28 degC, as in a worked case of the
/// formulas of section 7.6: 80 cc as read are 80·(1 + 27e-6·4)/(1 − 0.00108·4) cc where they are.
const SPIRIT: &str = "[liquid]
kind = \"other\"
density = \"790 kg/m3 +- 1 kg/m3\"
expansion = \"0.00108 1 +- 0.00002 1\"
temperature = \"24 degC +- 0.5 degC\"
chamber_temperature = \"28 degC +- 1 degC\"
glass = \"soda-lime\"
[head]
metal = \"aluminium\"";

#[test]
fn liquid_poured_on_a_crown_is_corrected_like_that_in_a_chamber() {
    let engine = engine(SPIRIT);
    let report = report_of(
        &engine,
        "spot,value,unit,u\ncrown/1/fluid,80,cc,0\ncrown/1/depth,10,mm,0\nchamber/1,64,cc,0\n",
    );
    let crown = report
        .cylinder(1)
        .and_then(|one| one.crown.clone())
        .expect("a crown");
    let factor = (1.0 + 27e-6 * 4.0) / (1.0 - 0.001_08 * 4.0);
    let bore = std::f64::consts::PI / 4.0 * 1e4 * 10.0 / 1000.0;
    close(crown.value, bore - 80.0 * factor, 1e-12, "crown");
    let said = |words: &str| report.remarks.iter().any(|text| text.contains(words));
    assert!(
        said(
            "the liquid poured in the bore is corrected for the burette's glass, the liquid between burette and bore."
        ),
        "{:?}",
        report.remarks
    );
    // Of a crown that was read as one value it is not known how much was poured.
    let report = report_of(&engine, "spot,value,unit,u\ncrown/1,-6,cc,0\n");
    let crown = report
        .cylinder(1)
        .and_then(|one| one.crown.clone())
        .expect("a crown");
    assert_eq!(crown.value, -6.0);
    let said = |words: &str| report.remarks.iter().any(|text| text.contains(words));
    assert!(
        said("Domes and dishes read as one value are as read"),
        "{:?}",
        report.remarks
    );
}

/// The errors of both temperatures move chamber and crown together: the clearance volume knows it.
#[test]
fn chamber_and_poured_crown_share_the_errors_of_the_temperatures() {
    let gasket = "[gasket]\nbore = \"102 mm +- 0 mm\"\nthickness = \"1 mm +- 0 mm\"\n";
    let engine = engine(&format!("{gasket}{SPIRIT}"));
    let report = report_of(
        &engine,
        "spot,value,unit,u\nchamber/1,64,cc,0\ncrown/1/fluid,80,cc,0\ncrown/1/depth,10,mm,0\ndeck/1,0,mm,0\n",
    );
    let one = report.cylinder(1).expect("cylinder 1");
    let names: Vec<&str> = one
        .compression_budget
        .iter()
        .map(|share| share.source.as_str())
        .collect();
    let count = names
        .iter()
        .filter(|name| **name == "chamber temperature")
        .count();
    assert_eq!(count, 1, "{names:?}");
    // 64 cc and 80 cc answer alike to the part's temperature: at 0.00108 per K less the metal, the
    // two together by 0.155 cc per K.
    let share = |name: &str| {
        let found = one
            .compression_budget
            .iter()
            .find(|share| share.source == name);
        found
            .and_then(|share| share.contribution.clone())
            .expect("known")
            .value
    };
    let clearance = one.clearance.clone().expect("known").value;
    let swept = one.swept.clone().expect("bore and stroke").value;
    let volume = share("chamber temperature") * clearance * clearance / swept;
    assert!((volume - 0.152).abs() < 0.003, "{volume}");
}

#[test]
fn twenty_degrees_are_claimed_only_of_what_was_brought_there() {
    let without = SPIRIT.replace("chamber_temperature = \"28 degC +- 1 degC\"\n", "");
    let csv = "spot,value,unit,u\nchamber/1,64,cc,0\n";
    let partly = report_of(&engine(&without), csv);
    close(
        chamber(&partly).value,
        64.0 * (1.0 + 27e-6 * 4.0),
        1e-12,
        "chamber",
    );
    let text = partly.remarks.join(" ");
    assert!(
        text.contains("corrected for the burette's glass, but not for the liquid"),
        "{text}"
    );
    assert!(
        text.contains("not brought to 20 degC") && !text.contains("are at 20 degC"),
        "{text}"
    );

    let whole = report_of(&engine(SPIRIT), csv).remarks.join(" ");
    assert!(
        whole.contains("are at 20 degC, corrected for the burette's glass"),
        "{whole}"
    );

    // Nothing is poured from glass where it is weighed.
    let weighed = report_of(&engine(SPIRIT), "spot,value,unit,u\nchamber/1,50,g,0\n");
    let text = weighed.remarks.join(" ");
    assert!(
        text.contains("at 20 degC, corrected for the buoyancy of the air, the head's metal"),
        "{text}"
    );
    assert!(!text.contains("glass"), "{text}");
}
