//! The effective ratio, by the example engine's valve timing and each cylinder's own rod.

use benchhand_blueprint::decide::*;
use benchhand_blueprint::engine_figures::EngineFigures;
use benchhand_blueprint::figure::{Estimate, Scalar};
use benchhand_blueprint::report::engine_figures;
use benchhand_blueprint::{Engine, ReportInputs, readings};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../examples/invented-v8-readings.csv");

fn state_of(csv: &str) -> EngineFigures {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    engine_figures(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

fn mean_ratio(state: &EngineFigures) -> f64 {
    let ratios: Vec<f64> = state
        .ratios()
        .iter()
        .map(|(_, ratio)| ratio.value())
        .collect();
    ratios.iter().sum::<f64>() / ratios.len() as f64
}

#[test]
fn effective_compression_is_less_and_falls_with_a_later_closing() {
    let state = state_of(READINGS);
    let rod = Estimate::input("rod", 152.4, Some(0.02), f64::INFINITY);
    let ratios = |closing: f64| {
        let closing = Estimate::input("closing", closing, Some(1.0), f64::INFINITY);
        effective_ratios(&state, Some(&rod), &Estimate::exact(0.0), &closing)
    };
    let (static_ratio, early, late) = (mean_ratio(&state), ratios(40.0), ratios(70.0));
    assert_eq!(early.len(), 8);
    assert!(early[0].1.value < static_ratio && late[0].1.value < early[0].1.value);
    // At bottom dead centre nothing is lost.
    let whole = ratios(0.0);
    assert!((whole[0].1.value - state.ratios()[0].1.value()).abs() < 1e-9);
    assert!(early[0].1.u.is_some());
}

/// Cylinder 3 has a rod of its own: its effective ratio is that of its own geometry, and the others
/// are left as they are.
#[test]
fn the_effective_ratio_is_that_of_each_cylinders_own_rod() {
    let closing = Estimate::input("closing", 70.0, Some(1.0), f64::INFINITY);
    let of = |engine: &str| {
        let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
        let readings =
            readings::from_csv(READINGS, &engine).unwrap_or_else(|faults| panic!("{faults}"));
        let inputs = ReportInputs {
            engine: &engine,
            readings: &readings,
            stages: &[],
            stage: None,
        };
        let state = engine_figures(&inputs).unwrap_or_else(|error| panic!("{error}"));
        let all = effective_ratios(&state, None, &Estimate::exact(0.0), &closing);
        (all, state)
    };
    let (plain, _) = of(ENGINE);
    let (own, state) = of(&format!(
        "{ENGINE}\n[cylinder.3]\nrod = \"6.500 in +- 0.0006 in\"\n"
    ));
    for ((number, before), (_, after)) in plain.iter().zip(&own) {
        assert_eq!(
            before.value != after.value,
            *number == 3,
            "cylinder {number}"
        );
    }
    // By hand: drop from top dead centre at 250 degrees with 165.1 mm of rod, throw 46 mm.
    let whole = state.cylinders[2].whole().expect("known");
    let (r, l, angle) = (whole.stroke.value() / 2.0, 165.1, 250f64.to_radians());
    let drop = r + l - r * angle.cos() - (l * l - (r * angle.sin()).powi(2)).sqrt();
    let area = std::f64::consts::FRAC_PI_4 * whole.bore.value().powi(2);
    let clearance = whole.clearance().value();
    let expected = 1.0 + area * drop / 1000.0 / clearance;
    assert!((own[2].1.value - expected).abs() < 1e-9, "{expected}");
}
