//! One row a cylinder, and a row of ± that holds for each.

use benchhand_blueprint::Figure;
use benchhand_blueprint::report::{CylinderReport, FindingKind, Report};

use super::averages::unit;
use super::spots;
use crate::digits::rounded;
use crate::rows::{Align, lines as rows_of};
use crate::stated::Stated;

/// A column of figures, with its heading in two lines.
struct Column {
    name: [&'static str; 2],
    get: fn(&CylinderReport) -> Option<&Figure>,
}

const COLUMNS: [Column; 5] = [
    Column {
        name: ["", "Chamber"],
        get: |one| one.chamber.as_ref(),
    },
    Column {
        name: ["", "Deck"],
        get: |one| one.deck.as_ref(),
    },
    Column {
        name: ["Nearest", "quench"],
        get: |one| one.quench_nearest.as_ref().or(one.quench.as_ref()),
    },
    Column {
        name: ["Total", "at TDC"],
        get: |one| one.clearance.as_ref(),
    },
    Column {
        name: ["Compres-", "sion"],
        get: |one| one.compression.as_ref(),
    },
];

pub(super) fn lines(report: &Report) -> Vec<String> {
    let rows = &report.cylinders;
    let used: Vec<&Column> = COLUMNS
        .iter()
        .filter(|column| rows.iter().any(|row| (column.get)(row).is_some()))
        .collect();
    if used.is_empty() {
        return Vec::new();
    }
    let middle = middle_chamber(report);
    let against = middle.is_some() && rows.len() > 1;
    let mut table: Vec<Vec<String>> = vec![
        vec![String::new()],
        vec!["Cyl".to_owned()],
        vec![String::new()],
    ];
    table.extend(rows.iter().map(|row| vec![row.cylinder.to_string()]));
    table.push(vec!["±".to_owned()]);
    let mut aligned = vec![Align::Right];
    for (place, column) in used.iter().enumerate() {
        column.write(rows, &mut table);
        aligned.push(Align::Right);
        let is_chamber = place == 0 && column.name[1] == "Chamber";
        if let (true, true, Some(middle)) = (is_chamber, against, middle) {
            write_against(report, middle, &mut table);
            aligned.push(Align::Right);
        }
    }
    for (line, row) in table.iter_mut().skip(3).zip(rows) {
        line.push(marks(report, row.cylinder));
    }
    aligned.push(Align::Left);
    rows_of(&aligned, &table)
}

impl Column {
    /// Writes the column's cells: two lines of heading, the unit, a row a cylinder, and the largest
    /// ± of them.
    fn write(&self, rows: &[CylinderReport], table: &mut [Vec<String>]) {
        let stated: Vec<Option<Stated>> = rows
            .iter()
            .map(|row| (self.get)(row).map(|figure| Stated::of(figure, None)))
            .collect();
        let known = || stated.iter().flatten();
        let decimals = known().map(Stated::decimals).max().unwrap_or(2);
        let widest = known().filter_map(|one| one.half_width).fold(0.0, f64::max);
        let symbol = known().next().map(|one| unit(one.unit.symbol()));
        let cells = stated.iter().map(|one| match one {
            Some(one) => rounded(one.value, decimals),
            None => "-".to_owned(),
        });
        let width = match widest > 0.0 {
            true => rounded(widest, decimals),
            false => "?".to_owned(),
        };
        let heading = self.name.map(str::to_owned).into_iter();
        let column = heading
            .chain([symbol.unwrap_or_default()])
            .chain(cells)
            .chain([width]);
        table
            .iter_mut()
            .zip(column)
            .for_each(|(row, cell)| row.push(cell));
    }
}

fn write_against(report: &Report, middle: f64, table: &mut [Vec<String>]) {
    let cells = report.cylinders.iter().map(|row| match &row.chamber {
        Some(chamber) => format!("{:+.2}", chamber.value - middle).replace("+0.00", "0.00"),
        None => "-".to_owned(),
    });
    let heading = ["Against", "middle", "cc"].map(str::to_owned).into_iter();
    let column = heading.chain(cells).chain([String::new()]);
    table
        .iter_mut()
        .zip(column)
        .for_each(|(row, cell)| row.push(cell));
}

/// The middle one of the chambers, cc: one reference for every "off by".
pub(super) fn middle_chamber(report: &Report) -> Option<f64> {
    let chambers = report
        .cylinders
        .iter()
        .filter_map(|one| one.chamber.as_ref());
    let mut all: Vec<f64> = chambers.map(|chamber| chamber.value).collect();
    all.sort_by(f64::total_cmp);
    let half = all.len() / 2;
    match all.len() {
        0 => None,
        odd if odd % 2 == 1 => all.get(half).copied(),
        _ => Some(0.5 * (all.get(half - 1)? + all.get(half)?)),
    }
}

/// What is to be looked at in this cylinder: `! chamber, deck`.
fn marks(report: &Report, cylinder: u32) -> String {
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
    let mut parts: Vec<&str> = Vec::new();
    for finding in report.findings.iter().filter(|one| doubted(one.kind)) {
        let part = spots::part(&finding.spot);
        if spots::cylinder(&finding.spot) == Some(cylinder) && !parts.contains(&part) {
            parts.push(part);
        }
    }
    match parts.is_empty() {
        true => String::new(),
        false => format!("! {}", parts.join(", ")),
    }
}
