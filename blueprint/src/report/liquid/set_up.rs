//! The set-up of a pour: the valves and plugs in the chamber, and the plate's fill hole over it.
//!
//! The liquid that stands in the hole was poured but does not belong to the chamber. Other valves
//! and plugs than those that run fill another volume. If a person was asked, at the bench or by the
//! report of a job, and did not say, the answer is lacking at an assumed width (`docs/formulas.md`,
//! section 16). Nobody is asked about a file of readings.

use std::collections::BTreeSet;

use crate::engine::assumed;
use crate::figure::{ErrorSource, Estimate, Scalar, SourceId};
use crate::readings::{Reading, ReadingConditions};

const HOLE: &str = "what stands in the plate's fill hole (fill-hole/volume was not said)";
const UNSAID: &str =
    "whether the valves and plugs are those that run (valves-and-plugs was not said)";
/// The words by which a person says that they are those that run.
const RUNNING: [&str; 2] = ["running", "yes"];

/// Volume to take off the mean of a chamber's readings, cc, with the errors of what was not said.
pub(super) fn taken_off(readings: &[&Reading]) -> Option<Estimate> {
    let each: Vec<Estimate> = readings
        .iter()
        .map(|reading| of(reading.conditions.as_deref()))
        .collect();
    Estimate::mean(&each)
}

fn of(said: Option<&ReadingConditions>) -> Estimate {
    let Some(said) = said else {
        return Estimate::exact(0.0);
    };
    let asked = said.asked || said.set_up_asked;
    let unsaid = |name: &str, width: f64| ErrorSource::lacking(SourceId::condition(name), width);
    let hole = match &said.fill_hole {
        Some(volume) => volume.estimate(),
        None if asked => Estimate::new(0.0, unsaid(HOLE, assumed::FILL_HOLE)),
        None => Estimate::exact(0.0),
    };
    let valves = match &said.valves_and_plugs {
        Some(words) if RUNNING.contains(&words.as_str()) => None,
        Some(words) => Some(format!(
            "the valves and plugs that run (poured with {words})"
        )),
        None => asked.then(|| UNSAID.to_owned()),
    };
    match valves {
        Some(name) => hole.with(unsaid(&name, assumed::VALVES_AND_PLUGS), 1.0),
        None => hole,
    }
}

/// A sentence that says what was taken off. `None` where nobody said anything of a hole.
pub(super) fn remark(readings: &[&Reading]) -> Option<String> {
    let said = readings
        .iter()
        .filter_map(|reading| reading.conditions.as_deref()?.fill_hole.as_ref());
    let volumes: BTreeSet<String> = said.map(|one| format!("{} cc", one.value)).collect();
    let volumes: Vec<String> = volumes.into_iter().collect();
    (!volumes.is_empty()).then(|| {
        format!(
            "What stands in the plate's fill hole at the end of a pour, {}, is taken off every chamber that it was said for.",
            volumes.join(" and ")
        )
    })
}
