//! The long report: the findings first, then the cylinders, means and spreads, their basis, flow,
//! signs and cautions.

mod block;
mod budget;
mod cylinders;
mod flow;
mod free;
mod only;
mod verdicts;

use benchhand_blueprint as blueprint;
use blueprint::report::{Finding, FindingKind, Report};

pub use only::{ReportSection, keep_only};

use crate::lifts::told_in;
use crate::stated::both;
use crate::told::{ToldTable, ToldText};

/// The whole report as text.
pub fn full_report(report: &Report) -> String {
    text(&sections(report, &[]), ToldText::text)
}

/// Sections under each other, with an empty line between, each as `one` writes it.
pub fn text(sections: &[ToldText], one: impl Fn(&ToldText) -> String) -> String {
    sections.iter().map(one).collect::<Vec<_>>().join("\n")
}

/// The sections of the report, or only those that are asked for: none stands for all of them.
/// Cautions are always told.
pub fn sections(report: &Report, only: &[ReportSection]) -> Vec<ToldText> {
    let all = only.is_empty();
    let has = |section: ReportSection| all || only.contains(&section);
    let kept;
    let report = if all {
        report
    } else {
        kept = only::kept(report, only);
        &kept
    };
    let mut parts = vec![heading(report)];
    parts.extend(findings(&report.findings));
    parts.extend(verdicts::section(&report.verdicts));
    if only::cylinders(only) {
        let mut each = cylinders::each(&report.cylinders, only);
        for line in &report.lacking {
            each.wrapped("  ", line);
        }
        if has(ReportSection::Compression) {
            each += budget::sentence(&report.cylinders)
                .unwrap_or_default()
                .as_str();
        }
        parts.push(each);
        parts.push(cylinders::summary(
            &report.summary,
            report.cylinders.len(),
            only,
        ));
    }
    if has(ReportSection::Compression) {
        parts.push(cylinders::based_on(&report.inputs));
    }
    parts.extend(block::bores(&report.bores));
    parts.extend(block::valve_gaps(&report.valve_gaps));
    parts.extend(flow::section(&report.flow));
    parts.extend(flow::beside_each_other(&report.flow_by_lift));
    parts.extend(flow::running(&report.running_ports));
    parts.extend(free::section(&report.free));
    parts.extend(block::measured(&report.measured));
    parts.extend(crate::ordered::section(&report.ordered));
    parts.extend(listed("Signs", "  ", &report.signs));
    parts.extend(listed("Notes", "  ", &report.remarks));
    parts.extend(listed("Cautions", "  ! ", &report.cautions));
    let parts = parts.into_iter();
    parts.map(|told| told_in(told, report.units)).collect()
}

fn heading(report: &Report) -> ToldText {
    let mut told = crate::decide::title(&report.engine, report.invented);
    let mut text = format!("stage: {}", report.stage);
    if report.stages.len() > 1 {
        text += &format!(" (of {})", report.stages.join(", "));
    }
    text += "\n";
    if let Some(note) = &report.note {
        text += &format!("{note}\n");
    }
    told += text.as_str();
    told
}

/// The findings, one on each line. Missing or single measurements are grouped by their words.
fn findings(all: &[Finding]) -> Option<ToldText> {
    let mut told = ToldText::default();
    for (title, kinds) in [
        ("Parts that meet", [FindingKind::Contact].as_slice()),
        (
            "Waiting for an answer, not counted",
            [FindingKind::Open].as_slice(),
        ),
        (
            "Check these",
            [
                FindingKind::Impossible,
                FindingKind::Unusual,
                FindingKind::Outlier,
                FindingKind::Disagrees,
            ]
            .as_slice(),
        ),
        ("Measured in two ways", [FindingKind::Mixed].as_slice()),
        ("Not as ordered", [FindingKind::Ordered].as_slice()),
        ("In doubt", [FindingKind::Marked].as_slice()),
        ("Kept after a question", [FindingKind::Kept].as_slice()),
        ("Not checked", [FindingKind::Unchecked].as_slice()),
        ("Missing", [FindingKind::Missing].as_slice()),
        ("Not repeated", [FindingKind::Unrepeated].as_slice()),
        ("Typed", [FindingKind::Typed].as_slice()),
    ] {
        let mut groups: Vec<(&str, Vec<&str>)> = Vec::new();
        for finding in all.iter().filter(|finding| kinds.contains(&finding.kind)) {
            match groups.iter_mut().find(|(words, _)| *words == finding.text) {
                Some((_, spots)) => spots.push(&finding.spot),
                None => groups.push((&finding.text, vec![&finding.spot])),
            }
        }
        if !groups.is_empty() {
            told.title(title);
        }
        for (words, spots) in groups {
            told += format!("  * {}: {words}\n", spots.join(", "));
        }
    }
    (!told.is_empty()).then_some(told)
}

fn listed(title: &str, mark: &str, lines: &[String]) -> Option<ToldText> {
    let mut told = ToldText::titled(title);
    for line in lines {
        told += format!("{mark}{line}\n");
    }
    (!lines.is_empty()).then_some(told)
}

/// A column of figures: its name, and the function that gets the figure of a row.
struct Column<T> {
    name: &'static str,
    get: fn(&T) -> Option<blueprint::Figure>,
}

/// A column.
const fn column<T>(name: &'static str, get: fn(&T) -> Option<blueprint::Figure>) -> Column<T> {
    Column { name, get }
}

/// A table whose rows begin with text, followed by figures.
fn table<T>(
    headings: Vec<String>,
    columns: &[&Column<T>],
    rows: &[T],
    beginning: impl Fn(&T) -> Vec<String>,
) -> ToldTable {
    let mut all = headings;
    all.extend(columns.iter().map(|column| column.heading(rows)));
    let mut table = ToldTable::new(&all.iter().map(String::as_str).collect::<Vec<_>>());
    for row in rows {
        let mut cells = beginning(row);
        cells.extend(columns.iter().map(|column| column.cell(row)));
        table.row(cells);
    }
    table
}

/// Headings in the form that a table takes.
fn headings<const N: usize>(names: [&str; N]) -> Vec<String> {
    names.map(str::to_owned).to_vec()
}

impl<T> Column<T> {
    /// The heading, aligned to the right: the name, and below it the unit of the rows.
    fn heading(&self, rows: &[T]) -> String {
        let unit = rows
            .iter()
            .find_map(|row| (self.get)(row))
            .map(|figure| figure.unit);
        format!(
            ">{}\n{}",
            self.name,
            unit.map(unit_heading).unwrap_or_default()
        )
    }

    /// Whether any row has a figure in this column.
    fn used(&self, rows: &[T]) -> bool {
        rows.iter().any(|row| (self.get)(row).is_some())
    }

    /// The figure of a row. A missing figure is shown as missing, never filled in.
    fn cell(&self, row: &T) -> String {
        shown((self.get)(row).as_ref())
    }
}

fn shown(figure: Option<&blueprint::Figure>) -> String {
    figure.map_or_else(|| "missing".to_owned(), both)
}

/// The unit below a heading; a ratio is ":1".
fn unit_heading(unit: blueprint::Unit) -> String {
    match unit.to_string().as_str() {
        "1" => ":1".to_owned(),
        unit => unit.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use blueprint::report::{ReportInputs, report};

    use super::*;

    const ENGINE: &str = include_str!("../../../../cli/tests/files/twin.toml");
    const READINGS: &str = include_str!("../../../../cli/tests/files/twin.csv");

    fn text_of(readings: &str) -> String {
        let engine = blueprint::Engine::from_toml(ENGINE).expect("a good engine file");
        let readings = blueprint::readings::from_csv(readings, &engine).expect("good readings");
        let inputs = ReportInputs {
            engine: &engine,
            readings: &readings,
            stages: &[],
            stage: None,
        };
        full_report(&report(&inputs).expect("a report"))
    }

    #[test]
    fn a_cylinder_without_a_chamber_is_said_to_miss_it_before_the_table() {
        let without = READINGS.replace("chamber/2,", "# chamber/2,");
        let text = text_of(&without);
        let finding = text.find("* chamber/2: ").expect("a finding");
        let table = text.find("compression").expect("a table");
        assert!(text.contains("Missing"), "{text}");
        assert!(finding < table, "{text}");
        let row = text
            .lines()
            .find(|line| line.trim_start().starts_with("2 "))
            .expect("a row");
        assert!(row.contains("missing"), "{row}");
        assert!(!row.contains("NaN"), "{row}");
        assert!(
            text.contains("1 of 2"),
            "the mean says what it rests on: {text}"
        );
    }

    #[test]
    fn signs_and_cautions_are_part_of_every_report() {
        let text = text_of(READINGS);
        let signs = text.find("\nSigns\n").expect("signs");
        let cautions = text.find("\nCautions\n").expect("cautions");
        assert!(signs < cautions, "{text}");
        assert!(text[cautions..].contains("  ! "), "{text}");
        assert!(
            text.starts_with("Invented parallel twin (INVENTED engine"),
            "{text}"
        );
    }

    #[test]
    fn the_same_finding_at_many_spots_is_said_once() {
        let finding = |spot: &str| Finding {
            spot: spot.into(),
            kind: FindingKind::Unrepeated,
            text: "measured once only".into(),
            replaced: Vec::new(),
        };
        let text = findings(&[finding("crown/1"), finding("crown/2")]).expect("findings");
        assert_eq!(
            text.text(),
            "Not repeated\n  * crown/1, crown/2: measured once only\n"
        );
        assert_eq!(findings(&[]), None);
    }
}
