//! What holds whatever text comes in. `fuzz/` makes texts up, and `blueprint/tests/fuzz_corpus.rs`
//! plays those that are kept. Each function says whether its text was taken.

use std::sync::LazyLock;

use benchhand_blueprint::engine::{EngineText, EngineValue, LengthUnits};
use benchhand_blueprint::{Engine, Reading, Report, ReportInputs, Spot, readings, report};

static EXAMPLE: LazyLock<Engine> = LazyLock::new(|| {
    Engine::from_toml(include_str!("../../../examples/invented-v8.toml"))
        .unwrap_or_else(|faults| panic!("{faults}"))
});

/// An engine file as somebody wrote it. One that is taken has a report without a reading.
pub fn engines(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    let engine = Engine::from_toml(text);
    match &engine {
        Err(faults) => assert!(!faults.faults.is_empty() && !faults.to_string().is_empty()),
        Ok(engine) => reported(engine, &[]),
    }
    let Ok(mut file) = EngineText::new(text) else {
        return false;
    };
    let bore = EngineValue::Text("4.030 in".to_owned());
    for (key, value) in [
        ("bore", Some(&bore)),
        ("gasket.bore", Some(&bore)),
        ("name", None),
        ("bore", None),
        ("bore", Some(&bore)),
    ] {
        file.set(key, value);
        let _ = (file.value(key), Engine::from_toml(file.as_str()));
    }
    engine.is_ok()
}

/// A file of readings of the example engine. What is taken is reported.
pub fn readings(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    match readings::from_csv(text, &EXAMPLE) {
        Err(faults) => {
            assert!(!faults.faults.is_empty() && !faults.to_string().is_empty());
            let lines = u64::try_from(text.lines().count()).unwrap_or(u64::MAX);
            for fault in &faults.faults {
                assert!((1..=lines + 1).contains(&fault.line), "{fault}");
                assert!(fault.column >= 1, "{fault}");
            }
            false
        }
        Ok(readings) => {
            reported(&EXAMPLE, &readings);
            true
        }
    }
}

/// A spot as somebody typed it. One that is taken is read again from how it is written.
pub fn spots(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    let mut taken = false;
    for units in [LengthUnits::Inch, LengthUnits::Metric] {
        if let Ok(spot) = Spot::typed(text, units) {
            let written = spot.to_string();
            assert_eq!(written.parse::<Spot>().as_ref(), Ok(&spot), "{written}");
            taken = true;
        }
    }
    taken
}

/// A report is made or says why not. Every number in it is one: JSON has no sign for others.
fn reported(engine: &Engine, readings: &[Reading]) {
    let inputs = ReportInputs {
        engine,
        readings,
        stages: &[],
        stage: None,
    };
    match report(&inputs) {
        Err(error) => assert!(!error.to_string().is_empty()),
        Ok(report) => {
            let text = serde_json::to_string(&report).unwrap_or_else(|error| panic!("{error}"));
            if let Err(error) = serde_json::from_str::<Report>(&text) {
                panic!("the report is not read again: {error}");
            }
        }
    }
}
