//! What if, two states compared, and the next best reading, on the example engine.

use benchhand_blueprint::decide::{DimensionChange, NextGoal, compare, next_reading, what_if};
use benchhand_blueprint::engine_figures::EngineFigures;
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

#[test]
fn what_if_knows_the_difference_better_than_either_side() {
    let state = state_of(READINGS);
    let change = ["gasket/thickness = 0.051 in".parse().expect("a change")];
    let (_, found) = what_if(&state, &change).expect("a comparison");
    let mean = found.compression_mean.expect("known");
    assert!(mean.difference.value < -0.2);
    let milled = ["chamber -= 1 cc".parse().expect("a change")];
    let (_, found) = what_if(&state, &milled).expect("a comparison");
    let mean = found.compression_mean.expect("known");
    let (before, difference) = (
        mean.before.u.expect("known"),
        mean.difference.u.expect("known"),
    );
    assert!(difference < before / 20.0, "{difference} {before}");
    assert_eq!(mean.real, Some(true));
    assert!(
        found
            .quench
            .iter()
            .all(|(_, pair)| pair.clone().expect("known").difference.value == 0.0)
    );
}

#[test]
fn changes_that_cannot_be_are_refused() {
    for (text, words) in [
        ("gasket thickness", "expected a dimension"),
        ("piston = 3 cc", "expected one of bore"),
        ("bore = 3 cc", "a length"),
        ("bore = 4", "without a unit"),
    ] {
        let error = text.parse::<DimensionChange>().expect_err(text).to_string();
        assert!(error.contains(words), "{error}");
    }
    let state = state_of(READINGS);
    for (text, words) in [
        ("chamber/9 = 64 cc", "cylinder 9"),
        (
            "gasket bore = 3.9 in",
            "gasket bore smaller than its bore of 3.9000 in, which cannot be",
        ),
        ("chamber/2 = 0 cc", "chamber of 0.00 cc, which cannot be"),
        ("crown = 90 cc", "total volume at TDC"),
        ("bore = 4.2 in", "gasket bore smaller"),
        ("gasket thickness = 0 in", "gasket thickness"),
    ] {
        let change = [text.parse().expect("a change")];
        let error = what_if(&state, &change).expect_err(text).to_string();
        assert!(error.contains(words), "{error}");
    }
}

#[test]
fn one_more_reading_is_asked_where_it_tells_most() {
    // The crown of cylinder 4 was read with a poor gauge.
    let csv = READINGS.replace("crown/4,-3.3,cc,,burette", "crown/4,-3.3,cc,0.8,");
    let state = state_of(&csv);
    let best = next_reading(&state, NextGoal::CompressionOf(4));
    assert_eq!(best[0].spot.to_string(), "crown/4");
    assert!(best[0].u_after < best[0].u_now);
    // What all cylinders share moves the mean more than any one crown.
    let best = next_reading(&state, NextGoal::CompressionMean);
    assert_eq!(best[0].spot.to_string(), "gasket/thickness");
    let spread = next_reading(&state, NextGoal::CompressionSpread);
    assert_eq!(spread[0].spot.to_string(), "crown/4");
    // What all cylinders share does not narrow a spread of the chambers.
    let chambers = next_reading(&state, NextGoal::ChamberSpread);
    assert!(
        chambers
            .iter()
            .all(|one| one.spot.family().name() == "chamber")
    );
    // Nothing is known of a gauge: then that comes first.
    let unknown = READINGS.replace(",burette,", ",another,");
    assert!(next_reading(&state_of(&unknown), NextGoal::CompressionMean).is_empty());
}

#[test]
fn two_jobs_share_their_gauges_and_nothing_else() {
    let state = state_of(READINGS);
    let same = compare(&state, &state);
    let own = same.chamber[0].1.clone().expect("known");
    assert_eq!((own.difference.value, own.difference.u), (0.0, Some(0.0)));
    let other = compare(&state, &state.of_job("other"));
    let pair = other.chamber[0].1.clone().expect("known");
    let (one, difference) = (
        pair.before.u.expect("known"),
        pair.difference.u.expect("known"),
    );
    assert!(
        difference > 0.0 && difference < one * 2f64.sqrt(),
        "{difference} {one}"
    );
    assert_eq!(pair.real, Some(false));
}
