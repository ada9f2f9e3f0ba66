//! By what a fact names others: the number of another fact, and its gauges.

use crate::store::fact::{Fact, InputKind, Reading};
use crate::store::part::StationPart;

/// The number by which a fact names another one.
pub(crate) fn named(fact: &mut Fact) -> Option<&mut u64> {
    match fact {
        Fact::Held(reading)
        | Fact::Revised(reading)
        | Fact::Final(reading)
        | Fact::Asked(reading) => reading.supersedes.as_mut(),
        Fact::Finalised { of }
        | Fact::Voided { of, .. }
        | Fact::Restored { of }
        | Fact::Kept { of, .. }
        | Fact::Moved { of, .. } => Some(of),
        Fact::CutWithdrawn(said) => Some(&mut said.of),
        Fact::Condition(condition) => condition.since.as_mut(),
        _ => None,
    }
}

/// Whether who states this takes part in the measuring of a job, or in what becomes of it.
pub(crate) fn measures(fact: &Fact) -> bool {
    !matches!(
        fact,
        Fact::Opened(_)
            | Fact::Joined(_)
            | Fact::Input(_)
            | Fact::Ordered(_)
            | Fact::DamageKnown { .. }
            | Fact::Stop {}
    )
}

/// Gives the gauges of a fact their station's name.
pub(crate) fn name_gauges(fact: &mut Fact, part: &StationPart) {
    if part.label.is_empty() {
        return;
    }
    let name = |gauge: &mut String| *gauge = part.named(gauge).into_owned();
    let of_reading = |reading: &mut Reading| {
        let parts = reading.parts.iter_mut();
        let of_parts = parts.filter_map(|part| part.gauge.as_mut());
        reading.gauge.iter_mut().chain(of_parts).for_each(name);
    };
    match fact {
        Fact::Held(reading)
        | Fact::Revised(reading)
        | Fact::Final(reading)
        | Fact::Asked(reading) => of_reading(reading),
        Fact::Import(import) => import.rows.iter_mut().for_each(of_reading),
        Fact::Zero(zero) => name(&mut zero.gauge),
        Fact::Check(check) => name(&mut check.gauge),
        Fact::Input(input) if input.kind != InputKind::Engine => name(&mut input.name),
        _ => {}
    }
}
