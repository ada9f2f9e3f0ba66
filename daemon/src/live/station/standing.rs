//! Where a route stands when it is begun or taken up, and how the journal keeps that.

use std::collections::BTreeMap;

use benchhand_blueprint::{Engine, Spot};
use jiff::Timestamp;

use super::RouteOrder;
use crate::known::expectation::rounds_apart;
use crate::live::run::ArrangedStop;
use crate::route::{RouteChoices, RouteStop, RouteWalk, StopOutcome, choices_of};
use crate::store::fact::{ChamberSoFar, RouteAt};
use crate::store::view::{JobView, KeptReading, ReadingState, RouteStanding};

/// Where a route stands, as the journal keeps it; one past the last stop where no stop is left.
pub(crate) fn route_at(route: &str, arranged: &[ArrangedStop], walk: &RouteWalk) -> RouteAt {
    // A third round that was asked for meanwhile is no stop of the route as it was begun.
    let stop = walk.at().unwrap_or(arranged.len()).min(arranged.len());
    let last = arranged.get(stop).or(arranged.last());
    RouteAt {
        route: route.to_owned(),
        stop: u32::try_from(stop).unwrap_or(u32::MAX),
        round: last.map_or(1, |arranged| arranged.stop.round),
        skipped: walk
            .skipped()
            .into_iter()
            .filter(|&stop| (stop as usize) < arranged.len())
            .collect(),
        revisits: matches!(
            walk.became().get(stop),
            Some(StopOutcome::Held(_) | StopOutcome::Taken(_))
        ),
    }
}

/// The choices of the same route as it was begun, where it stands half-way and nobody chose anew:
/// whoever takes it up means its stops.
pub(super) fn as_it_was_begun(
    order: &RouteOrder,
    cylinders: &[u32],
    view: &JobView,
) -> Option<RouteChoices> {
    let said = &order.choices;
    let chosen = !said.cylinders.is_empty() || !said.lists.is_empty() || said.rounds.is_some();
    let started = &view.route()?.started;
    if chosen || order.afresh || started.route != order.route.name {
        return None;
    }
    choices_of(&order.route, cylinders, &started.stops, said)
}

/// The same route as it stood before it was broken off; `None` where another route ran, the stops are
/// others now, or the route begins anew.
pub(super) fn broken_off<'a>(
    order: &RouteOrder,
    arranged: &[ArrangedStop],
    view: &'a JobView,
) -> Option<&'a RouteStanding> {
    view.route().filter(|standing| {
        // A third round may have been added meanwhile, at the end.
        let begun = &standing.started.stops;
        let spots = arranged.iter().map(|a| a.stop.spot.to_string());
        !order.afresh
            && standing.started.route == order.route.name
            && arranged.len() >= begun.len()
            && spots.take(begun.len()).eq(begun.iter().cloned())
    })
}

/// The values about which a question was open at these stops when the work was broken off.
pub(crate) fn asked_before(view: &JobView, stops: &[ArrangedStop]) -> Vec<KeptReading> {
    let here = |kept: &&KeptReading| {
        let at = |stop: &ArrangedStop| stop.stop.spot.to_string() == kept.spot;
        kept.state == ReadingState::Asked && kept.stage == view.stage() && stops.iter().any(at)
    };
    view.readings().filter(here).cloned().collect()
}

/// Stops of a third round, for spots whose first two rounds disagree.
pub(super) fn third_rounds(stops: &[RouteStop], engine: &Engine, view: &JobView) -> Vec<RouteStop> {
    let last = |stop: &&RouteStop| {
        let mut same = stops.iter().filter(|other| other.spot == stop.spot);
        same.clone().count() == 2 && same.all(|other| other.round <= stop.round)
    };
    let apart = |stop: &&RouteStop| rounds_apart(engine, view, &stop.spot).is_some();
    let third = |stop: &RouteStop| RouteStop {
        round: stop.round + 1,
        ..stop.clone()
    };
    stops.iter().filter(last).filter(apart).map(third).collect()
}

/// How many rounds of the stops' spots were measured before the route's own first round: all of them
/// where the route begins anew, and those before a repeat that stands half-way and is taken up.
pub(super) fn rounds_before(order: &RouteOrder, view: &JobView, stops: &[RouteStop]) -> u32 {
    match order.afresh {
        true => rounds_measured(view, stops),
        false => rounds_before_repeat(order, view, stops).unwrap_or(0),
    }
}

/// The journal keeps the number of the last round and the stops: what is more than the visits of one
/// spot was measured before.
fn rounds_before_repeat(order: &RouteOrder, view: &JobView, stops: &[RouteStop]) -> Option<u32> {
    let started = &view.route()?.started;
    let begun = started.stops.get(..stops.len())?;
    let spots = stops.iter().map(|stop| stop.spot.to_string());
    if started.route != order.route.name || !spots.eq(begun.iter().cloned()) {
        return None;
    }
    let mut visits: BTreeMap<&str, u32> = BTreeMap::new();
    for spot in &started.stops {
        *visits.entry(spot).or_default() += 1;
    }
    started.rounds.checked_sub(visits.into_values().max()?)
}

/// How many rounds of the stops' spots were measured at the present stage.
fn rounds_measured(view: &JobView, stops: &[RouteStop]) -> u32 {
    let rounds = stops.iter().flat_map(|stop| {
        view.at_spot(view.stage(), &stop.spot.to_string())
            .filter(|r| r.state.is_live())
            .map(|r| r.round.unwrap_or(1))
    });
    rounds.max().unwrap_or(0)
}

/// What the present chamber held when the work was broken off. It holds no more where another route
/// begins, or a new session: liquid that stood for hours is not poured onto.
pub(crate) fn so_far(view: &JobView, goes_on: bool, now: Timestamp) -> Option<ChamberSoFar> {
    let mut before = view.so_far()?.clone();
    if !goes_on || view.sessions().at(now).is_none() {
        before.poured = None;
    }
    Some(before)
}

/// The number of the first fact of a reading that was revised since.
fn begun_by(view: &JobView, reading: u64) -> u64 {
    let before = |id: &u64| view.reading(*id).and_then(|kept| kept.supersedes);
    std::iter::successors(Some(reading), before)
        .last()
        .unwrap_or(reading)
}

/// A walk in which every stop that has its reading at the present stage is taken; the walk stands
/// where the same route stood.
pub(crate) fn walk_over(
    stops: &[ArrangedStop],
    view: &JobView,
    stood: Option<&RouteStanding>,
) -> RouteWalk {
    let taken = |spot: &Spot, round: u32| {
        let there = view.at_spot(view.stage(), &spot.to_string());
        there
            .filter(|r| r.state.is_live() && r.round.unwrap_or(1) == round)
            .last()
            .map(|r| r.id)
    };
    let passed = |stop: usize| stood.is_some_and(|stood| stood.passed(stop));
    let became = stops.iter().enumerate().map(|(at, arranged)| {
        match taken(&arranged.stop.spot, arranged.stop.round) {
            Some(reading) => StopOutcome::Taken(reading),
            None if passed(at) => StopOutcome::Skipped,
            None => StopOutcome::Left,
        }
    });
    let mut walk = RouteWalk::standing(became.collect(), stood.map_or(0, RouteStanding::at));
    let went_back = stood.and_then(|stood| Some((stood.at(), stood.went_back?)));
    if let Some((stop, went_back)) = went_back
        && let Some(StopOutcome::Taken(reading)) = walk.became().get(stop)
        && begun_by(view, *reading) < went_back
    {
        walk.go(stop);
    }
    walk
}
