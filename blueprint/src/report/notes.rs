//! Everything the report says in words: findings and remarks.

use std::collections::BTreeMap;

use super::deck_doubts::{self, Doubt};
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
use crate::units::Unit;

impl Measures<'_> {
    pub(super) fn findings(&self, state: &State) -> Vec<Finding> {
        let built = &state.cylinders;
        let units = self.units();
        let length = |mm: f64| words::length(mm, units);
        let volume = |cc: f64| words::volume(cc);
        let lengths = |mm: [f64; 2]| words::lengths(mm, units);
        let volumes = |cc: [f64; 2]| words::in_unit(cc, Unit::CubicCentimetre);
        let mut all = self.contact_findings(built);
        all.extend(self.missing(built));
        let doubts = deck_doubts::doubts(&self.decks, units);
        all.extend(doubts.iter().map(Doubt::finding));
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
                &volumes as &dyn Fn([f64; 2]) -> [String; 2],
                &yes as &dyn Fn(&Spot) -> bool,
            ),
            (&self.decks, &lengths, &lone_deck),
            (&self.crowns, &volumes, &yes),
            (&self.fluids, &volumes, &yes),
            (&self.depths, &lengths, &yes),
            (&self.gaskets, &lengths, &yes),
            (&self.thicknesses, &lengths, &yes),
            (&self.bores, &lengths, &no),
            (&self.parts, &lengths, &no),
            (&self.gaps, &lengths, &no),
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
        let no_deck = |number: u32| {
            doubts.iter().any(|doubt| doubt.cylinder == number) || apart(&self.decks, number)
        };
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
        all.extend(flow::impossible(&state.flow));
        all.extend(flow::findings(&self.current.spots, units));
        all.sort_by_key(|finding| finding.kind);
        all
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
