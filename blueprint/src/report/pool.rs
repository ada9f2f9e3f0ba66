//! From the repeats of a spot to one estimate, and from all repeats of a kind to a repeatability.
//!
//! A reading's error is made of what its gauge gives to all readings (calibration, scale, a zero
//! that was set once), of what the reading has for itself (rounding, a zero set for it), and of
//! the repeatability of setting up anew, pooled over all spots of the kind under that gauge.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::errors::{measured_estimate, sense, step};
use super::liquid::per_gram;
use crate::engine::{Engine, Gauge, assumed};
use crate::figure::{Estimate, Identity, Source, What, Whose, student_quantile};
use crate::readings::{Measured, Reading};
use crate::spot::Spot;
use crate::stats::{Pooled, critical_range_factor};
use crate::units::Kind;

/// The gauges by name.
pub(crate) type Gauges = BTreeMap<String, Gauge>;

/// Fewer degrees of freedom than this are too few to call repeats of one spot in disagreement.
const FEWEST_DOF: f64 = 3.0;

/// The repeats of one spot.
pub(crate) struct Set<'a> {
    pub(crate) spot: &'a Spot,
    /// The readings, with their values in base units.
    pub(crate) readings: Vec<(&'a Reading, Measured)>,
    /// Volume of one gram, cc, for volumes that were weighed; weights of a liquid of which
    /// nothing is known are left out.
    pub(crate) per_gram: Option<Estimate>,
}

impl<'a> Set<'a> {
    pub(crate) fn new(spot: &'a Spot, readings: &[&'a Reading], engine: &Engine) -> Set<'a> {
        let mut measured: Vec<(&'a Reading, Measured)> = readings
            .iter()
            .filter_map(|reading| Some((*reading, reading.measured()?)))
            .collect();
        let weighed = spot.kind() == Kind::Volume && measured.iter().any(|(_, one)| is_weight(one));
        let per_gram = weighed.then(|| per_gram(engine, readings)).flatten();
        if weighed && per_gram.is_none() {
            measured.retain(|(_, one)| !is_weight(one));
        }
        Set {
            spot,
            readings: measured,
            per_gram,
        }
    }

    fn values(&self) -> Vec<f64> {
        self.readings
            .iter()
            .map(|(_, measured)| self.factor_of(measured) * measured.base())
            .collect()
    }

    /// Whether the readings are weights of a volume.
    pub(crate) fn weighed(&self) -> bool {
        self.readings
            .first()
            .is_some_and(|(_, measured)| is_weight(measured))
    }

    /// What a reading in its base unit is multiplied by to be what the spot measures: 1, or the
    /// volume of a gram.
    fn factor_of(&self, measured: &Measured) -> f64 {
        match &self.per_gram {
            Some(per_gram) if is_weight(measured) => per_gram.value(),
            _ => 1.0,
        }
    }

    fn factor(&self) -> f64 {
        self.readings
            .first()
            .map_or(1.0, |(_, measured)| self.factor_of(measured))
    }

    /// What is assumed of setting up anew, base units.
    fn unrepeated_width(&self, gauges: &Gauges) -> f64 {
        let width =
            |measured: &Measured| self.factor_of(measured) * unrepeated_width(measured, gauges);
        self.readings
            .iter()
            .map(|(_, measured)| width(measured))
            .fold(0.0, f64::max)
    }

    /// The gauge that all repeats share; `None` if they differ or have none.
    fn gauge(&self) -> Option<&str> {
        let first = self.readings.first()?.1.gauge.as_deref()?;
        let same = |measured: &Measured| measured.gauge.as_deref() == Some(first);
        self.readings
            .iter()
            .all(|(_, measured)| same(measured))
            .then_some(first)
    }
}

fn is_weight(measured: &Measured) -> bool {
    measured.unit.kind() == Kind::Mass
}

/// Repeats that lie further apart than repeatability allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Apart {
    /// Largest minus smallest, base units.
    pub(crate) range: f64,
    /// What the range may be.
    pub(crate) limit: f64,
}

/// What was made of the sets of one kind of spot.
pub(crate) struct Pool<'a> {
    /// The estimate of each spot.
    pub(crate) means: BTreeMap<&'a Spot, Estimate>,
    /// How many readings each rests on.
    pub(crate) counts: BTreeMap<&'a Spot, usize>,
    /// The spots whose repeats do not agree.
    pub(crate) apart: BTreeMap<&'a Spot, Apart>,
    /// The spots whose readings are weights.
    pub(crate) weighed: BTreeSet<&'a Spot>,
    /// The coarsest step among all readings, base units.
    pub(crate) step: Option<f64>,
}

/// Pools the sets of one kind of spot (all chambers, all deck points …).
pub(crate) fn pool<'a>(sets: &[Set<'a>], gauges: &Gauges) -> Pool<'a> {
    let mut pool = Pool {
        means: BTreeMap::new(),
        counts: BTreeMap::new(),
        apart: BTreeMap::new(),
        weighed: BTreeSet::new(),
        step: None,
    };
    let mut groups: BTreeMap<(Option<&str>, bool), Vec<&Set<'a>>> = BTreeMap::new();
    for set in sets.iter().filter(|set| !set.readings.is_empty()) {
        groups
            .entry((set.gauge(), set.weighed()))
            .or_default()
            .push(set);
    }
    for ((name, _), group) in groups {
        let gauge = name.and_then(|name| gauges.get(name));
        let repeatability = Repeatability::of(&group, gauge);
        let apart: Vec<Option<Apart>> = group.iter().map(|set| repeatability.apart(set)).collect();
        let agreeing: Vec<Vec<f64>> = group
            .iter()
            .zip(&apart)
            .filter(|(_, apart)| apart.is_none())
            .map(|(set, _)| set.values())
            .collect();
        let pooled = repeatability.with(Pooled::of_sets(agreeing.iter().map(Vec::as_slice)));
        let pooled = pooled.map(|s| {
            (
                s,
                shared_by(&group, name.filter(|_| repeatability.declared.is_some())),
            )
        });
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
/// one, else that of these repeats.
fn shared_by(group: &[&Set<'_>], declared_of: Option<&str>) -> Identity {
    match (
        declared_of,
        group.first().and_then(|set| set.readings.first()),
    ) {
        (Some(gauge), _) => Identity::gauge(gauge, What::Repeatability),
        (None, Some((first, _))) => of_reading(first, What::Repeats),
        (None, None) => Identity::from("repeats"),
    }
}

/// What is known of the repeatability of one kind of spot under one gauge.
struct Repeatability {
    declared: Option<Pooled>,
    /// Sum of squares within the sets that have repeats, its degrees of freedom, their number.
    squares: f64,
    dof: f64,
    sets: usize,
    step: f64,
}

impl Repeatability {
    fn of(group: &[&Set<'_>], gauge: Option<&Gauge>) -> Repeatability {
        // All sets of a group are weights, or none is.
        let factor = group.first().map_or(1.0, |set| set.factor());
        let declared = gauge.and_then(|gauge| {
            gauge.repeatability.map(|s| Pooled {
                s: factor * s,
                dof: gauge.repeatability_dof,
            })
        });
        let (mut squares, mut dof, mut sets) = (0.0, 0.0, 0);
        for set in group.iter().filter(|set| set.readings.len() >= 2) {
            squares += crate::stats::sum_of_squares(&set.values());
            dof += (set.readings.len() - 1) as f64;
            sets += 1;
        }
        let written = |set: &&Set<'_>| {
            set.readings
                .iter()
                .filter_map(|(_, measured)| Some(measured.unit.difference_to_base(measured.step?)))
                .fold(0.0, f64::max)
        };
        let step = gauge
            .and_then(|gauge| gauge.resolution)
            .unwrap_or_else(|| group.iter().map(written).fold(0.0, f64::max));
        Repeatability {
            declared,
            squares,
            dof,
            sets,
            step: factor * step,
        }
    }

    /// The declared repeatability together with that of the job's own repeats.
    fn with(&self, own: Option<Pooled>) -> Option<Pooled> {
        match (self.declared, own) {
            (Some(declared), Some(own)) => Some(declared.and(own)),
            (Some(declared), None) => Some(declared),
            (None, own) => own.map(|own| self.no_finer_than_its_step(own)),
        }
    }

    /// Repeats that are equal on a scale show only that set-ups lie within one step of each other:
    /// ± one step. Else a repeatability that nobody states would be surer than a stated one.
    fn no_finer_than_its_step(&self, own: Pooled) -> Pooled {
        match own.s < self.step / 12f64.sqrt() {
            true => Pooled {
                s: self.step / 3f64.sqrt(),
                ..own
            },
            false => own,
        }
    }

    /// Whether a set's repeats lie too far apart. The set itself does not speak for itself: the
    /// repeatability is the declared one and that of its brothers.
    ///
    /// With a repeatability that is taken as known the limit is that of ISO 5725-6, 2.8·s for two
    /// readings. One estimated from the brothers is less certain, and all sets are looked at
    /// together: the limit is widened by t at 5 % shared among them.
    fn apart(&self, set: &Set<'_>) -> Option<Apart> {
        let values = set.values();
        if values.len() < 2 {
            return None;
        }
        let (low, high) = bounds(&values);
        let factor = critical_range_factor(values.len());
        let limit = match stated_u(set) {
            Some(u) => factor * u,
            None => {
                let own = crate::stats::sum_of_squares(&values);
                let dof = self.dof - (values.len() - 1) as f64;
                let squares = (self.squares - own).max(0.0);
                let brothers = (dof > 0.0).then(|| Pooled {
                    s: (squares / dof).sqrt(),
                    dof,
                });
                let reference = self
                    .with(brothers)
                    .filter(|pooled| pooled.dof >= FEWEST_DOF)?;
                let widen = if reference.dof.is_infinite() {
                    1.0
                } else {
                    let tail = 0.025 / self.sets as f64;
                    student_quantile(1.0 - tail, reference.dof) / student_quantile(0.975, 1e9)
                };
                let rounding = self.step * self.step / 12.0;
                factor * widen * (reference.s.powi(2) + rounding).sqrt()
            }
        };
        // Two roundings of one value can differ by a whole step.
        let limit = limit.max(self.step * 1.000_001);
        (high - low > limit).then_some(Apart {
            range: high - low,
            limit,
        })
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
    let squares: Option<Vec<f64>> = set
        .readings
        .iter()
        .map(|(_, measured)| {
            Some((set.factor_of(measured) * measured.unit.difference_to_base(measured.u?)).powi(2))
        })
        .collect();
    squares.map(|squares| (squares.iter().sum::<f64>() / squares.len() as f64).sqrt())
}

/// The mean of a set with all its errors. `repeatability` comes with the identity of the
/// standard deviation; of a set whose readings lie too far `apart` the mean is at best as good as
/// their own scatter says.
fn mean(
    set: &Set<'_>,
    gauges: &Gauges,
    repeatability: Option<&(Pooled, Identity)>,
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
                    What::Resolution => of_reading(first, What::RoundedAlike),
                    _ => id.clone(),
                });
            }
            match &set.per_gram {
                Some(per_gram) if is_weight(measured) => one * per_gram.clone(),
                _ => one,
            }
        })
        .collect();
    // A mean of thousands need not carry thousands of roundings. The identity keeps the
    // first reading's id, so that the readings of two stages are not taken for the same.
    let mean = Estimate::mean(&each)?.merged(
        |id| id.is_own_of(set.spot),
        of_reading(first, What::Rounding),
    );
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
            // What is stated stands already; only what the scatter exceeds it by comes to it.
            let stated = if all_stated { within } else { 0.0 };
            let u = (u * u - stated * stated).sqrt();
            Source::new(of_reading(first, What::Scatter), Some(u), n - 1.0)
        }
        (None, Some((pooled, shared)), false) => {
            let own = of_reading(first, What::Repeatability);
            Source::pooled(own, within, pooled.dof, shared)
        }
        (None, None, false) => {
            unrepeated(Whose::Spot(set.spot.clone()), set.unrepeated_width(gauges))
        }
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
/// twice: unknown, not zero; `width` is assumed of it.
pub(crate) fn unrepeated(whose: Whose, width: f64) -> Arc<Source> {
    Source::lacking(Identity::new(whose, What::NotRepeated), width)
}

fn single(reading: &Reading, measured: &Measured, gauges: &Gauges) -> Estimate {
    measured_estimate(
        &of_reading(reading, What::Value),
        measured,
        sense(&reading.spot, measured, gauges),
        &reading.zero,
        gauges,
    )
}

/// An error of a reading at its spot.
fn of_reading(reading: &Reading, what: What) -> Identity {
    Identity::new(Whose::Spot(reading.spot.clone()), what).from_fact(&reading.id)
}

/// What is assumed of setting a value up anew, as a half-width in base units.
pub(crate) fn unrepeated_width(measured: &Measured, gauges: &Gauges) -> f64 {
    let gauge = measured.gauge.as_ref().and_then(|name| gauges.get(name));
    let kind = gauge.map(|gauge| gauge.kind);
    let kind = kind.filter(|kind| kind.measures() == measured.unit.kind());
    match kind.or_else(|| assumed::usual_gauge(measured.unit.kind())) {
        Some(kind) => assumed::repeatability(kind),
        None => 0.02 * measured.base().abs(),
    }
}
