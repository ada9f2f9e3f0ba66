//! One row a cylinder, and a row of ± that holds for each.

use benchhand_blueprint::Figure;
use benchhand_blueprint::report::{CylinderReport, FindingKind, Report};

use super::averages::unit;
use super::{WIDTH, spots};
use crate::digits::{rounded, usual_decimals};
use crate::rows::{Align, lines as rows_of};
use crate::stated::half_width;

/// A column of figures, with its heading in two lines; the second ends with the unit where that is
/// not told beside it.
struct Column {
    name: [&'static str; 2],
    unit: bool,
    get: fn(&CylinderReport) -> Option<&Figure>,
}

const COLUMNS: [Column; 5] = [
    Column {
        name: ["Chamber", ""],
        unit: true,
        get: |one| one.chamber.as_ref(),
    },
    Column {
        name: ["Deck", ""],
        unit: true,
        get: |one| one.deck.as_ref(),
    },
    Column {
        name: ["Quench", "nearest"],
        unit: false,
        get: |one| one.quench_nearest.as_ref().or(one.quench.as_ref()),
    },
    Column {
        name: ["Total", "TDC"],
        unit: true,
        get: |one| one.clearance.as_ref(),
    },
    Column {
        name: ["Compr.", ""],
        unit: true,
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
    let mut table: Vec<Vec<String>> = vec![vec!["Cyl".to_owned()], vec![String::new()]];
    table.extend(rows.iter().map(|row| vec![row.cylinder.to_string()]));
    table.push(vec!["±".to_owned()]);
    let mut aligned = vec![Align::Right];
    for (place, column) in used.iter().enumerate() {
        column.write(rows, &mut table);
        aligned.push(Align::Right);
        let is_chamber = place == 0 && column.name[0] == "Chamber";
        if let (true, true, Some(middle)) = (is_chamber, against, middle) {
            write_against(report, middle, &mut table);
            aligned.push(Align::Right);
        }
    }
    let mut lines = rows_of(&aligned, &table);
    for (line, row) in lines.iter_mut().skip(2).zip(rows) {
        let marks = marks(report, row.cylinder);
        let room = WIDTH.saturating_sub(line.chars().count() + 2);
        match marks.chars().count() {
            0 => {}
            long if long > room => line.push_str(" !"),
            _ => *line += &format!("  {marks}"),
        }
    }
    lines
}

impl Column {
    /// Writes the column's cells: two lines of heading, a row a cylinder, and the ± that most of
    /// them have. A cell whose ± is more than twice that is marked.
    fn write(&self, rows: &[CylinderReport], table: &mut [Vec<String>]) {
        let figures: Vec<Option<&Figure>> = rows.iter().map(self.get).collect();
        let known = || figures.iter().flatten().copied();
        let usual = middle(known().filter_map(half_width).collect());
        let symbol = known().next().map_or("", |one| one.unit.symbol());
        let decimals = usual_decimals(symbol);
        let unsure = |one: &Figure| {
            let both = half_width(one).zip(usual);
            both.is_none_or(|(own, usual)| own > 2.0 * usual)
        };
        let marked = known().any(unsure) && usual.is_some();
        let cells = figures.iter().map(|one| match one {
            Some(one) => {
                let mark = match (marked, unsure(one)) {
                    (false, _) => "",
                    (true, true) => "?",
                    (true, false) => " ",
                };
                format!("{}{mark}", rounded(one.value, decimals))
            }
            None => "-".to_owned(),
        });
        let blank = if marked { " " } else { "" };
        let width = usual.map_or("?".to_owned(), |usual| rounded(usual, decimals));
        let second = match self.unit {
            true => format!("{} {}", self.name[1], unit(symbol)),
            false => self.name[1].to_owned(),
        };
        let heading = [self.name[0].to_owned(), second.trim().to_owned()];
        let heading = heading.map(|text| format!("{text}{blank}")).into_iter();
        let column = heading.chain(cells).chain([format!("{width}{blank}")]);
        table
            .iter_mut()
            .zip(column)
            .for_each(|(row, cell)| row.push(cell));
    }
}

fn write_against(report: &Report, middle: f64, table: &mut [Vec<String>]) {
    let cells = report.cylinders.iter().map(|row| match &row.chamber {
        Some(chamber) => match rounded(chamber.value - middle, 2) {
            zero if zero == "0.00" => zero,
            less if less.starts_with('-') => less,
            more => format!("+{more}"),
        },
        None => "-".to_owned(),
    });
    let heading = ["Against", "middle"].map(str::to_owned).into_iter();
    let column = heading.chain(cells).chain([String::new()]);
    table
        .iter_mut()
        .zip(column)
        .for_each(|(row, cell)| row.push(cell));
}

/// The middle one of the chambers, cc: one reference for every "off by".
pub(super) fn middle_chamber(report: &Report) -> Option<f64> {
    let chambers = report.cylinders.iter();
    let chambers = chambers.filter_map(|one| one.chamber.as_ref());
    middle(chambers.map(|chamber| chamber.value).collect())
}

/// The middle one; half-way between the two in the middle of an even number.
fn middle(mut all: Vec<f64>) -> Option<f64> {
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
