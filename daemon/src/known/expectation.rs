//! What a stop's value should be near to, from what is known of the job.
//!
//! The sources, in order: the stop's own earlier round, the other cylinders, the same chamber
//! before a stated cut, the nominal value of the engine file. The bounds are outer bounds: they
//! part pours and ask questions. They never alter a value or its uncertainty, and no figure rests
//! on them. The module reads a job's view and engine, and nothing else.

mod earlier;
mod flow;
mod measured;
mod rounds;
#[cfg(test)]
mod tests;
mod worded;

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Quantity, Spot, Unit};

pub use earlier::{doubted_brothers, only_brother};
pub(crate) use flow::row_doubt;
pub use flow::{BesideTest, FlowShown, flow_doubt};
pub use rounds::rounds_apart;
pub use worded::far_off;

use crate::capture::ExpectedBounds;
use crate::store::fact::ASKED;
use crate::store::view::{JobView, KeptReading};

/// Where an expectation comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExpectationSource {
    /// The same spot in an earlier round.
    EarlierRound,
    /// The only earlier reading of the same spot, which nothing else supports: it may be the slip.
    LoneEarlier {
        /// Its number for people; `None` where the number alone names no reading.
        number: Option<u64>,
    },
    /// The other cylinders, of the same head where there are any.
    Brothers {
        /// How many.
        count: usize,
    },
    /// The other points of the same piston.
    OtherPoints,
    /// The parts as the engine file states them.
    Parts,
    /// The same spot before the last cut.
    BeforeCut,
    /// What the engine file states.
    Nominal,
}

/// What a stop's value should be near to.
#[derive(Debug, Clone, PartialEq)]
pub struct Expectation {
    /// The bounds, in the base unit of what the gauge measures (cc, g, mm, Pa).
    pub expected: ExpectedBounds,
    /// Values outside the bounds that a person confirmed: another value near one of these is no
    /// surprise.
    pub confirmed: Vec<ExpectedBounds>,
    /// The source of the bounds.
    pub source: ExpectationSource,
    /// The unit in which the expectation is told.
    pub unit: Unit,
}

impl Expectation {
    /// Whether a value is no surprise.
    pub fn holds(&self, value: f64) -> bool {
        self.expected.holds(value) || self.confirmed.iter().any(|e| e.holds(value))
    }

    /// The same of a volume that is weighed, where one cc weighs so many grams.
    fn weighing(self, grams: f64) -> Expectation {
        Expectation {
            expected: self.expected.scaled(grams),
            confirmed: self.confirmed.iter().map(|one| one.scaled(grams)).collect(),
            source: self.source,
            unit: Unit::Gram,
        }
    }

    /// The same, told in the unit of the value beside it, where that is of the same kind.
    pub fn told_in(mut self, unit: Unit) -> Expectation {
        if unit.kind() == self.unit.kind() {
            self.unit = unit;
        }
        self
    }
}

/// What is odd about a typed or imported value, in words; `None` where nothing is.
pub(crate) fn doubt(
    engine: &Engine,
    view: &JobView,
    at: ExpectedAt<'_>,
    value: Quantity,
) -> Option<String> {
    let told = |expectation: Expectation| {
        let expectation = expectation.told_in(value.unit);
        (!expectation.holds(value.base()))
            .then(|| far_off(at.spot, &value.to_string(), &expectation))
    };
    // Chambers that all grew under the mill agree with each other: each is held against itself
    // before the cut as well.
    let before = || {
        let chamber = matches!(at.spot, Spot::Chamber { .. });
        let (at, weighs) = weighed(engine, at).map_or((at, None), |(at, w)| (at, Some(w)));
        let before = Known::of(engine, view, at).before_cut();
        let before = before.filter(|_| chamber)?;
        Some(weighs.map_or(before.clone(), |weighs| before.weighing(weighs)))
    };
    expectation(engine, view, at)
        .and_then(told)
        .or_else(|| before().and_then(told))
}

/// So many readings of a spot, the newest of those that count, are compared with: a spot that is
/// measured over and over tells no more by its older ones, and the comparison takes no longer.
pub(crate) const NEWEST: usize = 16;

/// Outer bounds, as shares. Common practice, no source: castings of one maker lie well within them.
/// A chamber of another engine, a half pour, or two pours in one do not.
const NOMINAL: f64 = 0.25;
const BROTHERS: f64 = 0.10;
const REPEAT: f64 = 0.05;
/// A repeat within this is never asked about, cc: small volumes repeat worse in proportion.
const LEAST_CC: f64 = 0.5;
/// The least share of the bore's area that a chamber's opening has, where no area is stated.
const OPENING: f64 = 0.6;

/// The stop for which an expectation is looked up.
#[derive(Debug, Clone, Copy)]
pub struct ExpectedAt<'a> {
    /// The stage of the parts.
    pub stage: &'a str,
    /// The spot.
    pub spot: &'a Spot,
    /// The round, from 1.
    pub round: u32,
    /// What the gauge measures.
    pub kind: QuantityKind,
}

/// What the value should be near to; `None` where nothing is known.
pub fn expectation(engine: &Engine, view: &JobView, at: ExpectedAt<'_>) -> Option<Expectation> {
    if let Some((at, weighs)) = weighed(engine, at) {
        return expectation(engine, view, at).map(|one| one.weighing(weighs));
    }
    let ExpectedAt { spot, round, .. } = at;
    let known = Known::of(engine, view, at);
    if !matches!(spot, Spot::Chamber { .. }) {
        return known.measured(round);
    }
    known
        .earlier_round(round)
        .or_else(|| known.brothers())
        .or_else(|| known.before_cut())
        .or_else(|| known.nominal())
}

/// The stop of a volume that is weighed, as one of a volume, and what one cc weighs, g. `None` where
/// nothing is weighed, or the liquid's density is not known.
fn weighed<'a>(engine: &Engine, at: ExpectedAt<'a>) -> Option<(ExpectedAt<'a>, f64)> {
    let kind = engine.kind_of(at.spot);
    match (at.kind, kind) {
        (QuantityKind::Mass, QuantityKind::Volume) => {
            Some((ExpectedAt { kind, ..at }, one_cc(engine)?))
        }
        _ => None,
    }
}

/// What one cc of the liquid weighs, g.
fn one_cc(engine: &Engine) -> Option<f64> {
    let liquid = &engine.liquid;
    let density = liquid.density.map(|stated| stated.value);
    Some(1e-3 * density.or(liquid.water.then_some(998.0))?)
}

struct Known<'a> {
    engine: &'a Engine,
    view: &'a JobView,
    stage: &'a str,
    spot: &'a Spot,
    kind: QuantityKind,
}

impl<'a> Known<'a> {
    fn of(engine: &'a Engine, view: &'a JobView, at: ExpectedAt<'a>) -> Known<'a> {
        Known {
            engine,
            view,
            stage: at.stage,
            spot: at.spot,
            kind: at.kind,
        }
    }

    fn plain(&self, expected: ExpectedBounds, source: ExpectationSource) -> Expectation {
        Expectation {
            expected,
            confirmed: Vec::new(),
            source,
            unit: self.unit(),
        }
    }

    fn unit(&self) -> Unit {
        match self.kind {
            QuantityKind::Length => self.engine.units.length(),
            QuantityKind::Pressure => self.engine.pressure_unit(),
            QuantityKind::Flow => self.engine.flow_unit(),
            QuantityKind::Mass => Unit::Gram,
            _ => Unit::CubicCentimetre,
        }
    }

    /// A reading's value in the base unit of the gauge's kind; `None` where the reading is of
    /// another kind. A volume that was weighed is one.
    fn value(&self, kept: &KeptReading) -> Option<f64> {
        let unit: Unit = kept.unit.parse().ok()?;
        let base = unit.to_base(kept.value);
        match (unit.kind(), self.kind) {
            (of, wanted) if of == wanted => Some(base),
            (QuantityKind::Mass, QuantityKind::Volume) => Some(base / one_cc(self.engine)?),
            _ => None,
        }
    }

    /// The readings that count at a spot, the newest first.
    fn newest_at(&self, stage: &str, spot: &Spot) -> impl Iterator<Item = &KeptReading> {
        self.view.newest_at(stage, &spot.to_string())
    }

    /// The middle one of the newest values at the spot from rounds before this one.
    fn middle_of_earlier(&self, round: u32) -> Option<f64> {
        let earlier = self
            .newest_at(self.stage, self.spot)
            .filter(|kept| kept.round.unwrap_or(1) < round);
        let values = earlier.take(NEWEST).filter_map(|kept| self.value(kept));
        median(values.collect())
    }

    fn earlier_round(&self, round: u32) -> Option<Expectation> {
        let middle = self.middle_of_earlier(round)?;
        let around = |middle| ExpectedBounds::around(middle, (REPEAT * middle).max(LEAST_CC));
        let others = self.brothers().map(|it| around(it.expected.middle));
        Some(self.plain(around(middle), self.source_of_earlier(round, others)))
    }

    /// Where the middle of the earlier values comes from. `others` is where a repeat of the other
    /// cylinders' middle would lie: it supports an earlier value that lies there.
    fn source_of_earlier(&self, round: u32, others: Option<ExpectedBounds>) -> ExpectationSource {
        let earlier = self.newest_at(self.stage, self.spot);
        let mut earlier = earlier.filter(|kept| kept.round.unwrap_or(1) < round);
        let (Some(only), None) = (earlier.next(), earlier.next()) else {
            return ExpectationSource::EarlierRound;
        };
        let value = self.value(only);
        let agrees = value
            .zip(others)
            .is_some_and(|(value, others)| others.holds(value));
        if agrees || only.labels.contains_key(ASKED) {
            return ExpectationSource::EarlierRound;
        }
        let number = (!self.view.several_measure()).then_some(only.number);
        ExpectationSource::LoneEarlier { number }
    }

    fn brothers(&self) -> Option<Expectation> {
        let cylinder = self.spot.cylinder()?;
        let of = |cylinders: &[u32]| {
            let others = cylinders.iter().filter(|other| **other != cylinder);
            others
                .filter_map(|other| self.brother(*other))
                .collect::<Vec<_>>()
        };
        let head = self.engine.bank_of(cylinder);
        let mut found = of(head.map_or(&[], |bank| &bank.cylinders));
        if found.is_empty() {
            found = of(&(1..=self.engine.cylinders).collect::<Vec<_>>());
        }
        let count = found.len();
        let middle = median(found.iter().map(|(value, _)| *value).collect())?;
        let around = |value: f64| ExpectedBounds::around(value, BROTHERS * value);
        let confirmed = found.iter().filter(|(_, confirmed)| *confirmed);
        Some(Expectation {
            expected: around(middle),
            confirmed: confirmed.map(|(value, _)| around(*value)).collect(),
            source: ExpectationSource::Brothers { count },
            unit: self.unit(),
        })
    }

    /// The latest value of another cylinder at this stage, and whether a person confirmed it.
    fn brother(&self, cylinder: u32) -> Option<(f64, bool)> {
        let spot = Spot::Chamber { cylinder };
        let kept = self.newest_at(self.stage, &spot).next()?;
        Some((self.value(kept)?, kept.labels.contains_key(ASKED)))
    }

    /// The chamber before the last cut, less what the cut took. A cut that changed the chamber by
    /// no stated amount (ported, valves sunk) makes the old value useless.
    fn before_cut(&self) -> Option<Expectation> {
        let stages = self.view.stages();
        let at = stages.iter().position(|one| one.name == self.stage)?;
        let (last, earlier) = stages.get(..=at)?.split_last()?;
        let cut = last.cut.as_ref()?;
        let before = self.newest_at(&earlier.last()?.name, self.spot);
        let values = before.take(NEWEST).filter_map(|kept| self.value(kept));
        let before = median(values.collect())?;
        // A cut may name its cylinders, or the engine file may for the stage of its name.
        let mut listed = self.engine.stages.iter();
        let listed = listed.find(|stage| stage.name == self.stage);
        let untouched = !cut.changes.is_empty() && !cut.changes.iter().any(|c| c == "chamber")
            || listed.is_some_and(|stage| !stage.changed(self.spot));
        if untouched {
            let expected = ExpectedBounds::around(before, (REPEAT * before).max(LEAST_CC));
            return Some(self.plain(expected, ExpectationSource::BeforeCut));
        }
        let depths = cut.depths.iter().map(|cut| {
            let unit: Unit = cut.unit.parse().ok()?;
            Some(unit.to_base(cut.depth))
        });
        let deepest = depths.collect::<Option<Vec<f64>>>()?;
        let deepest = deepest.into_iter().reduce(f64::max)?;
        let stated = self.engine.head.opening_area;
        let (least, most) = match (stated, self.engine.bore) {
            (Some(area), _) => (area.value, area.value),
            (None, Some(bore)) => {
                let bore = std::f64::consts::FRAC_PI_4 * bore.value.powi(2);
                (OPENING * bore, bore)
            }
            (None, None) => return None,
        };
        // mm² · mm = mm³ = 0.001 cc; a balance shows at most as many grams.
        let margin = (REPEAT * before).max(LEAST_CC);
        let expected = ExpectedBounds {
            low: before - 1e-3 * most * deepest - margin,
            middle: before - 1e-3 * 0.5 * (least + most) * deepest,
            // A cut takes metal away: the chamber is smaller by a good part of what the depth takes,
            // whatever else the rounds repeat to.
            high: before - 1e-3 * 0.5 * least * deepest + 2.8 * rounds::REPEATS_CC,
        };
        Some(self.plain(expected, ExpectationSource::BeforeCut))
    }

    /// The nominal value, unless a person confirmed a value of this stage: a confirmed reading
    /// outranks the nominal value.
    fn nominal(&self) -> Option<Expectation> {
        let family = self.spot.family().name();
        let outranked = self.view.newest_of(self.stage, family).any(|(_, kept)| {
            let mut newest = kept.take(NEWEST);
            newest.any(|kept| kept.labels.contains_key(ASKED))
        });
        let nominal = self.engine.head.nominal_chamber?.value;
        if outranked {
            return None;
        }
        let around = ExpectedBounds::around(nominal, NOMINAL * nominal);
        // What a gram of an unknown liquid fills is not known.
        let volume = self.kind != QuantityKind::Mass;
        volume.then(|| self.plain(around, ExpectationSource::Nominal))
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    match n {
        0 => None,
        _ if n % 2 == 1 => Some(values[n / 2]),
        _ => Some(0.5 * (values[n / 2 - 1] + values[n / 2])),
    }
}
