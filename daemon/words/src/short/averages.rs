//! Averages and spreads, each with what is allowed and whether it is kept to.

use benchhand_blueprint::Figure;
use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{CylinderReport, Report, ToleranceName, ToleranceVerdict};

use super::document::{AverageRow, JudgedAverage};
use crate::digits::rounded;
use crate::rows::numbers;
use crate::stated::{both, half_width, plain};

/// One row: its name, and what the report has of it.
struct Row<'a> {
    name: &'static str,
    family: &'static str,
    mean: &'a Option<Figure>,
    spread: &'a Option<Figure>,
    allowed: &'a Option<Figure>,
    tolerance: ToleranceName,
    get: fn(&CylinderReport) -> &Option<Figure>,
}

pub(super) fn rows(report: &Report) -> Vec<AverageRow> {
    judged(report)
        .iter()
        .filter_map(|row| row.told(report))
        .collect()
}

/// Whether a spread is judged OK or NOT OK although its ± reaches over what is allowed: the verdict
/// comes from a simulation of the readings, the ± from their uncertainty in first order.
pub(super) fn firmer_than_its_width(report: &Report) -> bool {
    judged(report).iter().any(|row| {
        let (Some(spread), Some(allowed)) = (row.spread, row.allowed) else {
            return false;
        };
        let width = half_width(spread).unwrap_or(f64::INFINITY);
        row.verdict(report)
            .is_some_and(|verdict| match verdict.answer {
                VerdictAnswer::Within => spread.value + width > allowed.value,
                VerdictAnswer::Outside => spread.value - width < allowed.value,
                VerdictAnswer::CannotTell => false,
            })
    })
}

fn judged(report: &Report) -> [Row<'_>; 4] {
    let (summary, limits) = (&report.summary, &report.limits);
    let row = |(name, family), mean, spread, allowed, tolerance, get| Row {
        name,
        family,
        mean,
        spread,
        allowed,
        tolerance,
        get,
    };
    [
        row(
            ("Chamber", "chamber"),
            &summary.chamber_mean,
            &summary.chamber_spread,
            &limits.chamber_spread,
            ToleranceName::ChamberSpread,
            |one| &one.chamber,
        ),
        row(
            ("Deck", "deck"),
            &summary.deck_mean,
            &summary.deck_spread,
            &limits.deck_spread,
            ToleranceName::DeckSpread,
            |one| &one.deck,
        ),
        row(
            ("Dome or dish", "crown"),
            &summary.crown_mean,
            &summary.crown_spread,
            &limits.crown_spread,
            ToleranceName::CrownSpread,
            |one| &one.crown,
        ),
        row(
            ("Compression", ""),
            &summary.compression_mean,
            &summary.compression_spread,
            &limits.compression_spread,
            ToleranceName::CompressionSpread,
            |one| &one.compression,
        ),
    ]
}

impl Row<'_> {
    /// The row; `None` where nothing of it is known.
    fn told(&self, report: &Report) -> Option<AverageRow> {
        let mean = self.mean.as_ref()?;
        let several = self.spread.as_ref().filter(|_| report.cylinders.len() > 1);
        let verdict = self.verdict(report);
        let aimed = self.tolerance == ToleranceName::CompressionSpread;
        Some(AverageRow {
            name: self.name.to_owned(),
            family: self.family.to_owned(),
            unit: unit(mean.unit.symbol()),
            mean: both(mean),
            over: self.over(report),
            spread: several.map(both).unwrap_or_default(),
            allowed: self.allowed.as_ref().map(plain).unwrap_or_default(),
            judged: verdict.map(|verdict| JudgedAverage {
                words: word(verdict),
                answer: verdict.answer,
            }),
            target: if aimed { target(report) } else { None },
        })
    }
}

impl Row<'_> {
    fn verdict<'a>(&self, report: &'a Report) -> Option<&'a ToleranceVerdict> {
        let mut verdicts = report.verdicts.iter();
        verdicts.find(|one| one.about == self.tolerance && one.cylinder.is_none())
    }

    /// The cylinders that the average is over; empty where it is over all.
    fn over(&self, report: &Report) -> String {
        let known = report.cylinders.iter();
        let known = known.filter(|one| (self.get)(one).is_some());
        let known: Vec<u32> = known.map(|one| one.cylinder).collect();
        match known.len() == report.cylinders.len() {
            true => String::new(),
            false => format!("of {} only", numbers(&known)),
        }
    }
}

/// The compression that is aimed at, under the average, and how far the average is from it. How far
/// it may be, no engine file says: whether that is well enough is not judged.
fn target(report: &Report) -> Option<(String, String)> {
    let target = report.limits.compression_target.as_ref()?;
    let mean = report.summary.compression_mean.as_ref()?;
    let off = rounded((mean.value - target.value).abs(), 2);
    let side = match mean.value < target.value {
        true => "under it",
        false => "over it",
    };
    Some((format!("target {}", plain(target)), format!("{off} {side}")))
}

/// The unit of a column; a ratio is told `:1`.
pub(super) fn unit(symbol: &str) -> String {
    match symbol {
        "1" => ":1".to_owned(),
        symbol => symbol.to_owned(),
    }
}

/// A verdict in a word.
pub fn word(verdict: &ToleranceVerdict) -> &'static str {
    match verdict.answer {
        VerdictAnswer::Within => "OK",
        VerdictAnswer::Outside => "NOT OK",
        VerdictAnswer::CannotTell if verdict.not_repeated => "not repeated",
        VerdictAnswer::CannotTell if verdict.unless_off_by.is_some() => "OK by what is known",
        VerdictAnswer::CannotTell => "too close to call",
    }
}
