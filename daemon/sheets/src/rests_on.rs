//! What the compression of a build sheet rests on, and how its tolerances were judged.

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{BudgetShare, DimensionUsed, ToleranceName, ToleranceVerdict};
use benchhand_words::digits::rounded_like_u;
use benchhand_words::spot_said;
use benchhand_words::stated::sentence;

use crate::facts::SheetFacts;

/// How many shares of the compression's uncertainty are told.
const MOST_SHARES: usize = 6;

/// The verdicts in words; those of single cylinders only where they are not within.
pub(crate) fn verdicts(all: &[ToleranceVerdict]) -> Vec<String> {
    let told =
        |one: &&ToleranceVerdict| one.cylinder.is_none() || one.answer != VerdictAnswer::Within;
    let named = |one: &ToleranceVerdict| {
        if let Some(free) = &one.spot {
            return format!("{}: {}", spot_said(&free.to_string()), one.text);
        }
        let about = match one.about {
            ToleranceName::ChamberSpread => "Chambers",
            ToleranceName::DeckSpread => "Decks",
            ToleranceName::CrownSpread => "Domes or dishes",
            ToleranceName::CompressionSpread => "Compression",
            ToleranceName::Quench => "Quench",
            ToleranceName::Chamber => "Chamber",
            ToleranceName::Deck => "Deck",
            ToleranceName::Compression => "Compression",
            ToleranceName::Free | ToleranceName::FreeSpread => "Free spots",
        };
        let of = one
            .cylinder
            .map_or(String::new(), |cylinder| format!(" of {cylinder}"));
        format!("{about}{of}: {}", one.text)
    };
    all.iter().filter(told).map(named).collect()
}

/// The dimensions that the compression rests on.
pub(crate) fn inputs(facts: &SheetFacts<'_>) -> Vec<(&'static str, String)> {
    let used = &facts.report.inputs;
    let all = [
        ("Bore", &used.bore, DimensionUsed::Bore),
        ("Stroke", &used.stroke, DimensionUsed::Stroke),
        (
            "Gasket opening",
            &used.gasket_bore,
            DimensionUsed::GasketBore,
        ),
        (
            "Gasket, compressed",
            &used.gasket_thickness,
            DimensionUsed::GasketThickness,
        ),
        (
            "Volume above the top ring",
            &used.crevice,
            DimensionUsed::Crevice,
        ),
    ];
    all.into_iter()
        .map(|(name, figure, dimension)| {
            let average = match used.means_of_cylinders.contains(&dimension) {
                true => ", average of the cylinders",
                false => "",
            };
            let text = match (figure, dimension) {
                (Some(figure), _) => format!("{}{average}", sentence(figure)),
                (None, DimensionUsed::Crevice) => "not counted".to_owned(),
                (None, _) => "not known".to_owned(),
            };
            (name, text)
        })
        .collect()
}

/// A source of error as a builder says it: `chamber/1 3 repeatability` is `chamber 1 (entry 3)
/// repeatability`.
fn source(name: &str) -> String {
    let said = |word: &str| match word {
        "crevice" => "volume above the top ring".to_owned(),
        spot if spot.contains('/') => spot_said(spot),
        // Not the number for people: a reading and a zeroing are both entries of the record.
        entry if entry.parse::<u64>().is_ok() => format!("(entry {entry})"),
        other => other.to_owned(),
    };
    name.split(' ').map(said).collect::<Vec<_>>().join(" ")
}

/// What makes most of the compression's ±, of the first cylinder that has one.
pub(crate) fn shares(facts: &SheetFacts<'_>) -> (String, Vec<(String, String)>) {
    let mut cylinders = facts.report.cylinders.iter();
    let Some(one) = cylinders.find(|one| !one.compression_budget.is_empty()) else {
        return (String::new(), Vec::new());
    };
    let k = one.compression_expanded.map_or(2.0, |expanded| expanded.k);
    let share = |share: &BudgetShare| {
        let width = share.contribution.as_ref().map(|figure| k * figure.value);
        let width = width.map_or("?".to_owned(), |width| match width > 0.0 {
            true => format!("± {}", rounded_like_u(width)),
            false => "0".to_owned(),
        });
        (source(&share.source), width)
    };
    let all = one.compression_budget.iter().take(MOST_SHARES).map(share);
    (format!("cylinder {}", one.cylinder), all.collect())
}
