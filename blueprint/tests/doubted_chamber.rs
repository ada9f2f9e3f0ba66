//! Chamber work beside a chamber that could be anywhere: it is measured again before it is opened.

use benchhand_blueprint::decide::least_chamber_work;
use benchhand_blueprint::engine_figures::EngineFigures;
use benchhand_blueprint::figure::Estimate;
use benchhand_blueprint::report::engine_figures;
use benchhand_blueprint::{Engine, ReportInputs, readings};

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../examples/invented-v8-readings.csv");

/// The figures of the invented V8.
fn measured() -> EngineFigures {
    let engine = Engine::from_toml(ENGINE).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(READINGS, &engine).unwrap_or_else(|e| panic!("{e}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    engine_figures(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn a_chamber_that_could_be_anywhere_is_not_opened_by_less_than_that() {
    let state = measured();
    let work = least_chamber_work(&state, 0.5).expect("work");
    let poor = work.work.iter().position(|one| one.worth_it == Some(true));
    let poor = poor.expect("one is opened");
    let mut doubted = state.clone();
    let known = &mut doubted.cylinders[poor];
    let value = known.chamber.as_ref().expect("known").value();
    let anywhere = Estimate::input("one pair of repeats", value, Some(0.16), 1.0);
    known.chamber = Some(anywhere);
    let beside = least_chamber_work(&doubted, 0.5).expect("work");
    let own = &beside.work[poor];
    assert_eq!((own.worth_it, own.remove.value), (None, 0.0));
    let others = beside.work.iter().zip(&work.work).enumerate();
    for (at, (now, before)) in others.filter(|(at, _)| *at != poor) {
        assert_eq!(now.worth_it, before.worth_it, "chamber {}", at + 1);
    }
}

#[test]
fn the_others_are_not_opened_after_a_chamber_that_could_be_anywhere() {
    let state = measured();
    let work = least_chamber_work(&state, 0.5).expect("work");
    // Another chamber is seen larger than the largest, but hardly known.
    let largest = work
        .work
        .iter()
        .position(|one| one.cylinder == work.reference);
    let largest = largest.expect("the reference");
    let poor = (largest + 1) % work.work.len();
    let most = state.cylinders[largest]
        .chamber
        .as_ref()
        .expect("known")
        .value();
    let mut doubted = state.clone();
    let known = &mut doubted.cylinders[poor];
    known.chamber = Some(Estimate::input(
        "one pair of repeats",
        most + 1.0,
        Some(0.16),
        1.0,
    ));
    let beside = least_chamber_work(&doubted, 0.5).expect("work");
    assert_eq!(beside.reference, work.reference);
    assert_eq!(
        (beside.work[poor].worth_it, beside.work[poor].remove.value),
        (None, 0.0)
    );
    let others = beside.work.iter().zip(&work.work).enumerate();
    for (at, (now, before)) in others.filter(|(at, _)| *at != poor) {
        assert_eq!(now.worth_it, before.worth_it, "chamber {}", at + 1);
    }
}
