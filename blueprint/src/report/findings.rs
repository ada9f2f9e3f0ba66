//! All findings of a report, the gravest kind first.

use std::collections::BTreeMap;

use super::document::Finding;
use super::finding;
use super::pool::Pool;
use super::pooled_readings::PooledReadings;
use super::unlike_points::{self, UnlikePoints};
use super::{contacts, flow, free, missing, unusual, words};
use crate::engine::StatedValue;
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::Estimate;
use crate::spot::Spot;
use crate::units::Unit;

pub(super) fn findings(readings: &PooledReadings<'_>, state: &EngineFigures) -> Vec<Finding> {
    let built = &state.cylinders;
    let units = readings.units();
    let length = |mm: f64| words::length(mm, units);
    let volume = |cc: f64| words::volume(cc);
    let lengths = |mm: [f64; 2]| words::lengths(mm, units);
    let volumes = |cc: [f64; 2]| words::in_unit(cc, Unit::CubicCentimetre);
    let mut all = contacts::findings(readings, built);
    all.extend(unusual::findings(built, units));
    all.extend(missing::missing(readings, built));
    let unlike = unlike_points::of(&readings.decks, units);
    all.extend(unlike.iter().map(UnlikePoints::finding));
    all.extend(unlike_points::mixed(&readings.decks, &unlike, units));
    let deck_count = |cylinder: Option<u32>| -> usize {
        let here = readings
            .decks
            .counts
            .iter()
            .filter(|(spot, _)| spot.cylinder() == cylinder);
        here.map(|(_, count)| count).sum()
    };
    let (yes, no) = (|_: &Spot| true, |_: &Spot| false);
    let lone_deck = |spot: &Spot| deck_count(spot.cylinder()) == 1;
    for (pool, shown, single) in [
        (
            &readings.chambers,
            &volumes as &dyn Fn([f64; 2]) -> [String; 2],
            &yes as &dyn Fn(&Spot) -> bool,
        ),
        (&readings.decks, &lengths, &lone_deck),
        (&readings.crowns, &volumes, &yes),
        (&readings.fluids, &volumes, &yes),
        (&readings.depths, &lengths, &yes),
        (&readings.gaskets, &lengths, &yes),
        (&readings.thicknesses, &lengths, &yes),
        (&readings.bores, &lengths, &no),
        (&readings.parts, &lengths, &no),
        (&readings.ports, &lengths, &no),
        (&readings.runners, &volumes, &no),
        (&readings.gaps, &lengths, &no),
    ] {
        all.extend(finding::of_repeats(pool, shown, single));
    }
    let values = |get: &dyn Fn(&CylinderFigures) -> &Option<Estimate>| -> BTreeMap<u32, Estimate> {
        built
            .iter()
            .filter_map(|one| Some((one.number, get(one).clone()?)))
            .collect()
    };
    // A cylinder whose own readings disagree is not compared with its brothers.
    let apart = |pool: &Pool<'_>, number: u32| {
        pool.apart
            .keys()
            .any(|spot| spot.cylinder() == Some(number))
    };
    let tolerances = &readings.engine.tolerances;
    let allowed = |stated: Option<StatedValue>| stated.map(|stated| stated.value);
    let no_deck = |number: u32| {
        unlike.iter().any(|one| one.cylinder == number) || apart(&readings.decks, number)
    };
    let chambers = values(&|one| &one.chamber);
    all.extend(finding::outliers(
        "chamber",
        &chambers,
        &|number| apart(&readings.chambers, number),
        finding::does_not_matter(readings.chambers.step, allowed(tolerances.chamber_spread)),
        &volume,
    ));
    let decks = values(&|one| &one.deck);
    all.extend(finding::outliers(
        "deck",
        &decks,
        &no_deck,
        finding::does_not_matter(readings.decks.step, allowed(tolerances.deck_spread)),
        &length,
    ));
    let crowns = values(&|one| &one.crown);
    let crown_apart = |number| {
        [&readings.crowns, &readings.fluids, &readings.depths]
            .into_iter()
            .any(|pool| apart(pool, number))
    };
    all.extend(finding::outliers(
        "crown",
        &crowns,
        &crown_apart,
        finding::does_not_matter(readings.crowns.step, allowed(tolerances.crown_spread)),
        &volume,
    ));
    all.extend(free::findings(readings));
    all.extend(flow::impossible(&state.flow));
    all.extend(flow::unlike_ports(&state.flow));
    all.extend(flow::findings(&readings.current.spots, readings.engine));
    all.extend(flow::disagreeing(&readings.current.spots, readings.engine));
    all.sort_by_key(|finding| finding.kind);
    all
}
