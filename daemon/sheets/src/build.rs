//! The build sheet: one page that the customer keeps, and one with what its figures rest on.

use askama::Template;
use benchhand_blueprint::Figure;
use benchhand_blueprint::report::{CylinderReport, ToleranceName, ToleranceVerdict};
use benchhand_words::ShortReport;
use benchhand_words::chart::{Chart, ChartKind, of_report};
use benchhand_words::digits::{rounded, usual_decimals};
use benchhand_words::short::{AverageRow, CheckRow, middle, verdict_word};
use benchhand_words::stated::{both, half_width};

use crate::Sheet;
use crate::facts::SheetFacts;
use crate::frame::{STYLE, SheetFrame};
use crate::rests_on::{inputs, shares, verdicts};
use crate::sizes::told_to;
use crate::verdict::Verdict;

/// The most cylinders with which the first page still has room for charts.
const MOST_WITH_CHARTS: usize = 8;
/// The most checks that the first page has room for. The second page lists all of them.
const MOST_CHECKS: usize = 5;

#[derive(Template)]
#[template(path = "build.html")]
struct BuildSheet<'a> {
    frame: SheetFrame<'a>,
    averages: Vec<Average>,
    columns: Vec<Column>,
    rows: Vec<Row>,
    judged: bool,
    charts: Vec<Chart>,
    checks: &'a [CheckRow],
    all_checks: &'a [CheckRow],
    cautions: &'a [String],
    inputs: Vec<(&'static str, String)>,
    shares: Vec<(String, String)>,
    shares_of: String,
    verdicts: Vec<String>,
    covers: String,
    measured: &'a str,
    lacking: Vec<&'a str>,
    remarks: &'a [String],
    signs: &'a [String],
}

/// An average in large letters, with its spread.
struct Average {
    name: String,
    key: String,
    value: String,
    unit: String,
    /// The cylinders in the average; empty if all are in it.
    over: String,
    target: String,
    spread: String,
    allowed: String,
    verdict: Option<Verdict>,
}

/// A column of the cylinders' table.
struct Column {
    name: &'static str,
    unit: String,
    /// The ± that most of its figures have.
    each: String,
}

/// A cylinder.
struct Row {
    cylinder: u32,
    cells: Vec<Cell>,
    marks: String,
    verdict: Option<Verdict>,
}

/// A figure of a cylinder.
struct Cell {
    /// Its name, e.g. `chamber 3`.
    key: String,
    text: String,
    /// The same with its ±.
    both: String,
    /// Whether it is less sure than the column's ± says.
    unsure: bool,
}

/// The build sheet.
///
/// # Errors
/// A fault of the template.
pub fn build(facts: &SheetFacts<'_>) -> Sheet {
    let report = facts.report;
    let short = ShortReport::new(report, &facts.note.job, facts.kept);
    let (columns, rows) = cylinders(facts, &short);
    let charts = [ChartKind::Compression, ChartKind::Chambers];
    let charts = charts
        .into_iter()
        .filter(|_| (2..=MOST_WITH_CHARTS).contains(&report.cylinders.len()))
        .filter_map(|kind| of_report(kind, report, None));
    // Of the ports' flow it tells nothing.
    let of_ports = report.lacking_of_ports();
    let lacking = report.lacking.iter().map(String::as_str);
    let lacking: Vec<&str> = lacking.filter(|one| Some(*one) != of_ports).collect();
    let (shares_of, shares) = shares(facts);
    let most = short.checks.len().min(MOST_CHECKS);
    BuildSheet {
        frame: SheetFrame::new("Build sheet", facts),
        averages: averages(&short),
        judged: rows
            .iter()
            .any(|row| row.verdict.is_some() || !row.marks.is_empty()),
        columns,
        rows,
        charts: charts.collect(),
        checks: short.checks.get(..most).unwrap_or_default(),
        all_checks: &short.checks,
        cautions: &report.cautions,
        inputs: inputs(facts),
        shares,
        shares_of,
        verdicts: verdicts(&report.verdicts),
        covers: covers(&lacking),
        measured: &short.measured,
        lacking,
        remarks: &report.remarks,
        signs: &report.signs,
    }
    .render()
}

/// Compression first: it is what the customer asked for.
fn averages(short: &ShortReport) -> Vec<Average> {
    let of = |name: &str| short.averages.iter().find(move |one| one.name == name);
    let order = ["Compression", "Chamber", "Deck", "Dome or dish"];
    let free = short.averages.iter();
    let free = free.filter(|one| one.family.starts_with("free/"));
    order
        .into_iter()
        .filter_map(of)
        .chain(free)
        .map(average)
        .collect()
}

fn average(row: &AverageRow) -> Average {
    let target = row.target.as_ref();
    // Nobody has to know which sign a dish has.
    let value = match (row.name.as_str(), row.mean.strip_prefix('-')) {
        ("Dome or dish", Some(dish)) => format!("dish {dish}"),
        ("Dome or dish", None) => format!("dome {}", row.mean),
        _ => row.mean.clone(),
    };
    Average {
        name: row.name.clone(),
        key: row.name.to_lowercase(),
        value: known_width(&value),
        unit: row.unit.clone(),
        over: row.over.clone(),
        target: target.map_or(String::new(), |(target, off)| format!("{target}, {off}")),
        spread: known_width(&row.spread),
        allowed: row.allowed.clone(),
        verdict: row
            .judged
            .map(|judged| Verdict::new(judged.answer, judged.words)),
    }
}

/// The width as text, or `?` where it is shown as zero: then nearly all of it is unknown.
fn not_nothing(width: &str) -> String {
    match width.chars().all(|letter| matches!(letter, '0' | '.')) {
        true => "?".to_owned(),
        false => width.to_owned(),
    }
}

/// A figure in which a ± of zero is written as `?`.
fn known_width(figure: &str) -> String {
    match figure.split_once(" ± ") {
        Some((value, width)) => format!("{value} ± {}", not_nothing(width)),
        None => figure.to_owned(),
    }
}

/// How one column is made.
struct Kind {
    name: &'static str,
    key: &'static str,
    get: fn(&CylinderReport) -> Option<&Figure>,
    /// Whether a positive figure is a dome and a negative one a dish.
    shaped: bool,
}

const KINDS: [Kind; 6] = [
    Kind {
        name: "Chamber",
        key: "chamber",
        get: |one| one.chamber.as_ref(),
        shaped: false,
    },
    Kind {
        name: "Deck",
        key: "deck",
        get: |one| one.deck.as_ref(),
        shaped: false,
    },
    Kind {
        name: "Dome or dish",
        key: "dome or dish",
        get: |one| one.crown.as_ref(),
        shaped: true,
    },
    Kind {
        name: "Quench, nearest",
        key: "quench",
        get: |one| one.quench_nearest.as_ref().or(one.quench.as_ref()),
        shaped: false,
    },
    Kind {
        name: "Total at TDC",
        key: "total at TDC",
        get: |one| one.clearance.as_ref(),
        shaped: false,
    },
    Kind {
        name: "Compression",
        key: "compression",
        get: |one| one.compression.as_ref(),
        shaped: false,
    },
];

fn cylinders(facts: &SheetFacts<'_>, short: &ShortReport) -> (Vec<Column>, Vec<Row>) {
    let report = facts.report;
    let mut columns = Vec::new();
    let row = |one: &CylinderReport| Row {
        cylinder: one.cylinder,
        cells: Vec::new(),
        marks: marks(short, one.cylinder),
        verdict: quench(&report.verdicts, one.cylinder),
    };
    let mut rows: Vec<Row> = report.cylinders.iter().map(row).collect();
    for kind in &KINDS {
        let Some(unit) = report
            .cylinders
            .iter()
            .find_map(kind.get)
            .map(|one| one.unit)
        else {
            continue;
        };
        let widths = report.cylinders.iter().filter_map(kind.get);
        let usual = middle(widths.filter_map(half_width).collect());
        let decimals = told_to(usual, usual_decimals(unit.symbol()));
        for (row, one) in rows.iter_mut().zip(&report.cylinders) {
            row.cells.push(kind.cell(one, decimals, usual));
        }
        let unit = match unit.symbol() {
            "1" => ":1".to_owned(),
            symbol => symbol.to_owned(),
        };
        columns.push(Column {
            name: kind.name,
            unit: match kind.key {
                "deck" => format!("{unit}, {}", deck_sign(facts)),
                _ => unit,
            },
            each: usual.map_or("?".to_owned(), |usual| {
                not_nothing(&rounded(usual, decimals))
            }),
        });
    }
    (columns, rows)
}

impl Kind {
    fn cell(&self, one: &CylinderReport, decimals: i32, usual: Option<f64>) -> Cell {
        let figure = (self.get)(one);
        let shaped = |figure: &Figure, text: String| match (self.shaped, figure.value) {
            (true, value) if value < 0.0 => format!("dish {}", text.trim_start_matches('-')),
            (true, value) if value > 0.0 => format!("dome {text}"),
            _ => text,
        };
        let wider = |figure: &Figure| {
            usual.is_some_and(|usual| half_width(figure).is_none_or(|own| own > 2.0 * usual))
        };
        Cell {
            unsure: figure.is_some_and(wider),
            key: format!("{} {}", self.key, one.cylinder),
            text: figure.map_or("–".to_owned(), |figure| {
                let decimals = told_to(half_width(figure), decimals);
                shaped(figure, rounded(figure.value, decimals))
            }),
            both: figure.map_or("–".to_owned(), |figure| shaped(figure, both(figure))),
        }
    }
}

/// What the ± of the first page covers, and that it leaves something out.
fn covers(lacking: &[&str]) -> String {
    let left_out = match lacking {
        [] => "",
        _ => " What it leaves out stands on the next page.",
    };
    format!("Each ± covers 95 %; ? marks what is less sure than that.{left_out}")
}

/// Which way the decks lie: a builder's word where all lie the same way.
fn deck_sign(facts: &SheetFacts<'_>) -> &'static str {
    let decks = facts.report.cylinders.iter();
    let out = decks
        .filter_map(|one| one.deck.as_ref())
        .any(|one| one.value < 0.0);
    match out {
        true => "– is out of the hole",
        false => "in the hole",
    }
}

/// The parts of a cylinder that are to be looked at.
fn marks(short: &ShortReport, cylinder: u32) -> String {
    let rows = short.cylinders.iter().flat_map(|table| &table.rows);
    let mut marks = rows
        .filter(|row| row.cylinder == cylinder)
        .map(|row| row.marks.join(", "));
    marks.next().unwrap_or_default()
}

/// Whether the cylinder's quench distance is allowed, where a limit is stated.
fn quench(verdicts: &[ToleranceVerdict], cylinder: u32) -> Option<Verdict> {
    let mut own = verdicts.iter().filter(|one| one.cylinder == Some(cylinder));
    let verdict = own.find(|one| one.about == ToleranceName::Quench)?;
    Some(Verdict::new(verdict.answer, verdict_word(verdict)))
}
