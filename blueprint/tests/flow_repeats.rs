//! Repeats of a port that disagree: its dimensions, and its flow at one lift. How often sound jobs are
//! accused is drawn with a fixed seed.

use std::fmt::Write as _;

use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

fn told(entry: &str, rows: &str) -> Report {
    let text = format!(
        "name = \"check\"\nunits = \"metric\"\ncylinders = 1\nbore = \"100 mm\"\nstroke = \"90 mm\"\n[flow]\nreference = \"28 inH2O\"\n[gauges.caliper]\nkind = \"micrometer\"\nresolution = \"0.01 mm\"\nu = \"0.02 mm\"\nrepeatability = \"0.02 mm\"\n[gauges.manometer]\nkind = \"manometer\"\nresolution = \"0.01 inH2O\"\nu = \"0.02 inH2O\"\nzero_u = \"0.01 inH2O\"\n{entry}"
    );
    let engine = Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"));
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

fn disagreeing(report: &Report) -> Vec<(String, String)> {
    let found = report.findings_of(FindingKind::Disagrees);
    found
        .map(|one| (one.spot.clone(), one.text.clone()))
        .collect()
}

/// Six lifts in two rounds; metering pressures scatter by this share, and the second round of the
/// fourth lift is off by `off` inH2O.
fn flows(share: f64, off: f64, rng: &mut ChaCha8Rng) -> String {
    let mut rows = String::new();
    for lift in 1..=6 {
        for round in 0..2 {
            let normal: f64 = StandardNormal.sample(rng);
            let slip = if (lift, round) == (4, 1) { off } else { 0.0 };
            let read = 2.0 * f64::from(lift) * (1.0 + share * normal) + slip;
            let spot = format!("flow/1/intake/{lift}mm");
            let _ = writeln!(rows, "{spot}/test,28.00,inH2O,manometer");
            let _ = writeln!(rows, "{spot}/metering,{read:.2},inH2O,manometer");
        }
    }
    rows
}

#[test]
fn a_throat_and_a_runner_whose_repeats_disagree_are_found() {
    let rows = "throat/1/intake,36.00,mm,caliper\nthroat/1/intake,38.00,mm,caliper\nvalve/1/intake,42.00,mm,caliper\nvalve/1/intake,42.01,mm,caliper\n";
    let found = disagreeing(&told("", rows));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "throat/1/intake");
    assert!(found[0].1.contains("differ by 2.000 mm"), "{found:?}");

    // A runner is a volume: it is not judged by how lengths repeat.
    let entry = "[gauges.burette]\nkind = \"burette\"\nresolution = \"0.1 cc\"\nu = \"0.1 cc\"\nrepeatability = \"0.2 cc\"\n";
    let rows = "runner/1/intake,180.0,cc,burette\nrunner/1/intake,190.0,cc,burette\nrunner/1/exhaust,80.0,cc,burette\nrunner/1/exhaust,80.3,cc,burette\n";
    let found = disagreeing(&told(entry, rows));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "runner/1/intake");
}

#[test]
fn a_flow_that_does_not_repeat_is_found_by_the_other_lifts_and_by_the_gauge() {
    let mut rng = ChaCha8Rng::seed_from_u64(4);
    for entry in ["", "repeatability = \"0.05 inH2O\"\n"] {
        let found = disagreeing(&told(entry, &flows(0.004, 1.0, &mut rng)));
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].0, "flow/1/intake/4mm");
        assert!(
            found[0].1.contains("metering pressures differ by"),
            "{found:?}"
        );
    }
}

/// At most 5 % of sound jobs, and three standard deviations of their number.
#[test]
fn at_most_one_sound_flow_job_in_twenty_is_accused() {
    const JOBS: usize = 300;
    let mut rng = ChaCha8Rng::seed_from_u64(29);
    for share in [0.001, 0.01, 0.03] {
        let accused = (0..JOBS)
            .filter(|_| !disagreeing(&told("", &flows(share, 0.0, &mut rng))).is_empty())
            .count();
        assert!(accused <= 26, "scatter {share}: {accused} of {JOBS}");
    }
}
