//! A bore that was typed wrong is named itself, not what is divided by it.

use benchhand_blueprint::report::FindingKind;
use benchhand_blueprint::{Engine, ReportInputs, report};

/// The spots that look like a slip, of a made-up twin.
fn unusual(bore: &str, opening: &str) -> Vec<String> {
    let text = format!(
        r#"name = "check"
units = "metric"
cylinders = 2
banks = [[1, 2]]
bore = "{bore}"
stroke = "82 mm"
[gasket]
bore = "{opening}"
thickness = "1.1 mm"
"#
    );
    let engine = Engine::from_toml(&text).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &[],
        stages: &[],
        stage: None,
    };
    let report = report(&inputs).unwrap_or_else(|error| panic!("{error}"));
    let found = report.findings_of(FindingKind::Unusual);
    found.map(|one| one.spot.clone()).collect()
}

#[test]
fn the_bore_is_named_where_all_that_is_divided_by_it_is_off() {
    assert_eq!(unusual("17 mm", "73 mm"), ["bore"]);
    // One of them alone is that one's slip.
    assert_eq!(unusual("71 mm", "91 mm"), ["gasket/bore"]);
    assert!(unusual("71 mm", "73 mm").is_empty());
}
