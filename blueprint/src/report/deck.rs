//! The deck clearance of each piston from its points.
//!
//! On the pin axis (front, rear) rock does not show. The thrust and anti-thrust sides move in
//! opposite directions: their mean is the clearance and half their difference is rock. One of them
//! without the other says nothing (`docs/formulas.md`, section 4).

use std::collections::{BTreeMap, BTreeSet};

use crate::figure::{Estimate, Scalar};
use crate::spot::{Spot, SpotName};

/// The points that belong together.
const PAIRS: [(&str, &str); 2] = [("front", "rear"), ("thrust", "antithrust")];

/// The points of one piston, by their names; the whole piston's own value goes by "".
pub(crate) type Points<'a> = BTreeMap<&'a str, (&'a Spot, &'a Estimate)>;

/// The points of each cylinder.
pub(crate) fn points<'a>(means: &'a BTreeMap<&'a Spot, Estimate>) -> BTreeMap<u32, Points<'a>> {
    let mut all: BTreeMap<u32, Points<'a>> = BTreeMap::new();
    for (spot, estimate) in means {
        if let Spot::Deck { cylinder, point } = spot {
            let name = point.as_ref().map_or("", SpotName::as_str);
            all.entry(*cylinder)
                .or_default()
                .insert(name, (spot, estimate));
        }
    }
    all
}

/// The clearance: the mean of the points that mean something. Where one value stands for the whole
/// piston beside points, each kind of reading is a measurement of its own and counts as much as the
/// others. `None` if there are none.
pub(crate) fn clearance(points: &Points<'_>) -> Option<Estimate> {
    if mixed(points) {
        let declared = |name: &str| {
            let pairs = PAIRS
                .iter()
                .any(|(one, other)| name == *one || name == *other);
            !name.is_empty() && !pairs
        };
        let declared = points.iter().filter(|(name, _)| declared(name));
        let declared = Estimate::mean(declared.map(|(_, (_, point))| *point));
        let kinds = kinds(points).into_iter().map(|(_, kind)| kind);
        let all: Vec<Estimate> = kinds.chain(declared).collect();
        return Estimate::mean(&all);
    }
    let alone = |name: &str| {
        let (thrust, anti) = PAIRS[1];
        (name == thrust && !points.contains_key(anti))
            || (name == anti && !points.contains_key(thrust))
    };
    Estimate::mean(
        points
            .iter()
            .filter(|(name, _)| !alone(name))
            .map(|(_, (_, point))| *point),
    )
}

/// The clearance without the value that stands for the whole piston; `None` if there are no points.
pub(crate) fn at_points(points: &Points<'_>) -> Option<Estimate> {
    let points = points.iter().filter(|(name, _)| !name.is_empty());
    clearance(&points.map(|(name, at)| (*name, *at)).collect())
}

/// Whether one value stands for the whole piston beside a clearance by points.
pub(crate) fn mixed(points: &Points<'_>) -> bool {
    let thrust = |name: &str| name == PAIRS[1].0 || name == PAIRS[1].1;
    let alone = |name: &str| {
        thrust(name) && !(points.contains_key(PAIRS[1].0) && points.contains_key(PAIRS[1].1))
    };
    let at_points = points.keys().any(|name| !name.is_empty() && !alone(name));
    points.contains_key("") && at_points
}

/// How much nearer to the head the nearest point stands than the mean, 0 or more. Rock shows in it.
/// `None` if there is no clearance.
pub(crate) fn low(points: &Points<'_>) -> Option<Estimate> {
    let nearest = points
        .values()
        .map(|(_, point)| *point)
        .min_by(|a, b| a.value().total_cmp(&b.value()))?;
    let low = clearance(points)? - nearest;
    Some(if low.value() > 0.0 {
        low
    } else {
        Estimate::exact(0.0)
    })
}

/// How many comparisons of points are made, beside those of their repeats.
pub(crate) fn comparisons<'a>(spots: impl Iterator<Item = &'a Spot>) -> usize {
    let mut all: BTreeMap<u32, BTreeSet<&str>> = BTreeMap::new();
    for spot in spots {
        if let Spot::Deck { cylinder, point } = spot {
            let name = point.as_ref().map_or("", SpotName::as_str);
            all.entry(*cylinder).or_default().insert(name);
        }
    }
    let of = |names: &BTreeSet<&str>| {
        let both = |(one, other): (&str, &str)| names.contains(one) && names.contains(other);
        let pairs = PAIRS.into_iter().filter(|pair| both(*pair)).count();
        let pin = names.contains(PAIRS[0].0) || names.contains(PAIRS[0].1);
        let kinds = [names.contains(""), pin, both(PAIRS[1])];
        let kinds = kinds.into_iter().filter(|kind| *kind).count();
        pairs + kinds * kinds.saturating_sub(1) / 2
    };
    all.values().map(of).sum()
}

/// Rock: half the difference of the thrust and anti-thrust points.
pub(crate) fn rock(points: &Points<'_>) -> Option<Estimate> {
    let (thrust, anti) = (points.get("thrust")?.1, points.get("antithrust")?.1);
    Some((thrust - anti).scale(0.5))
}

/// The clearance of a piston by each kind of reading: as one value, on the pin axis, by both thrust
/// sides. All should agree.
pub(crate) fn kinds(points: &Points<'_>) -> Vec<(&'static str, Estimate)> {
    let mean = |(one, other): (&str, &str), both: bool| {
        let found: Vec<&Estimate> = [one, other]
            .into_iter()
            .filter_map(|name| Some(points.get(name)?.1))
            .collect();
        (found.len() == 2 || !both)
            .then(|| Estimate::mean(found))
            .flatten()
    };
    [
        (
            "as one value",
            points.get("").map(|(_, whole)| (*whole).clone()),
        ),
        ("on the pin axis", mean(PAIRS[0], false)),
        ("as the mean of the thrust sides", mean(PAIRS[1], true)),
    ]
    .into_iter()
    .filter_map(|(name, clearance)| Some((name, clearance?)))
    .collect()
}

/// Two points that belong together, and how they differ at each cylinder that has both.
pub(crate) struct Pair {
    pub(crate) one: &'static str,
    pub(crate) other: &'static str,
    pub(crate) differences: Vec<(u32, Estimate)>,
}

/// The differences of both pairs of points.
pub(crate) fn differences(all: &BTreeMap<u32, Points<'_>>) -> Vec<Pair> {
    PAIRS
        .into_iter()
        .map(|(one, other)| {
            let pair = |(cylinder, points): (&u32, &Points<'_>)| {
                let (one, other) = (points.get(one)?.1, points.get(other)?.1);
                Some((*cylinder, one - other))
            };
            Pair {
                one,
                other,
                differences: all.iter().filter_map(pair).collect(),
            }
        })
        .collect()
}

/// Points that a cylinder lacks: those that its brothers have, and the other one of a pair.
pub(crate) fn lacking(all: &BTreeMap<u32, Points<'_>>, cylinder: u32) -> Vec<String> {
    let own: BTreeSet<&str> = all
        .get(&cylinder)
        .map(|points| points.keys().copied().collect())
        .unwrap_or_default();
    let mut expected: BTreeSet<&str> = all
        .values()
        .flat_map(|points| points.keys().copied())
        .filter(|name| !name.is_empty())
        .collect();
    for (one, other) in PAIRS {
        if expected.contains(one) || expected.contains(other) {
            expected.extend([one, other]);
        }
    }
    // Either pair gives the clearance by itself: the other one is lacking only where the brothers
    // have both.
    let has_both = |points: &BTreeSet<&str>, (one, other): (&str, &str)| {
        points.contains(one) && points.contains(other)
    };
    let both_pairs = all.values().any(|points| {
        let names: BTreeSet<&str> = points.keys().copied().collect();
        PAIRS.iter().all(|pair| has_both(&names, *pair))
    });
    for (pair, (one, other)) in [(PAIRS[0], PAIRS[1]), (PAIRS[1], PAIRS[0])] {
        let begun = own.contains(one) || own.contains(other);
        if has_both(&own, pair) && !begun && !both_pairs {
            expected.remove(one);
            expected.remove(other);
        }
    }
    if own.contains("") {
        // One value stands for the whole piston.
        expected.clear();
    }
    if own.is_empty() && expected.is_empty() {
        return vec![format!("deck/{cylinder}")];
    }
    expected
        .into_iter()
        .filter(|name| !own.contains(name))
        .map(|name| format!("deck/{cylinder}/{name}"))
        .collect()
}
