//! Everything the report says in words: findings and remarks.

use std::collections::BTreeMap;

use super::document::{Finding, FindingKind};
use super::findings::{self, finding};
use super::measures::Measures;
use super::pool::Pool;
use super::{deck, flow, words};
use crate::engine::Stated;
use crate::figure::{Dimension, Estimate};
use crate::known::{Known, State};
use crate::readings::Value;
use crate::spot::{CrownPart, Spot};

/// Fewer pistons than this cannot be compared with their brothers.
const FEWEST: usize = 3;

impl Measures<'_> {
    pub(super) fn findings(&self, built: &[Known]) -> Vec<Finding> {
        let units = self.units();
        let length = |mm: f64| words::length(mm, units);
        let volume = |cc: f64| words::volume(cc);
        let mut all = self.missing(built);
        let bad_pairs = self.bad_pairs(&mut all);
        let deck_count = |cylinder: Option<u32>| -> usize {
            let here = self
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
                &self.chambers,
                &volume as &dyn Fn(f64) -> String,
                &yes as &dyn Fn(&Spot) -> bool,
            ),
            (&self.decks, &length, &lone_deck),
            (&self.crowns, &volume, &yes),
            (&self.fluids, &volume, &yes),
            (&self.depths, &length, &yes),
            (&self.gaskets, &length, &yes),
            (&self.thicknesses, &length, &yes),
            (&self.bores, &length, &no),
            (&self.parts, &length, &no),
            (&self.gaps, &length, &no),
        ] {
            all.extend(findings::of_repeats(pool, shown, single));
        }
        let values = |get: &dyn Fn(&Known) -> &Option<Estimate>| -> BTreeMap<u32, Estimate> {
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
        let tolerances = &self.engine.tolerances;
        let allowed = |stated: Option<Stated>| stated.map(|stated| stated.value);
        let no_deck = |number: u32| bad_pairs.contains(&number) || apart(&self.decks, number);
        let chambers = values(&|one| &one.chamber);
        all.extend(findings::outliers(
            "chamber",
            &chambers,
            &|number| apart(&self.chambers, number),
            findings::does_not_matter(self.chambers.step, allowed(tolerances.chamber_spread)),
            &volume,
        ));
        let decks = values(&|one| &one.deck);
        all.extend(findings::outliers(
            "deck",
            &decks,
            &no_deck,
            findings::does_not_matter(self.decks.step, allowed(tolerances.deck_spread)),
            &length,
        ));
        let crowns = values(&|one| &one.crown);
        let crown_apart = |number| {
            [&self.crowns, &self.fluids, &self.depths]
                .into_iter()
                .any(|pool| apart(pool, number))
        };
        all.extend(findings::outliers(
            "crown",
            &crowns,
            &crown_apart,
            findings::does_not_matter(self.crowns.step, allowed(tolerances.crown_spread)),
            &volume,
        ));
        all.extend(flow::findings(&self.current.spots, units));
        all.sort_by_key(|finding| finding.kind);
        all
    }

    /// Pistons whose two points of a pair differ unlike those of their brothers.
    fn bad_pairs(&self, all: &mut Vec<Finding>) -> Vec<u32> {
        let points = deck::points(&self.decks.means);
        let mut bad = Vec::new();
        for deck::Pair {
            one,
            other,
            differences,
        } in deck::differences(&points)
        {
            if differences.len() < FEWEST && one == "front" {
                bad.extend(self.lone_pairs(all, (one, other), &differences));
                continue;
            }
            for unlike in findings::unlike(
                &differences,
                findings::does_not_matter(self.decks.step, None),
            ) {
                let cylinder = unlike.cylinder;
                let found = differences.iter().find(|(number, _)| *number == cylinder);
                let difference = found.map_or(0.0, |(_, difference)| difference.value());
                let text = format!(
                    "the {one} and {other} points of piston {cylinder} differ by {}, unlike those of its brothers: measure both again",
                    words::length(difference.abs(), self.units())
                );
                all.push(finding(
                    format!("deck/{cylinder}"),
                    FindingKind::Disagrees,
                    text,
                ));
                bad.push(cylinder);
            }
        }
        bad.extend(self.unlike_kinds(all, &points));
        bad
    }

    /// Pistons whose clearance comes out differently as one value, on the pin axis and by the thrust
    /// sides: a mean of them would hide that one is wrong.
    fn unlike_kinds(
        &self,
        all: &mut Vec<Finding>,
        points: &BTreeMap<u32, deck::Points<'_>>,
    ) -> Vec<u32> {
        let step = findings::does_not_matter(self.decks.step, None);
        let shown = |mm: f64| words::length(mm, self.units());
        let mut bad = Vec::new();
        for (cylinder, points) in points {
            let kinds = deck::kinds(points);
            let pairs = (0..kinds.len()).flat_map(|at| (at + 1..kinds.len()).map(move |b| (at, b)));
            for (one, other) in pairs {
                let ((by, one), (by_other, other)) = (&kinds[one], &kinds[other]);
                let difference = one.clone() - other.clone();
                let Some(u) = difference.u() else { continue };
                let explained = (findings::GUARD * u).max(step);
                if difference.value().abs() <= explained {
                    continue;
                }
                let text = format!(
                    "the deck clearance of piston {cylinder} is {} {by} and {} {by_other}; gauge and resolution explain a difference of {}: measure it again",
                    shown(one.value()),
                    shown(other.value()),
                    shown(explained),
                );
                all.push(finding(
                    format!("deck/{cylinder}"),
                    FindingKind::Disagrees,
                    text,
                ));
                bad.push(*cylinder);
            }
        }
        bad
    }

    /// Pistons of an engine with too few of them to compare: on the pin axis rock does not show, so
    /// that both points differ by no more than the gauge and the route's resolution explain.
    fn lone_pairs(
        &self,
        all: &mut Vec<Finding>,
        (one, other): (&str, &str),
        differences: &[(u32, Estimate)],
    ) -> Vec<u32> {
        let step = findings::does_not_matter(self.decks.step, None);
        let mut bad = Vec::new();
        for (cylinder, difference) in differences {
            let Some(u) = difference.u() else { continue };
            let explained = (findings::MATTERS * u).max(step);
            let apart = difference.value().abs();
            if apart > explained {
                let shown = |mm: f64| words::length(mm, self.units());
                let text = format!(
                    "the {one} and {other} points of piston {cylinder} differ by {}; gauge and resolution explain {}: measure both again",
                    shown(apart),
                    shown(explained)
                );
                all.push(finding(
                    format!("deck/{cylinder}"),
                    FindingKind::Disagrees,
                    text,
                ));
                bad.push(*cylinder);
            }
        }
        bad
    }

    fn missing(&self, built: &[Known]) -> Vec<Finding> {
        let points = deck::points(&self.decks.means);
        let mut spots: Vec<String> = Vec::new();
        for one in built {
            let number = one.number;
            if one.chamber.is_none() {
                spots.push(format!("chamber/{number}"));
            }
            spots.extend(deck::lacking(&points, number));
            if one.crown.is_none() {
                let at = |part| Spot::Crown {
                    cylinder: number,
                    part,
                };
                let poured = self.fluids.means.contains_key(&at(CrownPart::Fluid));
                let depth = self.depths.means.contains_key(&at(CrownPart::Depth));
                spots.push(match (poured, depth) {
                    (true, false) => format!("crown/{number}/depth"),
                    (false, true) => format!("crown/{number}/fluid"),
                    _ => format!("crown/{number}"),
                });
            }
        }
        if built.iter().any(|one| one.gasket_bore.is_none()) {
            spots.push("gasket/bore".to_owned());
        }
        if built.iter().any(|one| one.gasket_thickness.is_none()) {
            spots.push("gasket/thickness".to_owned());
        }
        spots.extend(self.missing_directions());
        for (spot, readings) in &self.current.spots {
            let parts = readings.iter().filter_map(|reading| match &reading.value {
                Value::Flow(parts) if parts.flow.is_none() => Some(parts),
                _ => None,
            });
            for parts in parts {
                spots.extend(parts.test.is_none().then(|| format!("{spot}/test")));
                spots.extend(parts.metering.is_none().then(|| format!("{spot}/metering")));
            }
        }
        spots
            .into_iter()
            .map(|spot| self.missing_at(spot))
            .collect()
    }

    fn missing_at(&self, spot: String) -> Finding {
        let outdated = spot
            .parse::<Spot>()
            .ok()
            .and_then(|key| self.current.outdated.get(&key));
        let text = match outdated {
            Some(stage) => format!(
                "not measured in stage {:?}; it was in {stage:?}, but a cut since may have changed it",
                self.current.stage
            ),
            None => "not measured".to_owned(),
        };
        finding(spot, FindingKind::Missing, text)
    }

    pub(super) fn remarks(&self, state: &State) -> Vec<String> {
        let built = &state.cylinders;
        let mut remarks = Vec::new();
        if self.engine.invented {
            remarks.push("This engine is invented.".to_owned());
        }
        remarks.push(match built.iter().any(|one| one.crevice.is_some()) {
            true => "The volume above the top ring is counted.".to_owned(),
            false => "The volume above the top ring is not counted.".to_owned(),
        });
        remarks.extend(super::liquid::remarks(self.engine, self.current));
        remarks.extend(flow::remarks(&state.flow));
        if self.engine.tolerances != crate::engine::Tolerances::default() {
            remarks.push(crate::decide::coverage_note());
        }
        let stated = |one: &&Known| {
            one.crown.as_ref().is_some_and(|crown| {
                crown
                    .contributions()
                    .iter()
                    .any(|part| part.source.id.is_dimension(Dimension::Crown))
            })
        };
        let stated: Vec<String> = built
            .iter()
            .filter(stated)
            .map(|one| one.number.to_string())
            .collect();
        if !stated.is_empty() {
            remarks.push(format!(
                "The crown is not measured but as the engine file states it: cylinder {}.",
                stated.join(", ")
            ));
        }
        let mut carried: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for (spot, stage) in &self.current.carried {
            carried
                .entry(stage.as_str())
                .or_default()
                .push(spot.to_string());
        }
        for (stage, spots) in carried {
            remarks.push(format!(
                "Carried on from stage {stage:?}, since no cut has touched them: {}.",
                spots.join(", ")
            ));
        }
        remarks
    }
}
