//! A value that is in doubt for how it was taken, and whose place is open as well.

use benchhand_drivers::Unit;
use benchhand_wire::Control;

use super::tests::{Notebook, stops};
use super::{RouteRun, RunOutcome};
use crate::capture::{CaptureMode, CaptureNote, CapturedValue};
use crate::route::{FigureRule, RouteWalk};

/// One pass at the first place, the bridge is moved, and every pass at the second stands still.
#[test]
fn who_keeps_a_value_that_stood_still_is_asked_for_its_place_too() {
    let spots = ["deck/1/front", "deck/1/rear"];
    let stops = stops(&spots, CaptureMode::Extreme, FigureRule::BelowZero);
    let walk = RouteWalk::new(stops.len());
    let mut run = RouteRun::new(stops, walk, Default::default());
    let (mut notebook, mut out) = (Notebook::default(), RunOutcome::default());
    let taken = CapturedValue {
        value: 9.75,
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
        doubt: Some(CaptureNote::StoodAtTop),
        also: Some(CaptureNote::LeftUnfinished { good: 1, needed: 2 }),
    };
    run.waits(0, 0, &taken, true);
    run.settle_waiting(&mut notebook, &mut out);
    let asks = |run: &RouteRun| run.question().map(|q| q.text.clone()).unwrap_or_default();
    assert!(asks(&run).contains("stood still"), "{}", asks(&run));
    let answers = |run: &mut RouteRun, control, notebook: &mut Notebook| {
        let mut out = RunOutcome::default();
        run.control(&control, 0, notebook, &mut out).unwrap();
    };
    answers(&mut run, Control::Keep, &mut notebook);
    assert!(asks(&run).contains("which place"), "{}", asks(&run));
    answers(&mut run, Control::Skip, &mut notebook);
    assert_eq!(asks(&run), "");
    let kept = notebook.readings().into_iter().map(|(spot, _)| spot);
    assert_eq!(kept.collect::<Vec<_>>(), ["deck/1/rear"]);
}
