//! Free spots: what the engine file states beyond everything that the report has a figure for.
//!
//! Those of one name and one place are alike over the cylinders and are compared with each other; a
//! place is never compared with another one. How well they repeat is pooled over all of one name.

use super::document::{
    Finding, FindingKind, FreeReport, MeasuredReport, ToleranceName, ToleranceVerdict,
};
use super::finding::{self, Unlike, does_not_matter, finding};
use super::pool::Pool;
use super::pooled_readings::PooledReadings;
use super::single_limits::SingleLimits;
use super::verdicts::{self, SpreadTolerance};
use super::{expanded, lacking, words};
use crate::engine::{FreeSpot, StatedValue};
use crate::engine_figures;
use crate::figure::{Estimate, Figure};
use crate::spot::{Spot, SpotName};
use crate::units::Unit;

/// The spots of one name at one place, over the cylinders.
struct Group<'a> {
    name: &'a SpotName,
    stated: &'a FreeSpot,
    /// The place; none where there is one only, or where they belong to no cylinder.
    at: Option<SpotName>,
    /// All of them, measured or not.
    spots: Vec<Spot>,
    pool: Option<&'a Pool<'a>>,
}

/// A name as it is said: `spring_height` as "spring height".
fn said(name: &SpotName) -> String {
    name.replace(['_', '-'], " ")
}

fn groups<'a>(readings: &'a PooledReadings<'a>) -> Vec<Group<'a>> {
    let of = |(name, stated): (&'a SpotName, &'a FreeSpot)| {
        let mut by_place: Vec<(Option<SpotName>, Vec<Spot>)> = Vec::new();
        for spot in stated.spots(name) {
            // Where they belong to no cylinder, the places are what is compared.
            let at = match &spot {
                Spot::Free {
                    cylinder: Some(_),
                    at,
                    ..
                } => at.clone(),
                _ => None,
            };
            match by_place.iter_mut().find(|(known, _)| *known == at) {
                Some((_, spots)) => spots.push(spot),
                None => by_place.push((at, vec![spot])),
            }
        }
        by_place.into_iter().map(move |(at, spots)| Group {
            name,
            stated,
            at,
            spots,
            pool: readings.free.get(name),
        })
    };
    readings.engine.free.iter().flat_map(of).collect()
}

impl Group<'_> {
    /// Those that were measured.
    fn measured(&self) -> Vec<(&Spot, &Estimate)> {
        let Some(pool) = self.pool else {
            return Vec::new();
        };
        let mean = |spot| Some((spot, pool.means.get(spot)?));
        self.spots.iter().filter_map(mean).collect()
    }

    fn estimates(&self) -> Vec<Estimate> {
        let measured = self.measured().into_iter();
        measured.map(|(_, mean)| mean.clone()).collect()
    }

    /// Name and place without a cylinder, as a spot: what a verdict on the spread is about.
    fn whole(&self) -> Spot {
        Spot::Free {
            name: self.name.clone(),
            cylinder: None,
            at: self.at.clone(),
        }
    }

    fn limit(&self, stated: Option<StatedValue>) -> Option<Figure> {
        let unit = self.stated.unit;
        // A chosen number is exact.
        let exact = |stated: StatedValue| Figure::new(self.stated.limit(&stated), Some(0.0), unit);
        stated.map(exact)
    }

    fn report(&self) -> FreeReport {
        let (unit, estimates) = (self.stated.unit, self.estimates());
        let mean = Estimate::mean(&estimates);
        let spread = engine_figures::spread(&estimates);
        let expanded = |one: &Option<Estimate>| expanded::expanded_in(one.as_ref()?, unit);
        let readings = |spot| self.pool.and_then(|pool| pool.counts.get(spot).copied());
        FreeReport {
            name: self.name.clone(),
            title: self.stated.title.clone(),
            at: self.at.clone(),
            spots: self.spots.len(),
            least: self.limit(self.stated.least),
            most: self.limit(self.stated.most),
            allowed_spread: self.limit(self.stated.spread),
            mean_expanded: expanded(&mean),
            spread_expanded: expanded(&spread),
            mean: mean.map(|mean| mean.figure(unit)),
            spread: spread.map(|spread| spread.difference(unit)),
            spread_of_equals: verdicts::spread_of_equals(&estimates, unit),
            measured: self
                .measured()
                .into_iter()
                .map(|(spot, mean)| MeasuredReport {
                    spot: spot.clone(),
                    figure: mean.figure(unit),
                    readings: readings(spot).unwrap_or(0),
                })
                .collect(),
        }
    }

    /// The verdicts on each spot and on the spread.
    fn verdicts(&self) -> Vec<ToleranceVerdict> {
        let stated = self.stated;
        let allowed = [stated.least, stated.most];
        let limits = SingleLimits::new(
            ToleranceName::Free,
            &said(self.name),
            allowed.map(|limit| limit.map(|limit| stated.limit(&limit))),
            stated.unit,
        );
        let each = self.measured().into_iter().filter_map(|(spot, mean)| {
            let judged = limits.judged(spot.cylinder(), ("", mean), ("", mean))?;
            Some(ToleranceVerdict {
                spot: Some(spot.clone()),
                ..judged
            })
        });
        let tolerance = stated.spread.map(|allowed| SpreadTolerance {
            about: ToleranceName::FreeSpread,
            allowed: allowed.value,
            unit: stated.unit,
        });
        let spread = tolerance.and_then(|one| one.judged(&self.estimates(), Vec::new));
        let spread = spread.map(|judged| ToleranceVerdict {
            spot: Some(self.whole()),
            ..judged
        });
        spread.into_iter().chain(each).collect()
    }

    /// Those that are unlike the others of their place.
    fn unlike(&self) -> Vec<Finding> {
        let Some(pool) = self.pool else {
            return Vec::new();
        };
        // One whose own readings disagree is not compared with the others.
        let measured = self.measured().into_iter();
        let agreeing: Vec<(&Spot, &Estimate)> = measured
            .filter(|(spot, _)| !pool.apart.contains_key(spot))
            .collect();
        let numbered = (0u32..).zip(&agreeing);
        let values: Vec<(u32, Estimate)> = numbered
            .map(|(number, (_, mean))| (number, (*mean).clone()))
            .collect();
        let least = does_not_matter(pool.step, self.stated.spread.map(|one| one.value));
        let told = |Unlike {
                        cylinder: number,
                        distance,
                    }| {
            let (spot, _) = agreeing.get(usize::try_from(number).ok()?)?;
            let side = if distance > 0.0 { "larger" } else { "smaller" };
            let distance = self.stated.unit.difference_from_base(distance.abs());
            let [distance] = words::in_unit([distance], self.stated.unit);
            let text = format!("out of line with the others: {distance} {side} than their mean");
            Some(finding(spot, FindingKind::Outlier, text))
        };
        let unlike = finding::unlike(&values, least, finding::LEVEL).into_iter();
        unlike.filter_map(told).collect()
    }
}

/// The free spots that the engine file states, measured or not.
pub(super) fn reports(readings: &PooledReadings<'_>) -> Vec<FreeReport> {
    groups(readings).iter().map(Group::report).collect()
}

/// The verdicts on what the engine file allows them.
pub(super) fn verdicts(readings: &PooledReadings<'_>) -> Vec<ToleranceVerdict> {
    groups(readings).iter().flat_map(Group::verdicts).collect()
}

/// Repeats that disagree, values out of line with the others, and, where a limit is stated, what was
/// measured once only.
pub(super) fn findings(readings: &PooledReadings<'_>) -> Vec<Finding> {
    let mut all = Vec::new();
    for (name, pool) in &readings.free {
        let Some(stated) = readings.engine.free.get(*name) else {
            continue;
        };
        let shown = shown_in(stated.unit);
        all.extend(finding::of_repeats(pool, &shown, &|_| stated.limited()));
    }
    all.extend(groups(readings).iter().flat_map(Group::unlike));
    all
}

/// The spots that were not measured, of those for which the engine file states a limit.
pub(super) fn missing(readings: &PooledReadings<'_>) -> Vec<String> {
    let lacks = |group: &Group<'_>| -> Vec<String> {
        let there = |spot: &&Spot| group.pool.is_some_and(|pool| pool.means.contains_key(spot));
        let spots = group.spots.iter().filter(|spot| !there(spot));
        spots.map(Spot::to_string).collect()
    };
    let groups = groups(readings);
    let limited = groups.iter().filter(|group| group.stated.limited());
    limited.flat_map(lacks).collect()
}

/// What the ± of the free spots leaves out, in a sentence.
pub(super) fn lacking(readings: &PooledReadings<'_>) -> Option<String> {
    let means = readings.free.values().flat_map(|pool| pool.means.values());
    lacking::sentence("the free spots", means)
}

/// The gauges whose entry does not hold for readings of free spots: the spots' name as it is said,
/// the gauge, what it states and what was seen.
pub(super) fn contradicted(readings: &PooledReadings<'_>) -> Vec<(String, String, [String; 2])> {
    let mut all = Vec::new();
    for (name, pool) in &readings.free {
        let unit = readings.engine.free.get(*name).map(|stated| stated.unit);
        for (gauge, both) in &pool.contradicted {
            let told = unit.map(|unit| shown_in(unit)(*both)).unwrap_or_default();
            all.push((said(name), gauge.clone(), told));
        }
    }
    all
}

/// Writes two values in the base unit in a spot's own unit.
fn shown_in(unit: Unit) -> impl Fn([f64; 2]) -> [String; 2] {
    move |base| words::in_unit(base.map(|one| unit.difference_from_base(one)), unit)
}
