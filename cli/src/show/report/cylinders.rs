//! The cylinders one below the other, their means and spreads, and what they rest on.

use benchhand_blueprint as blueprint;
use blueprint::report::{CylinderReport, InputsUsed, Summary};

use super::{Column, of_wire, shown, unit_heading};
use crate::show::figure::{LEGEND, sentence};
use crate::show::table::Table;

/// The columns that everyone asks for; they stand even where nobody has a figure.
const ALWAYS: [Column<CylinderReport>; 5] = [
    Column {
        name: "chamber",
        get: |one| one.chamber,
    },
    Column {
        name: "deck",
        get: |one| one.deck,
    },
    Column {
        name: "crown",
        get: |one| one.crown,
    },
    Column {
        name: "clearance",
        get: |one| one.clearance,
    },
    Column {
        name: "compression",
        get: |one| one.compression,
    },
];

/// The columns that stand where a cylinder has them.
const WHERE_KNOWN: [Column<CylinderReport>; 2] = [
    Column {
        name: "quench",
        get: |one| one.quench,
    },
    Column {
        name: "rock",
        get: |one| one.rock,
    },
];

/// The cylinders.
pub(super) fn each(rows: &[CylinderReport]) -> String {
    let known = WHERE_KNOWN.iter().filter(|column| column.used(rows));
    let columns: Vec<_> = ALWAYS.iter().chain(known).collect();
    let mut headings = vec![">cylinder".to_owned(), "bank".to_owned()];
    headings.extend(columns.iter().map(|column| column.heading(rows)));
    let mut table = Table::new(&headings.iter().map(String::as_str).collect::<Vec<_>>());
    for one in rows {
        let mut row = vec![one.cylinder.to_string(), one.bank.clone()];
        row.extend(columns.iter().map(|column| column.cell(one)));
        table.row(row);
    }
    format!("{}{LEGEND}\n", table.text())
}

/// Means and spreads, each with the number of cylinders that it rests on.
pub(super) fn summary(summary: &Summary, cylinders: usize) -> String {
    let mut table = Table::new(&["", ">mean", ">spread\nmax − min", "unit", ">cylinders"]);
    let counts = &summary.counts;
    for (name, mean, spread, count) in [
        (
            "chamber",
            summary.chamber_mean,
            summary.chamber_spread,
            counts.chamber,
        ),
        ("deck", summary.deck_mean, summary.deck_spread, counts.deck),
        (
            "crown",
            summary.crown_mean,
            summary.crown_spread,
            counts.crown,
        ),
        (
            "compression",
            summary.compression_mean,
            summary.compression_spread,
            counts.compression,
        ),
    ] {
        let unit = mean
            .or(spread)
            .map(|figure| unit_heading(figure.unit))
            .unwrap_or_default();
        let count = format!("{count} of {cylinders}");
        table.row(vec![
            name.to_owned(),
            shown(mean),
            shown(spread),
            unit,
            count,
        ]);
    }
    let mut text = table.text();
    if let Some(displacement) = summary.displacement {
        text += &format!("Displacement {}\n", sentence(&of_wire(displacement)));
    }
    text
}

/// The dimensions that were used.
pub(super) fn rests_on(inputs: &InputsUsed) -> String {
    let known =
        |name: &str, value: blueprint::Figure| format!("  {name} {}\n", sentence(&of_wire(value)));
    let mut text = "It rests on\n".to_owned();
    text += &known("bore", inputs.bore);
    text += &known("stroke", inputs.stroke);
    for (name, value, unknown) in [
        ("gasket bore", inputs.gasket_bore, "not known"),
        ("gasket thickness", inputs.gasket_thickness, "not known"),
        ("crevice above the top ring", inputs.crevice, "not counted"),
    ] {
        text += &match value {
            Some(value) => known(name, value),
            None => format!("  {name} {unknown}\n"),
        };
    }
    text
}
