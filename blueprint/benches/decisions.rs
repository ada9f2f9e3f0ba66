//! How long the assignment of eight pistons and rods takes (aim: 2 s), and a simulation of 1e6
//! trials of the compression of eight cylinders (aim: 1 s).

use std::hint::black_box;

use benchhand_blueprint::decide::{BoreToFill, PartSide, PistonPart, RodPart, assign};
use benchhand_blueprint::figure::{ErrorSource, Estimate, NormalDraws, Scalar, Simulation};
use benchhand_blueprint::formula::compression::CylinderVolumes;
use benchhand_blueprint::{Engine, ReportInputs, Unit, readings, report::engine_figures};
use criterion::{Criterion, criterion_group, criterion_main};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../examples/invented-v8-readings.csv");

/// A number from -1 to 1 that depends on `seed` alone.
fn scattered(seed: u32) -> f64 {
    let mixed = seed
        .wrapping_mul(2_654_435_761)
        .rotate_left(13)
        .wrapping_mul(40_503);
    f64::from(mixed % 2001) / 1000.0 - 1.0
}

fn parts(seed: u32) -> (Vec<BoreToFill>, Vec<PistonPart>, Vec<RodPart>) {
    let mut next = seed * 1000;
    let mut off = |size: f64| {
        next += 1;
        Estimate::exact(size * scattered(next))
    };
    let bores = (1..=8)
        .map(|cylinder| BoreToFill {
            cylinder,
            side: (cylinder % 2) as usize,
            bore: off(0.02).offset(101.6),
            stroke: Estimate::exact(88.4),
            block_height: off(0.05).offset(229.0),
            throw: Estimate::exact(44.2),
            chamber: off(0.4).offset(64.0),
            gasket_bore: Estimate::exact(104.0),
            gasket_thickness: Estimate::exact(1.0),
            crevice: Estimate::exact(0.8),
            fitted_piston: None,
            fitted_rod: None,
        })
        .collect();
    let pistons = (0..8)
        .map(|at| PistonPart {
            name: format!("piston {at}"),
            crown: off(0.3).offset(-3.0),
            height: off(0.03).offset(30.0),
            pin_offset: Estimate::exact(0.0),
            side: PartSide::Any,
        })
        .collect();
    let rods = (0..8)
        .map(|at| RodPart {
            name: format!("rod {at}"),
            length: off(0.03).offset(154.4),
            side: PartSide::Any,
        })
        .collect();
    (bores, pistons, rods)
}

fn assignment(c: &mut Criterion) {
    let mut group = c.benchmark_group("assignment");
    group.sample_size(10);
    for seed in 1..=3 {
        let (bores, pistons, rods) = parts(seed);
        group.bench_function(format!("eight pistons and rods free, set {seed}"), |b| {
            b.iter(|| {
                assign(black_box(&bores), &pistons, &rods, Unit::Inch).expect("an assignment")
            })
        });
    }
    group.finish();
}

fn simulation(c: &mut Criterion) {
    let engine = Engine::from_toml(ENGINE).expect("an engine");
    let all = readings::from_csv(READINGS, &engine).expect("readings");
    let inputs = ReportInputs {
        engine: &engine,
        readings: &all,
        stages: &[],
        stage: None,
    };
    let whole = engine_figures(&inputs).expect("figures").cylinders[0]
        .whole()
        .expect("all known");
    let mut group = c.benchmark_group("simulation");
    group.sample_size(10);
    // The eight inputs of one cylinder, each with one error.
    let one = |at: u32, estimate: &Estimate| {
        let u = estimate.u();
        Estimate::new(
            estimate.value(),
            ErrorSource::new(format!("input {at}"), u, f64::INFINITY),
        )
    };
    let inputs = [
        one(0, &whole.bore),
        one(1, &whole.stroke),
        one(2, &whole.chamber),
        one(3, &whole.gasket_bore),
        one(4, &whole.gasket_thickness),
        one(5, &whole.deck),
        one(6, &whole.crown),
        one(7, &whole.crevice),
    ];
    let simulation = Simulation::new(&inputs, NormalDraws::Normal).expect("all known");
    group.bench_function("1e6 trials of one compression", |b| {
        b.iter(|| {
            simulation.distribution(black_box(1_000_000), 1, |x| {
                CylinderVolumes {
                    bore: x[0],
                    stroke: x[1],
                    chamber: x[2],
                    gasket_bore: x[3],
                    gasket_thickness: x[4],
                    deck: x[5],
                    crown: x[6],
                    crevice: x[7],
                }
                .ratio()
            })
        })
    });
    group.finish();
}

criterion_group!(benches, assignment, simulation);
criterion_main!(benches);
