//! What is told beside a reading that was just kept.

use benchhand_blueprint::{Engine, Spot};

use crate::known::expectation;
use crate::known::told;
use crate::known::words;
use crate::store::view::JobView;

/// What is said of a reading that lies further from the round before than rounds differ; empty where
/// it does not.
pub(super) fn rounds_differ(engine: &Engine, view: &JobView, spot: &Spot) -> String {
    let apart = expectation::rounds_apart(engine, view, spot);
    apart.map_or(String::new(), |apart| {
        format!("It is {apart}: they differ by more than rounds should. Measure it a third time.")
    })
}

/// What is said of earlier values with which the others disagree now; empty where there is none.
pub(super) fn earlier_in_doubt(engine: &Engine, view: &JobView, spot: &Spot) -> String {
    let doubted = expectation::doubted_brothers(engine, view, spot).into_iter();
    let told = doubted.filter_map(|id| {
        let kept = view.reading(id)?;
        let of = words::called(&kept.spot.parse().ok()?);
        let (number, shown) = (kept.said_number(), told::shown(Some(engine), kept));
        Some(format!(
            "{of} was {shown} ({number}), and the others disagree by now: look at it again."
        ))
    });
    told.collect::<Vec<_>>().join(" ")
}
