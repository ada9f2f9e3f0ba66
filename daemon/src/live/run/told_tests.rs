//! What a person hears and is asked is in the engine's unit, whatever the gauge sends.

use benchhand_drivers::Unit;
use benchhand_wire::Control;

use super::tests::{Notebook, stops};
use super::{RouteRun, RunOutcome};
use crate::capture::{CaptureMode, CaptureNote, CapturedValue};
use crate::route::{FigureRule, RouteWalk};

/// A dial in millimetres, zeroed at 10 mm, on an engine in inches.
#[test]
fn a_dial_in_millimetres_is_told_in_thou_on_an_engine_in_inches() {
    let spots = ["deck/1/front", "deck/1/rear"];
    let mut stops = stops(&spots, CaptureMode::Settle, FigureRule::BelowZero);
    for stop in &mut stops {
        stop.told = Some(Unit::Inch);
    }
    let walk = RouteWalk::new(stops.len());
    let mut run = RouteRun::new(stops, walk, Default::default());
    let (mut notebook, mut out) = (Notebook::default(), RunOutcome::default());
    let taken = |value, doubt| CapturedValue {
        value,
        unit: Unit::Millimetre,
        n: 40,
        sd: Some(0.002),
        se: None,
        at_us: 1_000_000,
        from_us: 0,
        window: Vec::new(),
        others: Vec::new(),
        resolution: 0.01,
        fills: Vec::new(),
        parts_at: None,
        expected: None,
        doubt,
        also: None,
    };
    run.waits(0, 0, &taken(9.78, None), true);
    run.settle_waiting(&mut notebook, &mut out);
    let said = &out.said[0].text;
    assert_eq!(said, "deck 1 front 8.7 thou in the hole; next deck 1 rear");
    // Kept as the gauge sent it.
    let kept = notebook.readings();
    assert!((kept[0].1 - 0.22).abs() < 1e-9, "{kept:?}");

    run.waits(0, 1, &taken(9.75, Some(CaptureNote::StoodAtTop)), true);
    run.settle_waiting(&mut notebook, &mut out);
    let asked = run.question().expect("a question");
    assert_eq!(asked.shown, "0.0098 in");
    assert!(
        asked.text.starts_with("deck 1 rear: 0.0098 in, but"),
        "{}",
        asked.text
    );
    let answer = Control::Keep;
    run.control(&answer, 0, &mut notebook, &mut out)
        .expect("kept");
    // A value after the last stop of its gauge.
    run.waits(0, 2, &taken(9.5, None), true);
    run.settle_waiting(&mut notebook, &mut out);
    let all: Vec<&str> = out.said.iter().map(|one| one.text.as_str()).collect();
    assert!(all.iter().all(|text| !text.contains("mm")), "{all:?}");
}
