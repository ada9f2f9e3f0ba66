//! Stages: readings of different stages are never pooled, and a reading holds for a later stage
//! only where the cuts since are known to have left its spot alone.

use benchhand_blueprint::engine::Stage;
use benchhand_blueprint::spot::SpotFamily;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};

const ENGINE: &str = r#"name = "check"
units = "metric"
cylinders = 2
banks = [[1], [2]]
bore = "100 mm"
stroke = "90 mm"
[gasket]
bore = "102 mm"
thickness = "1 mm"
"#;

const CSV: &str = "spot,value,unit,u,gauge,stage
chamber/1,64.0,cc,,,as received
chamber/2,64.2,cc,,,as received
deck/1,0.2,mm,,,as received
deck/2,0.3,mm,,,as received
crown/1,-3,cc,,,as received
crown/2,-3,cc,,,as received
chamber/1,60.0,cc,,,milled 1
chamber/2,60.4,cc,,,milled 1
";

fn report_of(engine: &str, csv: &str, stages: &[Stage], stage: Option<&str>) -> Report {
    let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    report(&ReportInputs {
        engine: &engine,
        readings: &readings,
        stages,
        stage,
    })
    .unwrap_or_else(|error| panic!("{error}"))
}

fn chamber_mean(report: &Report) -> f64 {
    report.summary.chamber_mean.clone().expect("a mean").value
}

#[test]
fn each_stage_has_its_own_mean_and_the_last_is_the_default() {
    let before = report_of(ENGINE, CSV, &[], Some("as received"));
    let after = report_of(ENGINE, CSV, &[], None);
    assert!((chamber_mean(&before) - 64.1).abs() < 1e-12);
    assert!((chamber_mean(&after) - 60.2).abs() < 1e-12);
    assert_eq!(after.stage, "milled 1");
    assert_eq!(after.stages, ["as received", "milled 1"]);
    assert!(before.summary.compression_mean.is_some());
}

#[test]
fn after_a_cut_of_which_nothing_is_known_nothing_is_carried_on() {
    let after = report_of(ENGINE, CSV, &[], None);
    assert_eq!(after.summary.deck_mean, None);
    let missing = after
        .findings
        .iter()
        .find(|finding| finding.spot == "deck/1")
        .expect("missing");
    assert!(missing.text.contains("as received") && missing.text.contains("may have changed"));
}

#[test]
fn a_cut_on_the_heads_leaves_the_deck_and_the_crowns_as_they_were() {
    let cut = ENGINE.to_owned()
        + "[[stages]]\nname = \"as received\"\n[[stages]]\nname = \"milled 1\"\nchanged = [\"chamber\"]\n";
    let after = report_of(&cut, CSV, &[], None);
    assert!((after.summary.deck_mean.clone().expect("a mean").value - 0.25).abs() < 1e-12);
    assert!(after.summary.compression_mean.is_some());
    assert!((chamber_mean(&after) - 60.2).abs() < 1e-12);
    assert!(
        after
            .remarks
            .iter()
            .any(|text| text.contains("deck/1") && text.contains("as received"))
    );
}

#[test]
fn a_cut_on_one_head_keeps_the_chambers_of_the_other() {
    let stages = [
        Stage::named("as received"),
        Stage {
            name: "milled 1".into(),
            changed: Some(vec![SpotFamily::Chamber]),
            cylinders: Some(vec![1]),
        },
    ];
    let csv = CSV.replace("chamber/2,60.4,cc,,,milled 1\n", "");
    let after = report_of(ENGINE, &csv, &stages, None);
    let chamber = |n| {
        after
            .cylinder(n)
            .and_then(|one| one.chamber.clone())
            .expect("a chamber")
            .value
    };
    assert_eq!((chamber(1), chamber(2)), (60.0, 64.2));
    let both = [
        stages[0].clone(),
        Stage {
            cylinders: None,
            ..stages[1].clone()
        },
    ];
    let after = report_of(ENGINE, &csv, &both, None);
    assert_eq!(after.cylinder(2).and_then(|one| one.chamber.clone()), None);
}

#[test]
fn what_a_cut_took_is_learned_from_the_jobs_own_stages() {
    use benchhand_blueprint::decide::{MillModel, learn_within};
    use benchhand_blueprint::report::cut_pairs;
    let cut = ENGINE.to_owned()
        + "[[stages]]\nname = \"as received\"\n[[stages]]\nname = \"milled 1\"\nchanged = [\"chamber\"]\ndepth = \"0.7 mm\"\n";
    let engine = Engine::from_toml(&cut).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(CSV, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let pairs = cut_pairs(&inputs);
    assert_eq!(
        pairs,
        [
            (1, vec![(0.0, 64.0), (0.7, 60.0)]),
            (2, vec![(0.0, 64.2), (0.7, 60.4)])
        ]
    );
    let series: Vec<_> = pairs.into_iter().map(|(_, series)| series).collect();
    let Ok(MillModel::Learned {
        slope,
        pairs: 4,
        depths,
    }) = learn_within(&series)
    else {
        panic!("a slope from four chambers");
    };
    // 4.0 and 3.8 cc by 0.7 mm: the mean, and half their difference over √2 of scatter each.
    assert!((slope.value() - 3.9 / 0.7).abs() < 1e-12);
    assert!((slope.u().expect("one is left over") - 0.1 / 0.7).abs() < 1e-12);
    assert_eq!(depths, (0.0, 0.7));
    let Ok(MillModel::Learned { slope, .. }) = learn_within(&series[..1]) else {
        panic!("a slope from one chamber");
    };
    assert_eq!(slope.u(), None);
    // Without its depth a cut teaches nothing.
    let engine = Engine::from_toml(&cut.replace("depth = \"0.7 mm\"\n", "")).expect("an engine");
    let inputs = ReportInputs {
        engine: &engine,
        ..inputs
    };
    assert_eq!(cut_pairs(&inputs), []);
}
