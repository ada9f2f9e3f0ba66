//! Points of one piston that do not belong together.
//!
//! A difference between two points that is there again in the next round is the form of the part.
//! It adds nothing to the uncertainty of their mean. A difference that was seen in one round only,
//! and is unlike those of the other pistons, may be a mistake. The mean is then no better than the
//! scatter of the points says (type A, JCGM 100:2008 4.2).

use std::collections::BTreeMap;
use std::sync::Arc;

use super::deck::{self, Pair, Points};
use super::document::{Finding, FindingKind};
use super::finding::{Unlike, does_not_matter, finding, unlike};
use super::pool::Pool;
use super::words;
use crate::engine::LengthUnits;
use crate::figure::{ErrorSource, Estimate, SourceId, SourceKind, SourceOwner, student_quantile};
use crate::spot::Spot;

/// Fewer pistons than this cannot be compared with their brothers by Grubbs' test.
const FEWEST: usize = 4;

/// Points of one piston, or kinds of its points, that differ by more than can be explained.
pub(super) struct UnlikePoints {
    pub(super) cylinder: u32,
    text: String,
    /// Uncertainty of the mean by the scatter of what differs, mm, with its degrees of freedom;
    /// `None` where the difference was there in every round.
    scatter: Option<(f64, f64)>,
}

impl UnlikePoints {
    pub(super) fn finding(&self) -> Finding {
        let kind = match self.scatter {
            Some(_) => FindingKind::Disagrees,
            None => FindingKind::Outlier,
        };
        finding(format!("deck/{}", self.cylinder), kind, self.text.clone())
    }
}

/// The error that unlike points give to the clearance of a piston; `None` if there is none.
pub(super) fn scatter(unlike: &[UnlikePoints], cylinder: u32) -> Option<Arc<ErrorSource>> {
    let own = unlike.iter().filter(|one| one.cylinder == cylinder);
    let (u, dof) = own
        .filter_map(|one| one.scatter)
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    let whose = SourceOwner::Spot(Spot::Deck {
        cylinder,
        point: None,
    });
    Some(ErrorSource::new(
        SourceId::new(whose, SourceKind::Scatter),
        Some(u),
        dof,
    ))
}

/// Pistons with points that do not belong together, by the pooled deck points.
pub(super) fn of(decks: &Pool<'_>, units: LengthUnits) -> Vec<UnlikePoints> {
    Decks { decks, units }.all()
}

/// Pistons with one value for the whole of them beside points, whose mean counts. Where they
/// contradict each other that is told by itself.
pub(super) fn mixed(decks: &Pool<'_>, unlike: &[UnlikePoints], units: LengthUnits) -> Vec<Finding> {
    let points = deck::points(&decks.means);
    let here = points.iter().filter(|(cylinder, points)| {
        deck::mixed(points) && unlike.iter().all(|one| one.cylinder != **cylinder)
    });
    let told = here.map(|(cylinder, points)| {
        let whole = points.get("").map_or(0.0, |(_, whole)| whole.value());
        let at_points = deck::at_points(points).map_or(0.0, |mean| mean.value());
        let [whole, at_points] = words::lengths([whole, at_points], units);
        let text = format!(
            "{whole} was read for the whole piston and {at_points} at its points: the mean of both \
             counts; void what is not to count"
        );
        finding(format!("deck/{cylinder}"), FindingKind::Mixed, text)
    });
    told.collect()
}

struct Decks<'a> {
    decks: &'a Pool<'a>,
    /// The units in which people read lengths.
    units: LengthUnits,
}

impl Decks<'_> {
    fn all(&self) -> Vec<UnlikePoints> {
        let points = deck::points(&self.decks.means);
        let mut all = Vec::new();
        for pair in deck::differences(&points) {
            if pair.differences.len() >= FEWEST {
                all.extend(self.unlike_pairs(&pair, &points));
            } else if pair.one == "front" {
                all.extend(self.lone_pairs(&pair, &points));
            }
        }
        for (cylinder, points) in &points {
            all.extend(self.unlike_kinds(*cylinder, points));
        }
        all
    }

    /// Pistons whose two points of a pair differ unlike those of their brothers.
    fn unlike_pairs(&self, pair: &Pair, points: &BTreeMap<u32, Points<'_>>) -> Vec<UnlikePoints> {
        let least = does_not_matter(self.decks.step, None);
        let level = self.decks.share * pair.differences.len() as f64;
        let told = |unlike: Unlike| {
            let found = pair
                .differences
                .iter()
                .find(|(number, _)| *number == unlike.cylinder);
            let difference = found.map_or(0.0, |(_, difference)| difference.value());
            let said = format!(
                "differ by {}, out of line with the others",
                words::length(difference.abs(), self.units)
            );
            self.of_pair(pair, unlike.cylinder, points, &said, unlike.distance)
        };
        unlike(&pair.differences, least, level)
            .into_iter()
            .map(told)
            .collect()
    }

    /// Pistons of an engine with too few of them to compare: on the pin axis rock does not show, so
    /// that both points differ by no more than the gauge and the route's resolution explain.
    fn lone_pairs(&self, pair: &Pair, points: &BTreeMap<u32, Points<'_>>) -> Vec<UnlikePoints> {
        let told = |(cylinder, difference): &(u32, Estimate)| {
            let explained = self.explained(difference)?;
            let apart = difference.value().abs();
            let [shown, most] = words::lengths([apart, explained], self.units);
            let said = format!("differ by {shown}; gauge and resolution explain {most}");
            (apart > explained).then(|| self.of_pair(pair, *cylinder, points, &said, apart))
        };
        pair.differences.iter().filter_map(told).collect()
    }

    /// What is told of a pair of points, whose difference lies `apart` from what it should be.
    fn of_pair(
        &self,
        pair: &Pair,
        cylinder: u32,
        points: &BTreeMap<u32, Points<'_>>,
        said: &str,
        apart: f64,
    ) -> UnlikePoints {
        let (one, other) = (pair.one, pair.other);
        let repeats = [one, other].iter().all(|name| {
            let spot = points
                .get(&cylinder)
                .and_then(|points| Some(points.get(name)?.0));
            spot.is_some_and(|spot| self.repeats(spot))
        });
        let (todo, scatter) = match repeats {
            true => ("as in each round: it is the form of piston or deck", None),
            // s/√2 of two values that lie so far apart.
            false => ("measure both again", Some((apart.abs() / 2.0, 1.0))),
        };
        UnlikePoints {
            cylinder,
            text: format!("the {one} and {other} points of piston {cylinder} {said}: {todo}"),
            scatter,
        }
    }

    /// Whether a point was measured in several rounds that agree.
    fn repeats(&self, spot: &crate::spot::Spot) -> bool {
        let rounds = self.decks.counts.get(spot).copied().unwrap_or(0);
        rounds >= 2 && !self.decks.apart.contains_key(spot)
    }

    /// A piston whose clearance comes out differently as one value, on the pin axis and by the
    /// thrust sides: a mean of them would hide that one is wrong.
    fn unlike_kinds(&self, cylinder: u32, points: &Points<'_>) -> Vec<UnlikePoints> {
        let shown = |mm: f64| words::length(mm, self.units);
        let kinds = deck::kinds(points);
        let values: Vec<f64> = kinds.iter().map(|(_, kind)| kind.value()).collect();
        let count = values.len() as f64;
        let scatter = crate::stats::sd(&values).map(|s| (s / count.sqrt(), count - 1.0));
        let repeats = points.values().all(|(spot, _)| self.repeats(spot));
        let pairs = (0..kinds.len()).flat_map(|at| (at + 1..kinds.len()).map(move |b| (at, b)));
        let told = |(one, other): (usize, usize)| {
            let ((by, one), (by_other, other)) = (&kinds[one], &kinds[other]);
            let difference = one - other;
            let explained = self.explained(&difference)?;
            (difference.value().abs() > explained).then(|| UnlikePoints {
                cylinder,
                text: format!(
                    "the deck clearance of piston {cylinder} is {} {by} and {} {by_other}; gauge and resolution explain a difference of {}: {}",
                    shown(one.value()),
                    shown(other.value()),
                    shown(explained),
                    if repeats { "as in each round" } else { "measure it again" },
                ),
                scatter: scatter.filter(|_| !repeats),
            })
        };
        pairs.filter_map(told).collect()
    }

    /// How large a difference may be by the gauge and by what does not matter, mm; `None` if its
    /// uncertainty is not known.
    fn explained(&self, difference: &Estimate) -> Option<f64> {
        let t = student_quantile(1.0 - self.decks.share / 2.0, difference.dof());
        Some((t * difference.u()?).max(does_not_matter(self.decks.step, None)))
    }
}
