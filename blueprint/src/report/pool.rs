//! From the repeats of a spot to one estimate, and from all repeats of a kind to a repeatability.
//!
//! A reading's error has three parts: the errors that its gauge gives to all readings (calibration,
//! scale, a zero that was set once), its own errors (rounding, a zero set for it), and the
//! repeatability of setting up anew, pooled over all spots of the kind under that gauge.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::errors::{measured_estimate, sense, step};
use super::every_gauge::of_every_gauge;
pub(crate) use super::repeatability::Apart;
use super::repeatability::{LEVEL, Repeatability, comparisons, stated_us};
use super::sets::{Gauges, Set, is_weight};
use crate::figure::{ErrorSource, Estimate, SourceId, SourceKind, SourceOwner};
use crate::readings::{MeasuredValue, Reading};
use crate::spot::Spot;
use crate::stats::PooledDeviation;

/// How many roundings a mean carries one by one: their steps matter to a spread.
const FEW: usize = 8;

/// The pooled readings of one kind of spot.
pub(crate) struct Pool<'a> {
    /// The estimate of each spot.
    pub(crate) means: BTreeMap<&'a Spot, Estimate>,
    /// How many readings each rests on.
    pub(crate) counts: BTreeMap<&'a Spot, usize>,
    /// The spots whose repeats do not agree.
    pub(crate) apart: BTreeMap<&'a Spot, Apart>,
    /// The spots whose readings are weights.
    pub(crate) weighed: BTreeSet<&'a Spot>,
    /// The gauges whose declared repeatability does not hold for these readings: what is declared
    /// and how far the readings scatter, base units.
    pub(crate) contradicted: BTreeMap<String, [f64; 2]>,
    /// The level of one comparison of this kind of quantity.
    pub(crate) share: f64,
    /// The coarsest step among all readings, base units.
    pub(crate) step: Option<f64>,
}

/// Pools the sets of one kind of spot (all chambers, all deck points …). `elsewhere` are sets of
/// the kind from other stages: a cut changes the parts, not how well a gauge repeats. `others` is
/// how many more comparisons of this kind of quantity are made, apart from those of repeats.
pub(crate) fn pool<'a>(
    sets: &[Set<'a>],
    elsewhere: &[Set<'a>],
    gauges: &Gauges,
    others: usize,
) -> Pool<'a> {
    let share = LEVEL / (comparisons(sets) + others).max(1) as f64;
    let mut pool = Pool {
        share,
        means: BTreeMap::new(),
        counts: BTreeMap::new(),
        apart: BTreeMap::new(),
        weighed: BTreeSet::new(),
        contradicted: BTreeMap::new(),
        step: None,
    };
    let mut groups: BTreeMap<(Option<&str>, bool), Vec<&Set<'a>>> = BTreeMap::new();
    for set in sets.iter().filter(|set| !set.readings.is_empty()) {
        groups
            .entry((set.gauge(), set.weighed()))
            .or_default()
            .push(set);
    }
    for ((name, weighed), group) in groups {
        let gauge = name.and_then(|name| gauges.get(name));
        let alike = |set: &&Set<'a>| {
            set.readings.len() >= 2 && set.gauge() == name && set.weighed() == weighed
        };
        let before: Vec<&Set<'a>> = elsewhere.iter().filter(alike).collect();
        let all: Vec<&Set<'a>> = before.iter().chain(&group).copied().collect();
        let repeatability = Repeatability::of(&all, gauge);
        // Readings that name no gauge must not hide a finding, so their repeats are judged by all
        // readings of the kind.
        let of_all = name.is_none().then(|| of_every_gauge(sets, &group, gauges));
        let judge = of_all.as_ref().unwrap_or(&repeatability);
        let apart: Vec<Option<Apart>> = group.iter().map(|set| judge.apart(set, share)).collect();
        let mut agreeing: Vec<Vec<f64>> = group
            .iter()
            .zip(&apart)
            .filter(|(_, apart)| apart.is_none())
            .map(|(set, _)| set.values())
            .collect();
        let agreed = before.iter();
        let agreed = agreed.filter(|set| repeatability.apart(set, share).is_none());
        agreeing.extend(agreed.map(|set| set.values()));
        let own = PooledDeviation::of_sets(agreeing.iter().map(Vec::as_slice));
        let holds = !own.is_some_and(|own| repeatability.contradicted_by(own));
        if let (false, Some(name), Some(declared), Some(own)) =
            (holds, name, repeatability.declared, own)
        {
            let both = [declared.s, own.s];
            pool.contradicted.insert(name.to_owned(), both);
        }
        let declared = name.filter(|_| repeatability.declared.is_some() && holds);
        let pooled = repeatability.with(own);
        let pooled = pooled.map(|s| (s, shared_by(&all, declared)));
        for (set, apart) in group.iter().zip(apart) {
            pool.means.extend(
                mean(set, gauges, pooled.as_ref(), apart.is_some()).map(|mean| (set.spot, mean)),
            );
            if set.weighed() {
                pool.weighed.insert(set.spot);
            }
            pool.counts.insert(set.spot, set.readings.len());
            pool.apart.extend(apart.map(|apart| (set.spot, apart)));
            let steps = set.readings.iter().filter_map(|(_, measured)| {
                Some(set.factor_of(measured) * step(measured, gauges)?)
            });
            pool.step = steps.chain(pool.step).reduce(f64::max);
        }
    }
    pool
}

/// The standard deviation that all sets of a group share: that of the gauge where its entry gives
/// one, else that of these repeats. It is named by the first repeat: a later stage rests on the same.
fn shared_by(group: &[&Set<'_>], declared_of: Option<&str>) -> SourceId {
    match (
        declared_of,
        group
            .iter()
            .find(|set| set.readings.len() >= 2)
            .or(group.first())
            .and_then(|set| set.readings.first()),
    ) {
        (Some(gauge), _) => SourceId::gauge(gauge, SourceKind::Repeatability),
        (None, Some((first, _))) => of_reading(first, SourceKind::Repeats),
        (None, None) => SourceId::from("repeats"),
    }
}

fn bounds(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &value| {
            (low.min(value), high.max(value))
        })
}

/// The root mean square of the uncertainties that the readings of a set state themselves, base
/// units; `None` unless all do.
fn stated_u(set: &Set<'_>) -> Option<f64> {
    let each = stated_us(set)?;
    let squares: f64 = each.iter().map(|u| u * u).sum();
    Some((squares / each.len() as f64).sqrt())
}

/// The mean of a set with all its errors. `repeatability` comes with the identity of its standard
/// deviation. If the readings lie too far `apart`, the mean is at best as good as their own scatter
/// says.
fn mean(
    set: &Set<'_>,
    gauges: &Gauges,
    repeatability: Option<&(PooledDeviation, SourceId)>,
    apart: bool,
) -> Option<Estimate> {
    let first = set.readings.first()?.0;
    let alike = round_alike(set, gauges);
    let each: Vec<Estimate> = set
        .readings
        .iter()
        .map(|(reading, measured)| {
            let mut one = single(reading, measured, gauges);
            if alike {
                one = one.identified(|id| match id.what {
                    SourceKind::Resolution => of_reading(first, SourceKind::RoundedAlike),
                    _ => id.clone(),
                });
            }
            match &set.per_gram {
                Some(per_gram) if is_weight(measured) => one * per_gram,
                _ => one,
            }
        })
        .collect();
    let mean = Estimate::mean(&each)?;
    // A mean of thousands need not carry thousands of roundings; a few keep their steps. The identity
    // keeps the first reading's id, so that the readings of two stages are not taken for the same.
    let mean = match set.readings.len() > FEW {
        true => mean.merged(
            |id| id.is_own_of(set.spot),
            of_reading(first, SourceKind::Rounding),
        ),
        false => mean,
    };
    let n = set.readings.len() as f64;
    let all_stated = set
        .readings
        .iter()
        .all(|(_, measured)| measured.u.is_some());
    let within = match (repeatability, all_stated) {
        (_, true) => stated_u(set).unwrap_or(0.0) / n.sqrt(),
        (Some((pooled, _)), false) => pooled.s / n.sqrt(),
        (None, false) => 0.0,
    };
    let scatter = apart.then(|| crate::stats::sd(&set.values())).flatten();
    let scatter = scatter.map(|s| s / n.sqrt()).filter(|u| *u > within);
    let source = match (scatter, repeatability, all_stated) {
        (Some(u), _, _) => {
            // The stated part stands in the mean already. Add only what the scatter exceeds it by.
            let stated = if all_stated { within } else { 0.0 };
            let u = (u * u - stated * stated).sqrt();
            ErrorSource::new(of_reading(first, SourceKind::Scatter), Some(u), n - 1.0)
        }
        (None, Some((pooled, shared)), false) => {
            let own = of_reading(first, SourceKind::Repeatability);
            ErrorSource::pooled(own, within, pooled.dof, shared)
        }
        (None, None, false) => unrepeated(
            of_reading(first, SourceKind::NotRepeated),
            set.unrepeated_width(gauges),
        ),
        (None, _, true) => return Some(mean),
    };
    Some(mean.with(source, 1.0))
}

/// Whether repeats lie within one step of each other: then they were rounded alike, as far as can be
/// seen, and their mean carries one whole rounding and not a share of it.
fn round_alike(set: &Set<'_>, gauges: &Gauges) -> bool {
    let values = set.values();
    let (low, high) = bounds(&values);
    let steps = set
        .readings
        .iter()
        .filter_map(|(_, measured)| Some(set.factor_of(measured) * step(measured, gauges)?));
    let step = steps.fold(0.0, f64::max);
    values.len() >= 2 && high - low <= step * 1.000_001
}

/// The repeatability at a spot where its gauge states none and nothing of its kind was measured
/// twice: unknown, not zero; `width` is assumed of it. `of` names the reading: another reading of the
/// same spot, before a cut, was set up by itself.
pub(crate) fn unrepeated(of: SourceId, width: f64) -> Arc<ErrorSource> {
    ErrorSource::lacking(of, width)
}

fn single(reading: &Reading, measured: &MeasuredValue, gauges: &Gauges) -> Estimate {
    measured_estimate(
        &of_reading(reading, SourceKind::Value),
        measured,
        sense(&reading.spot, measured, gauges),
        &reading.zero,
        gauges,
    )
}

/// An error of a reading at its spot.
fn of_reading(reading: &Reading, what: SourceKind) -> SourceId {
    SourceId::new(SourceOwner::Spot(reading.spot.clone()), what).from_fact(&reading.id)
}
