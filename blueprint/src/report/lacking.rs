//! The uncertainties that figures lack because nobody stated them, in words, each said once.

use std::collections::{BTreeMap, BTreeSet};

use crate::decide::VerdictAnswer;
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::{Estimate, SourceId, SourceKind, SourceOwner};
use crate::report::document::OF_PORTS;
use crate::spot::{Spot, SpotFamily, SpotName};
use crate::units::QuantityKind;

/// How many things are named before the rest is only counted.
const NAMED: usize = 8;

/// The uncertainties that any of these estimates lacks, in words. What many spots lack alike is one
/// entry.
pub(crate) fn words<'a>(estimates: impl IntoIterator<Item = &'a Estimate>) -> Vec<String> {
    let ids: BTreeSet<SourceId> = estimates
        .into_iter()
        .flat_map(Estimate::lacking)
        .map(|source| source.id.clone())
        .collect();
    // Each free spot is a kind of its own.
    let kind = |spot: &Spot| (spot.family(), spot.free_name().cloned());
    let mut once: BTreeMap<(SpotFamily, Option<SpotName>), Vec<String>> = BTreeMap::new();
    let mut words: Vec<String> = Vec::new();
    for id in &ids {
        match (&id.whose, &id.what) {
            (SourceOwner::Spot(spot), SourceKind::NotRepeated) => {
                once.entry(kind(spot)).or_default().push(spot.to_string());
            }
            (SourceOwner::FlowPart(spot, _), SourceKind::NotRepeated) => {
                let spots = once.entry(kind(spot)).or_default();
                let spot = spot.to_string();
                if !spots.contains(&spot) {
                    spots.push(spot);
                }
            }
            _ => words.push(one(id)),
        }
    }
    words.dedup();
    words.extend(once.into_values().map(|spots| {
        let (first, last) = (spots.first(), spots.last());
        let named = match (first, last, spots.len()) {
            (Some(first), Some(_), 1) => first.clone(),
            (Some(first), Some(last), 2) => format!("{first} and {last}"),
            (Some(first), Some(last), _) => format!("{first} … {last}"),
            _ => String::new(),
        };
        format!("{named} not repeated")
    }));
    words
}

/// What is measured of a kind, as people say it.
fn several(kind: QuantityKind) -> String {
    match kind {
        QuantityKind::Length => "lengths".to_owned(),
        QuantityKind::Volume => "volumes".to_owned(),
        QuantityKind::Mass => "weights".to_owned(),
        QuantityKind::Pressure => "pressures".to_owned(),
        other => other.to_string(),
    }
}

fn one(id: &SourceId) -> String {
    match (&id.whose, &id.what) {
        (SourceOwner::Gauge(name), SourceKind::Calibration | SourceKind::Scale) => {
            format!("gauge {name} never checked")
        }
        (SourceOwner::Gauge(name), SourceKind::UnknownGauge) => {
            format!("nothing is known of gauge {name}")
        }
        (SourceOwner::Gauge(name), SourceKind::Zero) => format!("how well gauge {name} is zeroed"),
        (SourceOwner::NoGauge(kind), _) => format!("no gauge named for {}", several(*kind)),
        (SourceOwner::Dimension(..), _) => format!("{} without its ±", id),
        _ => id.to_string(),
    }
}

/// The same in one sentence; `None` if nothing is lacking.
pub(crate) fn sentence<'a>(
    of: &str,
    estimates: impl IntoIterator<Item = &'a Estimate>,
) -> Option<String> {
    let mut words = words(estimates);
    if words.is_empty() {
        return None;
    }
    let more = words.len().saturating_sub(NAMED);
    words.truncate(NAMED);
    let more = match more {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    Some(format!(
        "The ± of {of} is of what is known. It does not hold: {}{more}.",
        words.join("; ")
    ))
}

fn of_cylinders(state: &EngineFigures) -> Vec<Estimate> {
    let of = |one: &CylinderFigures| {
        let ratio = one.ratio();
        [
            one.chamber.clone(),
            one.deck.clone(),
            one.crown.clone(),
            ratio,
        ]
    };
    state.cylinders.iter().flat_map(of).flatten().collect()
}

/// What the figures of the cylinders lack, in a few words each.
pub(super) fn of_the_cylinders(state: &EngineFigures) -> Vec<String> {
    words(&of_cylinders(state))
}

/// The uncertainties that the figures of the cylinders lack, and those that the ports' figures
/// lack.
pub(super) fn sentences(state: &EngineFigures) -> Vec<String> {
    let cylinders = of_cylinders(state);
    let flows = state.flow.iter().flat_map(|one| {
        let areas = one.coefficients.iter().map(|one| &one.coefficient);
        // Where the orifice is not known, the ratio of the areas is told in place of the flow.
        let told = one.flow_at_reference.as_ref().or(one.area_ratio.as_ref());
        told.into_iter().chain(areas)
    });
    sentence("the cylinders' figures", &cylinders)
        .into_iter()
        .chain(sentence(OF_PORTS, flows))
        .collect()
}

/// The end of a verdict's sentence where something is lacking: at which width it entered, or how
/// far it may be off.
pub(super) fn with_assumed(
    answer: VerdictAnswer,
    assumed: &[String],
    unless: Option<String>,
) -> String {
    match (assumed.is_empty(), answer, unless) {
        (true, _, _) => String::new(),
        (false, VerdictAnswer::CannotTell, Some(off)) => {
            format!(
                ", unless this is off by more than {off}: {}",
                assumed.join("; ")
            )
        }
        (false, _, _) => format!(", at an assumed width of: {}", assumed.join("; ")),
    }
}
