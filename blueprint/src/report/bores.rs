//! The form of the bores and piston-to-bore clearance.
//!
//! A height that was measured in one direction only has no mean diameter. It gives no taper, and a
//! finding says that the other direction is missing. Sources: `docs/formulas.md`, sections 1 and
//! 12.

use std::collections::{BTreeMap, BTreeSet};

use super::dimensions::Dimensions;
use super::document::{BoreReport, MeasuredReport};
use super::pooled_readings::PooledReadings;
use crate::figure::Estimate;
use crate::formula::bore::{BoreLevel, form, piston_clearance};
use crate::spot::{BoreHeight, Spot};

/// The diameters at one height.
#[derive(Default)]
struct AtHeight<'a> {
    along: Vec<&'a Estimate>,
    across: Vec<&'a Estimate>,
    /// The spot of the last of those across, for the clearance.
    spot: Option<&'a Spot>,
}

/// Whether a direction is across the pin; `None` of one that is neither along nor across.
fn is_across(direction: &str) -> Option<bool> {
    match direction {
        "pin" | "along" => Some(false),
        "thrust" | "across" => Some(true),
        _ => None,
    }
}

/// The bores that were measured.
pub(super) fn reports(readings: &PooledReadings<'_>) -> Vec<BoreReport> {
    let numbers: BTreeSet<u32> = readings
        .bores
        .means
        .keys()
        .filter_map(|s| s.cylinder())
        .collect();
    numbers
        .into_iter()
        .filter_map(|number| report(readings, number))
        .collect()
}

fn report(readings: &PooledReadings<'_>, cylinder: u32) -> Option<BoreReport> {
    let length = readings.units().length();
    let heights = heights(readings, cylinder);
    let levels: Vec<BoreLevel<Estimate>> = heights
        .values()
        .map(|at| BoreLevel {
            along: Estimate::mean(at.along.iter().copied()),
            across: Estimate::mean(at.across.iter().copied()),
        })
        .collect();
    let form = form(&levels);
    let skirt = Dimensions::of(readings, cylinder).skirt();
    let clearance = skirt.as_ref().and_then(|skirt| {
        let (at, clearance) = piston_clearance(&levels, skirt)?;
        Some((heights.values().nth(at)?.spot?, clearance))
    });
    let show = |of: Option<&Estimate>| of.map(|one| one.figure(length));
    let form = form.as_ref();
    Some(BoreReport {
        cylinder,
        diameter: readings.measured_bore(cylinder)?.figure(length),
        out_of_round: show(form.and_then(|form| form.out_of_round.as_ref())),
        roundness_if_oval: show(form.and_then(|form| form.roundness.as_ref())),
        taper: show(form.and_then(|form| form.taper.as_ref())),
        taper_worst: show(form.and_then(|form| form.taper_worst.as_ref())),
        piston_clearance: show(clearance.as_ref().map(|(_, clearance)| clearance)),
        piston_clearance_at: clearance.as_ref().map(|(spot, _)| (*spot).clone()),
        heights: levels
            .iter()
            .filter(|level| level.along.is_some() && level.across.is_some())
            .count(),
        diameters: diameters(readings, cylinder),
        torque_plate: readings.engine.torque_plate,
    })
}

fn heights<'a>(
    readings: &'a PooledReadings<'_>,
    number: u32,
) -> BTreeMap<&'a BoreHeight, AtHeight<'a>> {
    let mut heights: BTreeMap<&BoreHeight, AtHeight<'_>> = BTreeMap::new();
    for (spot, mean) in &readings.bores.means {
        let Spot::Bore {
            cylinder,
            at: Some((height, direction)),
        } = spot
        else {
            continue;
        };
        let (true, Some(across)) = (*cylinder == number, is_across(direction.as_str())) else {
            continue;
        };
        let at = heights.entry(height).or_default();
        if across {
            at.across.push(mean);
            at.spot = Some(spot);
        } else {
            at.along.push(mean);
        }
    }
    heights
}

fn diameters(readings: &PooledReadings<'_>, number: u32) -> Vec<MeasuredReport> {
    readings
        .bores
        .means
        .iter()
        .filter(|(spot, _)| spot.cylinder() == Some(number))
        .map(|(spot, mean)| MeasuredReport {
            spot: (*spot).clone(),
            figure: mean.figure(readings.units().length()),
            readings: readings.bores.counts.get(spot).copied().unwrap_or(0),
        })
        .collect()
}

/// The other direction of each height that was measured in one only.
pub(super) fn missing_directions(readings: &PooledReadings<'_>) -> Vec<String> {
    let numbers: BTreeSet<u32> = readings
        .bores
        .means
        .keys()
        .filter_map(|s| s.cylinder())
        .collect();
    let mut spots = Vec::new();
    for number in numbers {
        for (height, at) in heights(readings, number) {
            let height = match height {
                BoreHeight::Named(name) => name.to_string(),
                BoreHeight::At(depth) => depth.to_string(),
            };
            match (at.along.is_empty(), at.across.is_empty()) {
                (true, false) => spots.push(format!("bore/{number}/{height}/pin")),
                (false, true) => spots.push(format!("bore/{number}/{height}/thrust")),
                _ => {}
            }
        }
    }
    spots
}
