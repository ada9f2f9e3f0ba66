//! Whether two rounds of a spot agree.

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Spot, Unit};

use crate::known::told;
use crate::store::view::JobView;

/// Repeatability that is assumed where nobody stated one. Common practice, no source.
pub(super) const REPEATS_CC: f64 = 0.1;
const REPEATS_MM: f64 = 0.0127;

/// The difference between the two rounds of a spot, in words, where it is more than the gauge
/// repeats (the limit r = 2.8·s of ISO 5725-6): then a third round is asked for. `None` where the
/// rounds agree, or where there are not exactly two.
pub fn rounds_apart(engine: &Engine, view: &JobView, spot: &Spot) -> Option<String> {
    let stage = view.stage();
    // A third one is enough to see that there are not two.
    let newest = view.newest_at(stage, &spot.to_string()).take(3);
    let [second, first] = newest.collect::<Vec<_>>()[..] else {
        return None;
    };
    let unit: Unit = first.unit.parse().ok()?;
    if first.unit != second.unit || first.round == second.round {
        return None;
    }
    let assumed = match unit.kind() {
        QuantityKind::Volume | QuantityKind::Mass => REPEATS_CC,
        QuantityKind::Length => REPEATS_MM,
        _ => return None,
    };
    let gauge = first
        .gauge
        .as_ref()
        .and_then(|name| engine.gauges.get(name));
    let stated = gauge.and_then(|gauge| gauge.repeatability);
    let apart = (unit.to_base(first.value) - unit.to_base(second.value)).abs();
    (apart > 2.8 * stated.unwrap_or(assumed)).then(|| {
        let (before, now) = (
            told::shown(Some(engine), first),
            told::shown(Some(engine), second),
        );
        format!("{now}, and {before} in the round before")
    })
}
