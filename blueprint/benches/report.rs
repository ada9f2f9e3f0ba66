//! How long a report of 10,000 readings takes (aim: 100 ms), from readings and from CSV.

use std::fmt::Write as _;
use std::hint::black_box;

use benchhand_blueprint::{Engine, ReportInputs, readings, report};
use criterion::{Criterion, criterion_group, criterion_main};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");

/// Rounds of 8 chambers, 16 deck points and 8 crowns: 10,000 readings.
fn many() -> String {
    let mut csv = "spot,value,unit,u,gauge,stage\n".to_owned();
    let mut line = 0u32;
    'all: loop {
        for cylinder in 1..=8u32 {
            // A fixed pattern that wanders by a few steps.
            let off = f64::from((line * 7919) % 5) * 0.05;
            for row in [
                format!("chamber/{cylinder},{:.2},cc,,burette,", 64.0 + off),
                format!("deck/{cylinder}/front,{:.4},in,,dial,", 0.008 + off * 0.002),
                format!("deck/{cylinder}/rear,{:.4},in,,dial,", 0.008 - off * 0.002),
                format!("crown/{cylinder},{:.2},cc,,burette,", -3.2 + off),
            ] {
                let _ = writeln!(csv, "{row}");
                line += 1;
                if line == 10_000 {
                    break 'all;
                }
            }
        }
    }
    csv
}

fn bench(c: &mut Criterion) {
    let engine = Engine::from_toml(ENGINE).expect("an engine");
    let csv = many();
    let all = readings::from_csv(&csv, &engine).expect("readings");
    assert_eq!(all.len(), 10_000);
    let inputs = ReportInputs {
        engine: &engine,
        readings: &all,
        stages: &[],
        stage: None,
    };
    c.bench_function("report of 10,000 readings", |b| {
        b.iter(|| report(black_box(&inputs)).expect("a report"))
    });
    c.bench_function("10,000 readings from CSV", |b| {
        b.iter(|| readings::from_csv(black_box(&csv), &engine).expect("readings"))
    });
}

criterion_group!(benches, bench);
criterion_main!(benches);
