//! Verdicts on one figure of one cylinder against the least and the most that the engine file
//! allows: chamber, deck, compression, quench.
//!
//! A figure meets a limit, or exceeds it, only by more than its expanded uncertainty (ISO 14253-1).
//! This module does not know of spreads.

use super::document::{ToleranceName, ToleranceVerdict};
use super::lacking;
use super::words::told_apart;
use crate::decide::{Verdict, VerdictAnswer, VerdictLimits, unless_off_by, verdict};
use crate::engine::{Engine, StatedValue};
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::{Estimate, Figure, SourceKind};
use crate::units::Unit;

/// What the engine file allows one figure of each cylinder, in the unit in which it is judged.
pub(super) struct SingleLimits {
    about: ToleranceName,
    /// What it is called in a sentence.
    name: String,
    least: Option<f64>,
    most: Option<f64>,
    unit: Unit,
}

/// One figure against one of its limits.
struct LimitSide<'a> {
    /// Which point of the part it is taken at; empty where there is only one.
    place: &'static str,
    estimate: &'a Estimate,
    limit: f64,
    limits: VerdictLimits,
}

/// The verdicts on the single figures of all cylinders whose figures are known.
pub(super) fn verdicts(engine: &Engine, state: &EngineFigures) -> Vec<ToleranceVerdict> {
    let allowed = &engine.tolerances;
    let length = engine.units.length();
    let limits = |about, name, (least, most), unit: Unit| {
        let shown = |stated: StatedValue| unit.difference_from_base(stated.value);
        let allowed: [Option<StatedValue>; 2] = [least, most];
        SingleLimits::new(about, name, allowed.map(|limit| limit.map(shown)), unit)
    };
    let chamber = limits(
        ToleranceName::Chamber,
        "chamber",
        (allowed.least_chamber, allowed.most_chamber),
        Unit::CubicCentimetre,
    );
    let deck = limits(
        ToleranceName::Deck,
        "deck clearance",
        (allowed.least_deck, allowed.most_deck),
        length,
    );
    let compression = limits(
        ToleranceName::Compression,
        "compression",
        (allowed.least_compression, allowed.most_compression),
        Unit::One,
    );
    let quench = limits(
        ToleranceName::Quench,
        "quench distance",
        (allowed.least_quench, allowed.most_quench),
        length,
    );
    let all = &state.cylinders;
    let each = |of: &SingleLimits, get: &dyn Fn(&CylinderFigures) -> Option<Estimate>| {
        let judge = |one: &CylinderFigures| {
            let figure = get(one)?;
            of.judged(Some(one.number), ("", &figure), ("", &figure))
        };
        all.iter().filter_map(judge).collect::<Vec<_>>()
    };
    let mut found = each(&chamber, &|one| one.chamber.clone());
    found.extend(each(&deck, &|one| one.deck.clone()));
    found.extend(each(&compression, &CylinderFigures::ratio));
    // The least is kept to by the nearest point of the piston, the most by its mean.
    found.extend(all.iter().filter_map(|one| {
        let (mean, nearest) = (one.quench()?, one.nearest_quench()?);
        let places = match nearest.value() == mean.value() {
            true => ["", ""],
            false => ["nearest point ", "mean "],
        };
        quench.judged(Some(one.number), (places[0], &nearest), (places[1], &mean))
    }));
    found
}

/// Whether a figure rests on what was set up once only, with nothing said of how that repeats.
fn not_repeated(figure: &Estimate) -> bool {
    let lacking = figure.lacking();
    lacking
        .iter()
        .any(|source| source.id.what == SourceKind::NotRepeated)
}

impl SingleLimits {
    /// The least and the most of a figure, in `unit`; `name` stands in sentences.
    pub(super) fn new(
        about: ToleranceName,
        name: &str,
        [least, most]: [Option<f64>; 2],
        unit: Unit,
    ) -> SingleLimits {
        SingleLimits {
            about,
            name: name.to_owned(),
            least,
            most,
            unit,
        }
    }

    /// The verdict on one cylinder: the least judged by the first figure, the most by the second.
    /// `None` without a limit.
    pub(super) fn judged(
        &self,
        cylinder: Option<u32>,
        for_least: (&'static str, &Estimate),
        for_most: (&'static str, &Estimate),
    ) -> Option<ToleranceVerdict> {
        let side = |(place, estimate), limit: f64, limits| LimitSide {
            place,
            estimate,
            limit,
            limits,
        };
        let least = self.least.map(|limit| {
            let limits = VerdictLimits {
                least: Some(limit),
                most: None,
            };
            side(for_least, limit, limits)
        });
        let most = self.most.map(|limit| {
            let limits = VerdictLimits {
                least: None,
                most: Some(limit),
            };
            side(for_most, limit, limits)
        });
        let sides: Vec<(LimitSide<'_>, Figure, Verdict)> = least
            .into_iter()
            .chain(most)
            .map(|side| {
                let figure = side.estimate.figure(self.unit);
                let found = verdict(&figure, side.limits);
                (side, figure, found)
            })
            .collect();
        let with = |answer| sides.iter().find(|(.., found)| found.answer == answer);
        let (side, figure, found) = with(VerdictAnswer::Outside)
            .or_else(|| with(VerdictAnswer::CannotTell))
            .or(sides.first())?;
        let assumed = lacking::words([side.estimate]);
        let unless = unless_off_by(figure, side.limits);
        Some(ToleranceVerdict {
            about: self.about,
            cylinder,
            spot: None,
            answer: found.answer,
            not_repeated: found.answer == VerdictAnswer::CannotTell
                && unless.is_none()
                && not_repeated(side.estimate),
            unless_off_by: unless.map(|off| Figure::bare(off, self.unit)),
            text: self.text(side, figure, found, unless)
                + &lacking::with_assumed(
                    found.answer,
                    &assumed,
                    unless.map(|off| self.with_unit(format!("{off:.*}", self.decimals()))),
                ),
            assumed,
            measure_again: Vec::new(),
        })
    }

    /// The verdict in words, with the figure at 95 % and the limit.
    fn text(
        &self,
        side: &LimitSide<'_>,
        figure: &Figure,
        found: &Verdict,
        unless: Option<f64>,
    ) -> String {
        let name = &self.name;
        let text = match found.answer {
            VerdictAnswer::Within => format!("the {name} is within its limits"),
            VerdictAnswer::Outside => format!("the {name} is outside its limits"),
            VerdictAnswer::CannotTell if found.expanded.is_none() => format!(
                "the uncertainty of the {name} is not known; a second round tells how far set-ups differ"
            ),
            VerdictAnswer::CannotTell if unless.is_some() => {
                format!("what is known puts the {name} within its limit")
            }
            VerdictAnswer::CannotTell if not_repeated(side.estimate) => format!(
                "not repeated: how far set-ups of the {name} differ is not known, and it is too close to a limit to do without; a second round tells"
            ),
            VerdictAnswer::CannotTell => {
                "too close to a limit to call with these gauges".to_owned()
            }
        };
        let digits = self.decimals();
        let [value, limit] = told_apart([figure.value, side.limit], digits);
        let expanded = figure
            .expanded_known()
            .map_or(String::new(), |all| format!(" ± {all:.digits$}"));
        format!(
            "{text} ({}{}, limit {limit})",
            side.place,
            self.with_unit(format!("{value}{expanded}"))
        )
    }

    fn with_unit(&self, number: String) -> String {
        match self.unit {
            Unit::One => number,
            unit => format!("{number} {unit}"),
        }
    }

    /// Decimals that tell a limit of the trade apart: a ten-thousandth of an inch, a hundredth of
    /// a cc.
    fn decimals(&self) -> usize {
        match self.unit {
            Unit::Inch => 4,
            Unit::Millimetre => 3,
            Unit::Thou => 1,
            _ => 2,
        }
    }
}
