//! Free spots in the short report: a line each, and what is wrong with single ones.

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{FreeReport, Report, ToleranceName, ToleranceVerdict};
use benchhand_blueprint::spot::Spot;

use super::averages::{unit, word};
use super::document::{AverageRow, CheckRow, JudgedAverage};
use crate::rows::numbers;
use crate::spots::{self, capital};
use crate::stated::{both, plain};

/// Columns that a free spot's title has in the table of averages.
const ROOM: usize = 20;

/// What a verdict on a free spot is about, without its cylinder: "spring height intake", and of a
/// spread "spring height intake spread".
pub(crate) fn about(spot: &Spot, about: ToleranceName) -> String {
    let whole = match spot {
        Spot::Free { name, at, .. } => Spot::Free {
            name: name.clone(),
            cylinder: None,
            at: at.clone(),
        },
        other => other.clone(),
    };
    let said = spots::said(&whole.to_string());
    match about {
        ToleranceName::FreeSpread => format!("{said} spread"),
        _ => said,
    }
}

/// Title and place of some free spots.
fn title(one: &FreeReport) -> String {
    match &one.at {
        Some(at) => format!("{} {at}", one.title),
        None => one.title.clone(),
    }
}

/// The same for a row: a title that is too long is cut, its place is not.
fn row_name(one: &FreeReport) -> String {
    let place = one.at.as_ref().map_or(String::new(), |at| format!(" {at}"));
    let room = ROOM.saturating_sub(place.chars().count()).max(4);
    let title = capital(&one.title);
    match title.chars().count() > room {
        true => {
            title
                .chars()
                .take(room - 1)
                .chain(['…'])
                .collect::<String>()
                + &place
        }
        false => title + &place,
    }
}

/// The verdicts on the spots of one name and place.
fn verdicts_on<'a>(
    report: &'a Report,
    one: &'a FreeReport,
    about: ToleranceName,
) -> impl Iterator<Item = &'a ToleranceVerdict> {
    report.verdicts.iter().filter(move |verdict| {
        let same = match &verdict.spot {
            // Where they belong to no cylinder, the places are what is compared.
            Some(Spot::Free { name, cylinder, at }) => {
                *name == one.name && (one.at.is_none() && cylinder.is_none() || *at == one.at)
            }
            _ => false,
        };
        same && verdict.about == about
    })
}

/// The rows of those that were measured, in the table of averages.
pub(super) fn averages(report: &Report) -> Vec<AverageRow> {
    let row = |one: &FreeReport| {
        let mean = one.mean.as_ref()?;
        let name = row_name(one);
        let verdict = verdicts_on(report, one, ToleranceName::FreeSpread).next();
        let over = match one.measured.len() == one.spots {
            true => String::new(),
            false => format!("{} of {}", one.measured.len(), one.spots),
        };
        Some(AverageRow {
            name,
            family: format!("free/{}", one.name),
            unit: unit(mean.unit.symbol()),
            mean: both(mean),
            over,
            spread: one.spread.as_ref().map(both).unwrap_or_default(),
            allowed: one.allowed_spread.as_ref().map(plain).unwrap_or_default(),
            judged: verdict.map(|verdict| JudgedAverage {
                words: word(verdict),
                answer: verdict.answer,
            }),
            target: None,
        })
    };
    report.free.iter().filter_map(row).collect()
}

/// Each free spot against its limits, in a sentence for a name and place; marked where any is NOT
/// OK.
pub(super) fn judged(report: &Report) -> Vec<CheckRow> {
    let row = |one: &FreeReport| {
        let mut judged: Vec<(&str, Vec<&ToleranceVerdict>)> = Vec::new();
        for verdict in verdicts_on(report, one, ToleranceName::Free) {
            let word = word(verdict);
            match judged.iter_mut().find(|(known, _)| *known == word) {
                Some((_, verdicts)) => verdicts.push(verdict),
                None => judged.push((word, vec![verdict])),
            }
        }
        let marked = judged.iter().flat_map(|(_, verdicts)| verdicts);
        let marked = marked
            .into_iter()
            .any(|verdict| verdict.answer == VerdictAnswer::Outside);
        let told = judged
            .iter()
            .map(|(word, verdicts)| format!("{} {word}", which(one, verdicts)));
        let told: Vec<String> = told.collect();
        (!told.is_empty()).then(|| CheckRow {
            marked,
            text: format!(
                "{} against its limits: {}.",
                capital(&title(one)),
                told.join("; ")
            ),
            spot: String::new(),
        })
    };
    report.free.iter().filter_map(row).collect()
}

/// The cylinders of some verdicts, or their places where they belong to no cylinder.
fn which(one: &FreeReport, verdicts: &[&ToleranceVerdict]) -> String {
    let cylinders: Vec<u32> = verdicts.iter().filter_map(|one| one.cylinder).collect();
    let place = |verdict: &&ToleranceVerdict| match &verdict.spot {
        Some(Spot::Free { at: Some(at), .. }) => Some(at.to_string()),
        _ => None,
    };
    match (verdicts.len() == one.spots, cylinders.is_empty()) {
        (true, _) if one.spots > 1 => "all".to_owned(),
        (true, true) => "it is".to_owned(),
        (_, true) => verdicts
            .iter()
            .filter_map(place)
            .collect::<Vec<_>>()
            .join(", "),
        (_, false) => numbers(&cylinders),
    }
}
