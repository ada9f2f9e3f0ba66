//! The table of the cylinders, their means and spreads, and the dimensions used.

use benchhand_blueprint as blueprint;
use blueprint::report::{CylinderReport, DimensionUsed, InputsUsed, ReportSummary};

use super::only::ReportSection;
use super::{Column, column, headings, shown, table, unit_heading};
use crate::digits::rounded_like_u;
use crate::stated::{LEGEND, sentence};
use crate::told::{ToldTable, ToldText};

/// Columns that are always shown, even without figures.
const ALWAYS: [Column<CylinderReport>; 5] = [
    column("chamber", |one| one.chamber.clone()),
    column("deck", |one| one.deck.clone()),
    column("dome/dish", |one| one.crown.clone()),
    column("total\nat TDC", |one| one.clearance.clone()),
    column("compression", |one| one.compression.clone()),
];

/// Columns that are shown if any cylinder has a figure.
const WHERE_KNOWN: [Column<CylinderReport>; 3] = [
    column("quench", |one| one.quench.clone()),
    column("rock", |one| one.rock.clone()),
    column("deck\nfrom parts", |one| one.deck_from_parts.clone()),
];

/// Whether a column or row belongs to one of these sections.
fn wanted(name: &str, only: &[ReportSection]) -> bool {
    let section = match name {
        "chamber" => ReportSection::Chambers,
        "dome/dish" => ReportSection::Crowns,
        "total\nat TDC" | "compression" => ReportSection::Compression,
        _ => ReportSection::Deck,
    };
    only.is_empty() || only.contains(&section)
}

/// The cylinders.
pub(super) fn each(rows: &[CylinderReport], only: &[ReportSection]) -> ToldText {
    let known = WHERE_KNOWN.iter().filter(|column| column.used(rows));
    let columns: Vec<_> = ALWAYS
        .iter()
        .chain(known)
        .filter(|column| wanted(column.name, only))
        .collect();
    let parts = rows
        .iter()
        .any(|one| one.piston_part.is_some() || one.rod_part.is_some());
    let mut names = headings([">cylinder", "bank"]);
    if parts {
        names.push("piston, rod".to_owned());
    }
    let table = table(names, &columns, rows, |one| {
        let mut cells = vec![one.cylinder.to_string(), one.bank.clone()];
        if parts {
            let name = |part: &Option<String>| part.clone().unwrap_or_else(|| "?".to_owned());
            cells.push(format!(
                "{}, {}",
                name(&one.piston_part),
                name(&one.rod_part)
            ));
        }
        cells
    });
    let mut told = ToldText::default();
    told += table;
    told += LEGEND;
    told += "\n";
    told
}

/// Means and spreads, each with its number of cylinders. Beside each spread stands the spread
/// that repeat scatter alone would give.
pub(super) fn summary(
    summary: &ReportSummary,
    cylinders: usize,
    only: &[ReportSection],
) -> ToldText {
    let mut table = ToldTable::new(&[
        "",
        ">mean",
        ">spread\nmax − min",
        ">repeat scatter\nalone would give",
        "unit",
        ">cylinders",
    ]);
    let (counts, equals) = (&summary.counts, &summary.spreads_of_equals);
    let ReportSummary {
        chamber_mean,
        chamber_spread,
        deck_mean,
        deck_spread,
        ..
    } = summary.clone();
    let ReportSummary {
        crown_mean,
        crown_spread,
        compression_mean,
        compression_spread,
        ..
    } = summary.clone();
    for (name, mean, spread, equal, count) in [
        (
            "chamber",
            chamber_mean,
            chamber_spread,
            equals.chamber.clone(),
            counts.chamber,
        ),
        (
            "deck",
            deck_mean,
            deck_spread,
            equals.deck.clone(),
            counts.deck,
        ),
        (
            "dome/dish",
            crown_mean,
            crown_spread,
            equals.crown.clone(),
            counts.crown,
        ),
        (
            "compression",
            compression_mean,
            compression_spread,
            equals.compression.clone(),
            counts.compression,
        ),
    ] {
        if !wanted(name, only) {
            continue;
        }
        let unit = mean
            .as_ref()
            .or(spread.as_ref())
            .map(|figure| unit_heading(figure.unit))
            .unwrap_or_default();
        table.row(vec![
            name.to_owned(),
            shown(mean.as_ref()),
            shown(spread.as_ref()),
            equal
                .filter(|equal| equal.value > 0.0)
                .map_or_else(|| "?".to_owned(), |equal| rounded_like_u(equal.value)),
            unit,
            format!("{count} of {cylinders}"),
        ]);
    }
    let mut told = ToldText::default();
    told += table;
    if let Some(displacement) = summary
        .displacement
        .clone()
        .filter(|_| wanted("compression", only))
    {
        told += format!("Displacement {}\n", sentence(&displacement));
    }
    told
}

/// The dimensions used.
pub(super) fn based_on(inputs: &InputsUsed) -> ToldText {
    let known = |name: &str, value: blueprint::Figure| {
        let key = name.replace(' ', "_");
        let differs = |other: &DimensionUsed| key.starts_with(other.name());
        let which = match inputs.means_of_cylinders.iter().any(differs) {
            true => ", mean of the cylinders, which differ",
            false => "",
        };
        format!("  {name} {}{which}\n", sentence(&value))
    };
    let mut told = ToldText::titled("Based on");
    for (name, value, unknown) in [
        ("bore", inputs.bore.clone(), "not known"),
        ("stroke", inputs.stroke.clone(), "not known"),
        ("gasket bore", inputs.gasket_bore.clone(), "not known"),
        (
            "gasket thickness",
            inputs.gasket_thickness.clone(),
            "not known",
        ),
        (
            "volume above the top ring",
            inputs.crevice.clone(),
            "not counted",
        ),
    ] {
        told += match value {
            Some(value) => known(name, value),
            None => format!("  {name} {unknown}\n"),
        };
    }
    told
}
