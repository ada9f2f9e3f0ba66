//! Verdicts on the tolerances that the engine file states, and what these gauges would show on
//! equal parts.

use super::document::{SpreadsOfEquals, ToleranceName, ToleranceVerdict};
use super::lacking;
use super::single_limits;
use super::words::in_unit;
use crate::decide::{
    NextCandidate, NextGoal, SpreadVerdict, VerdictAnswer, expected_spread_of_equals, next_reading,
    spread_verdict,
};
use crate::engine::{Engine, LengthUnits, StatedValue};
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::{Estimate, Figure, SourceKind};
use crate::units::Unit;

/// Draws of each simulation, and its seed: the same report says the same again.
const TRIALS: usize = 2000;
const SEED: u64 = 14_253;

/// How many of the readings that would help are named.
const NAMED: usize = 3;

/// The spreads that these gauges would show on equal parts.
pub(super) fn spreads_of_equals(known: &[CylinderFigures], units: LengthUnits) -> SpreadsOfEquals {
    let of = |get: &dyn Fn(&CylinderFigures) -> Option<Estimate>, unit: Unit| {
        let values: Vec<Estimate> = known.iter().filter_map(get).collect();
        spread_of_equals(&values, unit)
    };
    SpreadsOfEquals {
        chamber: of(&|one| one.chamber.clone(), Unit::CubicCentimetre),
        deck: of(&|one| one.deck.clone(), units.length()),
        crown: of(&|one| one.crown.clone(), Unit::CubicCentimetre),
        compression: of(&CylinderFigures::ratio, Unit::One),
    }
}

/// The spread that these gauges would show on equal parts, of some values.
pub(super) fn spread_of_equals(values: &[Estimate], unit: Unit) -> Option<Figure> {
    let spread = expected_spread_of_equals(values, TRIALS, SEED)?;
    // An assumed width is no property of these gauges.
    let known = lacking::words(&against_mean(values)).is_empty();
    known.then(|| Figure::bare(unit.difference_from_base(spread), unit))
}

/// The verdicts on all tolerances that are stated and whose figures are known.
pub(super) fn verdicts(engine: &Engine, state: &EngineFigures) -> Vec<ToleranceVerdict> {
    let stated = &engine.tolerances;
    let length = engine.units.length();
    let cc = Unit::CubicCentimetre;
    let spread = |about, stated, get, unit, goal| Spread {
        about,
        stated,
        get,
        unit,
        goal,
    };
    let spreads: [Spread<'_>; 4] = [
        spread(
            ToleranceName::ChamberSpread,
            stated.chamber_spread,
            &|one| one.chamber.clone(),
            cc,
            Some(NextGoal::ChamberSpread),
        ),
        spread(
            ToleranceName::DeckSpread,
            stated.deck_spread,
            &|one| one.deck.clone(),
            length,
            Some(NextGoal::DeckSpread),
        ),
        spread(
            ToleranceName::CrownSpread,
            stated.crown_spread,
            &|one| one.crown.clone(),
            cc,
            None,
        ),
        spread(
            ToleranceName::CompressionSpread,
            stated.compression_spread,
            &CylinderFigures::ratio,
            Unit::One,
            Some(NextGoal::CompressionSpread),
        ),
    ];
    let mut all: Vec<ToleranceVerdict> = spreads
        .iter()
        .filter_map(|spread| spread.judged(state))
        .collect();
    all.extend(single_limits::verdicts(engine, state));
    all
}

/// A spread that is to be judged, and how the figure of each cylinder is taken.
struct Spread<'a> {
    about: ToleranceName,
    stated: Option<StatedValue>,
    get: &'a dyn Fn(&CylinderFigures) -> Option<Estimate>,
    unit: Unit,
    goal: Option<NextGoal>,
}

impl Spread<'_> {
    /// The verdict, if a tolerance is stated and there are at least two figures.
    fn judged(&self, state: &EngineFigures) -> Option<ToleranceVerdict> {
        let values: Vec<Estimate> = state.cylinders.iter().filter_map(self.get).collect();
        let tolerance = SpreadTolerance {
            about: self.about,
            allowed: self.stated?.value,
            unit: self.unit,
        };
        let again = || {
            let goal = self.goal.map(|goal| next_reading(state, goal));
            named(&goal.unwrap_or_default())
        };
        tolerance.judged(&values, again)
    }
}

/// The most that some values may differ, largest less smallest.
pub(super) struct SpreadTolerance {
    pub(super) about: ToleranceName,
    /// In the base unit.
    pub(super) allowed: f64,
    /// The unit in which it is told.
    pub(super) unit: Unit,
}

impl SpreadTolerance {
    /// The verdict on these values; `None` for fewer than two. `again` names the readings that would
    /// settle it soonest, where it cannot be told.
    pub(super) fn judged(
        &self,
        values: &[Estimate],
        again: impl FnOnce() -> Vec<String>,
    ) -> Option<ToleranceVerdict> {
        let mut found = spread_verdict(values, self.allowed, TRIALS, SEED)?;
        let deviations = against_mean(values);
        let assumed = lacking::words(&deviations);
        let not_repeated = deviations
            .iter()
            .flat_map(Estimate::lacking)
            .any(|source| source.id.what == SourceKind::NotRepeated);
        // Where nobody compared set-ups, nothing can be told: neither of a spread that is within
        // only by an assumed width, nor of one that the assumed width brings too close.
        let untold = not_repeated && found.answer != VerdictAnswer::Outside;
        if untold {
            found.answer = VerdictAnswer::CannotTell;
        }
        let measure_again = match found.answer {
            VerdictAnswer::CannotTell => again(),
            _ => Vec::new(),
        };
        Some(ToleranceVerdict {
            about: self.about,
            cylinder: None,
            spot: None,
            answer: found.answer,
            not_repeated: untold,
            unless_off_by: None,
            text: match untold {
                true => format!(
                    "not repeated: nobody stated or showed how far set-ups differ, so that a spread of {} tells nothing yet; a second round does",
                    in_unit([self.unit.difference_from_base(found.spread)], self.unit)[0]
                ),
                false => {
                    spread_text(&found, self.unit)
                        + &lacking::with_assumed(found.answer, &assumed, None)
                }
            },
            assumed,
            measure_again,
        })
    }
}

fn named(candidates: &[NextCandidate]) -> Vec<String> {
    candidates
        .iter()
        .take(NAMED)
        .map(|candidate| candidate.spot.to_string())
        .collect()
}

/// Each value less the mean of all. An error that all values share cancels.
fn against_mean(values: &[Estimate]) -> Vec<Estimate> {
    let Some(mean) = Estimate::mean(values) else {
        return Vec::new();
    };
    let against = |value: &Estimate| value - &mean;
    values.iter().map(against).collect()
}

fn spread_text(found: &SpreadVerdict, unit: Unit) -> String {
    let shown = |base: f64| unit.difference_from_base(base);
    let [spread, tolerance] = in_unit([shown(found.spread), shown(found.tolerance)], unit);
    let equals = found.of_equals.map_or(String::new(), |equals| {
        let [equals] = in_unit([shown(equals)], unit);
        format!("; repeat scatter alone would give about {equals}")
    });
    match found.answer {
        VerdictAnswer::Within => {
            format!("the spread of {spread} is within {tolerance}{equals}")
        }
        VerdictAnswer::Outside => {
            format!("the spread of {spread} exceeds {tolerance}{equals}")
        }
        VerdictAnswer::CannotTell if found.of_equals.is_none() => format!(
            "nothing is known of an uncertainty behind the spread of {spread} (tolerance {tolerance}); a second round, or what is known of the gauge, tells"
        ),
        VerdictAnswer::CannotTell => format!(
            "the spread of {spread} is too close to {tolerance} to call with these gauges{equals}"
        ),
    }
}
