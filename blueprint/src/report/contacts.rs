//! Contacts at top dead centre by the measured figures: findings, and the caution that comes first.

use super::document::GapReport;
use super::document::{Finding, FindingKind};
use super::finding::finding;
use super::pooled_readings::PooledReadings;
use super::{valve_gaps, words};
use crate::decide::{Contact, ContactWith, contact_caution, contacts_in_order, gap_after};
use crate::engine_figures::CylinderFigures;
use crate::figure::{Estimate, Figure, Scalar};
use crate::spot::Spot;

/// The contacts of the parts as they are: pistons with the head, and valves by the distances
/// that were measured, less the depth of the cuts made since.
fn contacts(readings: &PooledReadings<'_>, built: &[CylinderFigures]) -> Vec<Contact> {
    let length = readings.units().length();
    let heads = built
        .iter()
        .filter_map(|one| Contact::with_head(one, length));
    let valves = valve_gaps::reports(readings).into_iter().filter_map(|gap| {
        let left = left_of(readings, &gap);
        Contact::with_valve(gap.cylinder, &gap.port, left)
    });
    contacts_in_order(heads.chain(valves).collect())
}

/// A measured distance less the depth of all cuts since it was measured.
fn left_of(readings: &PooledReadings<'_>, gap: &GapReport) -> Figure {
    let least = gap
        .enclosed
        .clone()
        .map_or(gap.least.clone(), |(least, _)| least);
    let Some(depth) = milled_since(readings, gap) else {
        return least;
    };
    let port = readings.engine.ports.get(gap.port.as_str());
    let inclination = port.and_then(|port| port.inclination);
    // A valve whose inclination is not stated counts as parallel to the bore: that takes most.
    let inclination = inclination.map_or_else(
        || Estimate::exact(0.0),
        |one| one.estimate(format!("inclination of the {} valve", gap.port)),
    );
    gap_after(&least, &depth, &inclination)
}

/// Depth of all cuts since a distance was measured that is carried on to this stage. `None` if no
/// cut has a stated depth.
fn milled_since(readings: &PooledReadings<'_>, gap: &GapReport) -> Option<Estimate> {
    let of = |spot: &Spot| {
        matches!(spot, Spot::Gap { cylinder, port, .. }
                if *cylinder == gap.cylinder && *port == gap.port)
    };
    let carried = readings.current.carried.iter().find(|(spot, _)| of(spot));
    let (_, measured_in) = carried?;
    let chamber = Spot::Chamber {
        cylinder: gap.cylinder,
    };
    let since = readings
        .engine
        .stages
        .iter()
        .skip_while(|stage| stage.name != *measured_in)
        .skip(1);
    let mut to_now = Vec::new();
    for stage in since {
        to_now.push(stage);
        if stage.name == readings.current.stage {
            break;
        }
    }
    to_now
        .into_iter()
        .filter(|stage| stage.changed(&chamber))
        .filter_map(|stage| {
            let depth = readings.engine.cuts.get(&stage.name)?;
            Some(depth.estimate(format!("depth of {}", stage.name)))
        })
        .reduce(|sum, depth| sum + depth)
}

pub(super) fn findings(readings: &PooledReadings<'_>, built: &[CylinderFigures]) -> Vec<Finding> {
    let of = |contact: &Contact| {
        let spot = match &contact.meets {
            ContactWith::Head => format!("deck/{}", contact.cylinder),
            ContactWith::Valve(port) => format!("gap/{}/{port}", contact.cylinder),
        };
        finding(spot, FindingKind::Contact, contact.text(false))
    };
    contacts(readings, built).iter().map(of).collect()
}

/// The cautions of a report: that of a contact comes first.
pub(super) fn cautions(readings: &PooledReadings<'_>, built: &[CylinderFigures]) -> Vec<String> {
    let first = contact_caution(&contacts(readings, built), false);
    first
        .into_iter()
        .chain(words::CAUTIONS.map(str::to_owned))
        .collect()
}
