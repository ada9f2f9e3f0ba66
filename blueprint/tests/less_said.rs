//! Less said is never surer: whatever single statement is taken out of a whole engine and its
//! readings, no verdict becomes firmer. And what is not known does not blind what does not depend on
//! it.
//!
//! Against the rule itself and by hand; the widths that are assumed are those of `docs/formulas.md`,
//! section 16.

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::readings::{ConditionValue, ReadingConditions};
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

const HEAD: &str = r#"name = "check"
units = "metric"
cylinders = 4
bore = "86 mm +- 0.01 mm"
stroke = "86 mm +- 0.02 mm"
"#;

/// The statements, each of which can be taken out.
const STATEMENTS: [&str; 13] = [
    "[piston]\ncrown = \"5.5 cc|+- 0.1 cc|\"\n",
    "[gasket]\nbore = \"87.5 mm|+- 0.1 mm|\"\n",
    "thickness = \"1.1 mm|+- 0.01 mm|\"\n",
    "[gauges.burette]\nkind = \"burette\"\n|u = \"0.05 cc\"\n|",
    "|scale_u = \"0.05 %\"\n|",
    "|resolution = \"0.1 cc\"\n|",
    "|repeatability = \"0.06 cc\"\n|",
    "[gauges.dial]\nkind = \"dial\"\n|u = \"0.004 mm\"\n|",
    "|resolution = \"0.01 mm\"\n|",
    "|zero_u = \"0.003 mm\"\n|",
    "|repeatability = \"0.005 mm\"\n|",
    "[liquid]\nkind = \"water\"\ntemperature = \"20 degC| +- 0.2 degC|\"\n",
    "|chamber_temperature = \"21 degC +- 0.2 degC\"\n|",
];

/// The engine without one statement.
fn engine(without: Option<usize>, tolerances: &str) -> Engine {
    let mut text = HEAD.to_owned();
    for (at, statement) in STATEMENTS.iter().enumerate() {
        let parts: Vec<&str> = statement.split('|').collect();
        for (number, part) in parts.iter().enumerate() {
            if number % 2 == 0 || without != Some(at) {
                text += part;
            }
        }
    }
    text += tolerances;
    Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}\n{text}"))
}

/// Rows of the job; two rounds of chambers and decks.
fn rows(chambers: [f64; 4], decks: [f64; 4]) -> Vec<String> {
    let mut rows = Vec::new();
    for _ in 0..2 {
        for at in 0..4 {
            let cylinder = at + 1;
            rows.push(format!("chamber/{cylinder},{:.1},cc,burette", chambers[at]));
            rows.push(format!("deck/{cylinder},{:.2},mm,dial", decks[at]));
        }
    }
    rows
}

/// What was said at the bench of the chambers.
fn said() -> ReadingConditions {
    ReadingConditions {
        valves_and_plugs: Some("running".to_owned()),
        fill_hole: Some(ConditionValue {
            name: "fill-hole/volume".to_owned(),
            fact: None,
            value: 0.12,
            u: Some(0.02),
            step: None,
        }),
        asked: true,
        ..ReadingConditions::default()
    }
}

fn told(engine: &Engine, rows: &[String]) -> Report {
    told_under(engine, rows, &said())
}

fn told_under(engine: &Engine, rows: &[String], said: &ReadingConditions) -> Report {
    let csv = format!("spot,value,unit,gauge\n{}\n", rows.join("\n"));
    let mut readings = readings::from_csv(&csv, engine).unwrap_or_else(|faults| panic!("{faults}"));
    for reading in &mut readings {
        reading.conditions = Some(Box::new(said.clone()));
    }
    let inputs = ReportInputs {
        engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

/// How firm each verdict is: two where it is proven, one where it is so at an assumed width.
fn firmness(report: &Report) -> Vec<(String, u8)> {
    let firm =
        |one: &benchhand_blueprint::report::ToleranceVerdict| match (one.answer, one.assumed.len())
        {
            (VerdictAnswer::CannotTell, _) => 0,
            (_, 0) => 2,
            _ => 1,
        };
    let name = |one: &benchhand_blueprint::report::ToleranceVerdict| {
        format!("{} {:?}", one.about, one.cylinder)
    };
    report
        .verdicts
        .iter()
        .map(|one| (name(one), firm(one)))
        .collect()
}

/// A small generator of numbers between 0 and 1 (Park and Miller 1988, from memory).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0 * 48_271 % 2_147_483_647;
        self.0 as f64 / 2_147_483_647.0
    }
}

#[test]
fn no_statement_that_is_taken_out_makes_a_verdict_firmer() {
    for seed in 1..=40 {
        let mut dice = Dice(seed * 7919);
        let chambers = [0; 4].map(|_| 46.0 + 0.4 * dice.roll());
        let decks = [0; 4].map(|_| 0.20 + 0.06 * dice.roll());
        let rows = rows(chambers, decks);
        let limits = [
            0.2 + 1.5 * dice.roll(),
            0.03 + 0.12 * dice.roll(),
            0.05 + 0.3 * dice.roll(),
        ];
        let quench = 1.2 + 0.15 * dice.roll();
        // A spread's verdict is simulated and flips by the noise of its draws where the chance is at
        // its limit: it is firmer only if it is so with a limit 3 % away on both sides.
        let tolerances = |factor: f64| {
            let [chamber, deck, ratio] = limits.map(|limit| limit * factor);
            format!(
                "[tolerances]\nchamber_spread = \"{chamber:.4} cc\"\ndeck_spread = \"{deck:.5} mm\"\ncompression_spread = {ratio:.5}\nleast_quench = \"{quench:.3} mm\"\n",
            )
        };
        let whole = firmness(&told(&engine(None, &tolerances(1.0)), &rows));
        let fewer_under =
            |what: &str, without: Option<usize>, rows: &[String], said: &ReadingConditions| {
                let less = [0.97, 1.0, 1.03].map(|factor| {
                    firmness(&told_under(
                        &engine(without, &tolerances(factor)),
                        rows,
                        said,
                    ))
                });
                for (at, (name, whole)) in whole.iter().enumerate() {
                    let less = less.iter().map(|all| all[at].1).min().unwrap_or(0);
                    assert!(
                        less <= *whole,
                        "seed {seed}: without {what}, {name}: {whole} {less}\n{}",
                        tolerances(1.0)
                    );
                }
            };
        let fewer = |what: &str, without: Option<usize>, rows: &[String]| {
            fewer_under(what, without, rows, &said());
        };
        let (mut other_valves, mut no_hole) = (said(), said());
        other_valves.valves_and_plugs = None;
        no_hole.fill_hole = None;
        fewer_under("the valves and plugs", None, &rows, &other_valves);
        fewer_under("the fill hole", None, &rows, &no_hole);
        for (without, statement) in STATEMENTS.iter().enumerate() {
            fewer(statement, Some(without), &rows);
        }
        for at in 8..rows.len() {
            let mut left = rows.clone();
            let out = left.remove(at);
            fewer(&out, None, &left);
        }
        // No repeat at all, and nobody states how far set-ups differ.
        let once: Vec<String> = rows[..8].to_vec();
        fewer("a second round", None, &once);
        for (without, spread) in [(6, "chamber_spread"), (10, "deck_spread")] {
            let report = told(&engine(Some(without), &tolerances(1.0)), &once);
            let judged = report
                .verdicts
                .iter()
                .find(|one| one.about.name() == spread);
            let judged = judged.expect("a verdict");
            assert_ne!(
                judged.answer,
                VerdictAnswer::Within,
                "seed {seed}: {}",
                judged.text
            );
            fewer("a second round and the repeatability", Some(without), &once);
        }
    }
}

#[test]
fn a_burette_that_nobody_checked_blinds_the_chambers_and_not_their_spread() {
    let rows = rows([46.0, 46.1, 46.0, 46.2], [0.2; 4]);
    let report = told(&engine(Some(3), ""), &rows);
    // The scale's u is stated, so that the calibration alone may be left out: take that out too.
    let mut without = engine(Some(3), "");
    let burette = without.gauges.get_mut("burette").expect("a burette");
    burette.scale_u = None;
    let unchecked = told(&without, &rows);
    let summary = &unchecked.summary;
    let mean = summary.chamber_mean.clone().expect("a mean");
    assert_eq!(mean.u, None);
    assert_eq!(mean.lacking, ["gauge burette calibration"]);
    assert!(
        mean.u_known.is_some_and(|u| u > 0.01 && u < 0.1),
        "{mean:?}"
    );
    assert!(
        summary
            .chamber_spread
            .clone()
            .expect("a spread")
            .u
            .is_some()
    );
    assert!(
        summary
            .compression_spread
            .clone()
            .expect("a spread")
            .u
            .is_some()
    );
    assert!(
        unchecked
            .lacking
            .iter()
            .any(|line| line.contains("gauge burette never checked"))
    );
    assert!(report.cylinders.len() == 4);
    // Old readers find value, u and unit; a figure that lacks nothing has no more.
    let json = serde_json::to_value(&mean).expect("JSON");
    assert!(json["u"].is_null() && json["u_known"].is_f64());
    let spread = serde_json::to_value(summary.chamber_spread.clone()).expect("JSON");
    assert_eq!(spread.as_object().expect("an object").len(), 3);
}

#[test]
fn a_temperature_that_is_answered_without_a_width_is_known_to_half_its_last_digit() {
    let said = |step| ConditionValue {
        name: "liquid/temperature".to_owned(),
        fact: None,
        value: 20.0,
        u: None,
        step,
    };
    let u = |said: ConditionValue| said.estimate().u().expect("known");
    assert!((u(said(Some(0.1))) - 0.05 / 3f64.sqrt()).abs() < 1e-12);
    assert!((u(said(None)) - 0.5 / 3f64.sqrt()).abs() < 1e-12);
}
