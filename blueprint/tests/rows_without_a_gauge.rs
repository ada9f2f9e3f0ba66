//! Less said is never surer: rows that name no gauge, added to a job, take no finding away.

use std::collections::BTreeSet;

use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, ReportInputs, readings, report};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../examples/invented-v8-readings.csv");

/// Values out of line with the others, and readings that disagree.
fn standing_out(csv: &str) -> BTreeSet<String> {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
    report
        .findings
        .into_iter()
        .filter(|one| matches!(one.kind, FindingKind::Outlier | FindingKind::Disagrees))
        .map(|one| one.spot)
        .collect()
}

/// The rows of one family again, as somebody else would send them: the same values, no gauge.
fn again_without_gauge(family: &str, only: Option<&str>) -> String {
    let rows = READINGS.lines().filter(|row| row.starts_with(family));
    let rows = rows.filter(|row| only.is_none_or(|only| row.starts_with(only)));
    rows.map(|row| {
        let fields: Vec<&str> = row.split(',').collect();
        format!("{},{},{},,\n", fields[0], fields[1], fields[2])
    })
    .collect()
}

#[test]
fn rows_without_a_gauge_take_no_finding_away() {
    // One chamber was poured twice with 0.5 cc between, ten times what its brothers show.
    let apart = format!("{READINGS}chamber/2,64.9,cc,,burette\n");
    for csv in [READINGS, apart.as_str()] {
        let before = standing_out(csv);
        assert!(!before.is_empty(), "the example has findings to lose");
        for (family, only) in [
            ("chamber/", None),
            ("deck/", None),
            ("chamber/", Some("chamber/2")),
            ("chamber/", Some("chamber/6")),
            ("deck/", Some("deck/3/front")),
            ("deck/", Some("deck/3/rear")),
            ("deck/", Some("deck/3")),
        ] {
            let after = standing_out(&(csv.to_owned() + &again_without_gauge(family, only)));
            let lost: Vec<&String> = before.difference(&after).collect();
            assert!(lost.is_empty(), "{family} {only:?} takes away {lost:?}");
        }
    }
}
