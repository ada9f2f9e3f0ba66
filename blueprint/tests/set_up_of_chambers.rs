//! What a chamber was poured with: the plate's fill hole, the valves and the plugs.

mod common;

use benchhand_blueprint::readings::{ConditionValue, ReadingConditions};
use benchhand_blueprint::{Engine, Figure, Report, ReportInputs, readings, report};
use common::close;

fn engine(sections: &str) -> Engine {
    let text = format!(
        "name = \"check\"\nunits = \"metric\"\ncylinders = 1\nbore = \"100 mm\"\nstroke = \"90 mm\"\n{sections}\n[gauges.balance]\nkind = \"balance\"\nresolution = \"0.01 g\"\nu = \"0.02 g\"\nrepeatability = \"0.05 g\"\n"
    );
    Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"))
}

fn chamber(report: &Report) -> Figure {
    report
        .cylinder(1)
        .and_then(|one| one.chamber.clone())
        .expect("a chamber")
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

/// By hand: 64.00 cc were poured, 0.34 cc of them stand in the hole.
#[test]
fn the_fill_hole_is_taken_off_and_unsaid_it_is_lacking() {
    let engine = engine("");
    let with = |fill_hole, valves: Option<&str>, asked| ReadingConditions {
        fill_hole,
        valves_and_plugs: valves.map(str::to_owned),
        asked,
        ..ReadingConditions::default()
    };
    let hole = || said("fill hole", 0.34, 0.02);
    let both = |one: ReadingConditions| under(&engine, [one.clone(), one]);

    let report = both(with(hole(), Some("running"), false));
    let figure = chamber(&report);
    close(figure.value, 64.0 - 0.34, 1e-12, "less the hole");
    close(figure.u.expect("known"), 0.02, 1e-9, "the hole's u");
    assert_eq!(report.lacking, [""; 0]);
    let taken = |text: &String| text.contains("0.34 cc, is taken off");
    assert!(report.remarks.iter().any(taken), "{:?}", report.remarks);

    // 0.4 and 1 cc, rectangular, of docs/formulas.md, section 16.
    let widths = |lacking: &[f64]| {
        let squares: f64 = lacking.iter().map(|half| half * half / 3.0).sum();
        2.0 * squares.sqrt()
    };
    for (said, lacking, words) in [
        (
            with(None, Some("running"), true),
            &[0.4][..],
            &["fill-hole/volume was not said"][..],
        ),
        (
            with(said("fill hole", 0.34, 0.0), None, true),
            &[1.0],
            &["valves-and-plugs was not said"],
        ),
        (
            with(said("fill hole", 0.34, 0.0), Some("checking valves"), true),
            &[1.0],
            &["poured with checking valves"],
        ),
        (
            with(None, None, true),
            &[0.4, 1.0],
            &["fill-hole/volume", "valves-and-plugs"],
        ),
    ] {
        let report = both(said);
        let figure = chamber(&report);
        assert_eq!(figure.u, None, "{words:?}");
        assert_eq!(figure.lacking.len(), words.len(), "{figure:?}");
        let known = |figure: &Figure| figure.u_known.map_or(0.0, |u| 2.0 * u);
        let all = figure.assumed.expect("an assumed width");
        let expected = widths(lacking).hypot(known(&figure));
        close(all, expected, 1e-3, "the assumed width");
        // Said once, below the table.
        assert_eq!(report.lacking.len(), 1, "{:?}", report.lacking);
        for word in words {
            assert_eq!(report.lacking[0].matches(word).count(), 1, "{word}");
        }
    }
    // A file of readings was asked nothing.
    assert_eq!(chamber(&both(with(None, None, false))).u, Some(0.0));
}
