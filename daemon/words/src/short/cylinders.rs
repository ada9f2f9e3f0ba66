//! One row a cylinder, and a row of ± that holds for each.

use benchhand_blueprint::Figure;
use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{CylinderReport, FindingKind, Report};

use super::averages::unit;
use super::document::{CylinderColumn, CylinderRow, CylinderRows, ShownCell};
use crate::digits::{decimals_of, rounded, usual_decimals};
use crate::spots;
use crate::stated::{half_width, width_told};

/// A column of figures, with its heading in two lines; the second ends with the unit where that is
/// not told beside it.
struct Column {
    name: [&'static str; 2],
    family: &'static str,
    /// Its name among the differences between two cylinders.
    between: &'static str,
    unit: bool,
    get: fn(&CylinderReport) -> Option<&Figure>,
}

const COLUMNS: [Column; 5] = [
    Column {
        name: ["Chamber", ""],
        family: "chamber",
        between: "chamber",
        unit: true,
        get: |one| one.chamber.as_ref(),
    },
    Column {
        name: ["Deck", ""],
        family: "deck",
        between: "deck",
        unit: true,
        get: |one| one.deck.as_ref(),
    },
    Column {
        name: ["Quench", "nearest"],
        family: "",
        between: "quench_nearest",
        unit: false,
        get: |one| one.quench_nearest.as_ref().or(one.quench.as_ref()),
    },
    Column {
        name: ["Total", "TDC"],
        family: "",
        between: "clearance",
        unit: true,
        get: |one| one.clearance.as_ref(),
    },
    Column {
        name: ["Compr.", ""],
        family: "",
        between: "compression",
        unit: true,
        get: |one| one.compression.as_ref(),
    },
];

pub(super) fn rows(report: &Report) -> Option<CylinderRows> {
    let rows = &report.cylinders;
    let mut table = CylinderRows {
        columns: Vec::new(),
        rows: rows.iter().map(|row| empty(report, row.cylinder)).collect(),
        each: Vec::new(),
        between: Vec::new(),
    };
    for column in &COLUMNS {
        if rows.iter().all(|row| (column.get)(row).is_none()) {
            continue;
        }
        column.write(report, &mut table);
        if let ("chamber", true, Some(middle)) =
            (column.family, rows.len() > 1, middle_chamber(report))
        {
            write_against(report, middle, &mut table);
        }
    }
    (!table.columns.is_empty()).then_some(table)
}

fn empty(report: &Report, cylinder: u32) -> CylinderRow {
    CylinderRow {
        cylinder,
        cells: Vec::new(),
        marks: marks(report, cylinder),
    }
}

impl Column {
    /// Writes the column: its heading, a cell a cylinder, the ± that holds for each, and the ± of the
    /// difference between two. A cell whose ± is more than twice the usual one is unsure; of the others
    /// the widest is told.
    fn write(&self, report: &Report, table: &mut CylinderRows) {
        let figures: Vec<Option<&Figure>> = report.cylinders.iter().map(self.get).collect();
        let known = || figures.iter().flatten().copied();
        let mut widths: Vec<f64> = known().filter_map(half_width).collect();
        widths.sort_by(f64::total_cmp);
        // Of two, the narrower one: else none could ever be more than twice as wide.
        let usual = widths.get(widths.len().saturating_sub(1) / 2).copied();
        let sure = widths
            .iter()
            .filter(|own| usual.is_some_and(|usual| **own <= 2.0 * usual));
        let widest = sure.copied().last();
        let symbol = known().next().map_or("", |one| one.unit.symbol());
        // No digit that the ± swallows.
        let own = widest.filter(|widest| *widest > 0.0).map(decimals_of);
        let decimals = usual_decimals(symbol);
        let decimals = own.map_or(decimals, |own| own.min(decimals));
        let unsure = |one: &Figure| {
            usual.is_some_and(|usual| half_width(one).is_none_or(|own| own > 2.0 * usual))
        };
        for (row, one) in table.rows.iter_mut().zip(&figures) {
            row.cells.push(match one {
                Some(one) => ShownCell {
                    text: rounded(one.value, decimals),
                    unsure: unsure(one),
                },
                None => unknown(),
            });
        }
        let width = widest.map_or("?".to_owned(), |widest| width_told(widest, decimals));
        let between = report.summary.between_cylinders.get(self.between);
        let between = between.map(|one| width_told(one.value, decimals));
        let second = match self.unit {
            true => format!("{} {}", self.name[1], unit(symbol)),
            false => self.name[1].to_owned(),
        };
        table.columns.push(CylinderColumn {
            heading: [self.name[0].to_owned(), second.trim().to_owned()],
            family: self.family,
        });
        table.each.push(width);
        table.between.push(between.unwrap_or_default());
    }
}

fn unknown() -> ShownCell {
    ShownCell {
        text: "-".to_owned(),
        unsure: false,
    }
}

fn write_against(report: &Report, middle: f64, table: &mut CylinderRows) {
    for (row, one) in table.rows.iter_mut().zip(&report.cylinders) {
        row.cells.push(match &one.chamber {
            Some(chamber) => ShownCell {
                text: signed(chamber.value - middle),
                unsure: false,
            },
            None => unknown(),
        });
    }
    table.columns.push(CylinderColumn {
        heading: ["Against", "middle"].map(str::to_owned),
        family: "",
    });
    table.each.push(String::new());
    table.between.push(String::new());
}

/// A difference with its sign.
fn signed(difference: f64) -> String {
    match rounded(difference, 2) {
        zero if zero == "0.00" => zero,
        less if less.starts_with('-') => less,
        more => format!("+{more}"),
    }
}

/// The middle one of the chambers, cc: one reference for every "off by".
pub(super) fn middle_chamber(report: &Report) -> Option<f64> {
    let chambers = report.cylinders.iter();
    let chambers = chambers.filter_map(|one| one.chamber.as_ref());
    middle(chambers.map(|chamber| chamber.value).collect())
}

/// The middle one; half-way between the two in the middle of an even number.
pub fn middle(mut all: Vec<f64>) -> Option<f64> {
    all.sort_by(f64::total_cmp);
    let half = all.len() / 2;
    match all.len() {
        0 => None,
        odd if odd % 2 == 1 => all.get(half).copied(),
        _ => Some(0.5 * (all.get(half - 1)? + all.get(half)?)),
    }
}

/// The parts to be looked at in this cylinder.
fn marks(report: &Report, cylinder: u32) -> Vec<String> {
    let doubted = |kind: FindingKind| {
        matches!(
            kind,
            FindingKind::Contact
                | FindingKind::Impossible
                | FindingKind::Outlier
                | FindingKind::Disagrees
                | FindingKind::Marked
                | FindingKind::Open
        )
    };
    let mut parts: Vec<String> = Vec::new();
    for finding in report.findings.iter().filter(|one| doubted(one.kind)) {
        let part = spots::one(spots::part(&finding.spot));
        if spots::cylinder(&finding.spot) == Some(cylinder) && !parts.contains(&part) {
            parts.push(part);
        }
    }
    let outside = report.verdicts.iter();
    let outside = outside
        .filter(|one| one.cylinder == Some(cylinder) && one.answer == VerdictAnswer::Outside)
        .map(|one| match &one.spot {
            Some(free) => spots::one(spots::part(&free.to_string())),
            None => one.about.name().to_owned(),
        });
    for about in outside {
        if !parts.contains(&about) {
            parts.push(about);
        }
    }
    parts
}
