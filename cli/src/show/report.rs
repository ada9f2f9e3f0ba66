//! The report as text: the findings first, then the cylinders, means and spreads, their basis,
//! flow, signs and cautions.

mod block;
mod budget;
mod cylinders;
mod flow;
mod only;
mod verdicts;

use benchhand_blueprint as blueprint;
use blueprint::report::{Finding, FindingKind, Report};

pub(crate) use only::keep_only;

use super::figure::cell;
use super::table::Table;
use crate::args::ReportSection;

/// The report, or some of its sections. Cautions are always shown.
pub(crate) fn sections(report: &Report, only: &[ReportSection]) -> String {
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
        let worst_known = match has(ReportSection::Compression) {
            true => budget::sentence(&report.cylinders).unwrap_or_default(),
            false => String::new(),
        };
        let lacking: String = report
            .lacking
            .iter()
            .map(|line| super::wrapped("  ", line))
            .collect();
        parts.push(cylinders::each(&report.cylinders, only) + &lacking + &worst_known);
        parts.push(cylinders::summary(
            &report.summary,
            report.cylinders.len(),
            only,
        ));
    }
    if has(ReportSection::Compression) {
        parts.push(cylinders::rests_on(&report.inputs));
    }
    parts.extend(block::bores(&report.bores));
    parts.extend(block::valve_gaps(&report.valve_gaps));
    parts.extend(flow::section(&report.flow));
    parts.extend(flow::beside_each_other(&report.flow_by_lift));
    parts.extend(flow::running(&report.running_ports));
    parts.extend(block::measured(&report.measured));
    parts.extend(listed("Signs", "  ", &report.signs));
    parts.extend(listed("To be known", "  ", &report.remarks));
    parts.extend(listed("Cautions", "  ! ", &report.cautions));
    parts.join("\n")
}

fn heading(report: &Report) -> String {
    let mut text = report.engine.clone();
    if report.invented {
        text += " (INVENTED engine, invented readings)";
    }
    text += &format!("\nstage: {}", report.stage);
    if report.stages.len() > 1 {
        text += &format!(" (of {})", report.stages.join(", "));
    }
    text += "\n";
    if let Some(note) = &report.note {
        text += &format!("{note}\n");
    }
    text
}

/// The findings, one on each line. Missing or single measurements are grouped by their words.
fn findings(all: &[Finding]) -> Option<String> {
    let mut text = String::new();
    for (title, kinds) in [
        ("What meets", [FindingKind::Contact].as_slice()),
        (
            "What waits for an answer, and does not count",
            [FindingKind::Open].as_slice(),
        ),
        (
            "What stands out",
            [
                FindingKind::Impossible,
                FindingKind::Outlier,
                FindingKind::Disagrees,
            ]
            .as_slice(),
        ),
        ("What is in doubt", [FindingKind::Marked].as_slice()),
        (
            "What was kept after a question",
            [FindingKind::Kept].as_slice(),
        ),
        ("What was not checked", [FindingKind::Unchecked].as_slice()),
        ("What is missing", [FindingKind::Missing].as_slice()),
        (
            "What was not repeated",
            [FindingKind::Unrepeated].as_slice(),
        ),
        ("What was typed", [FindingKind::Typed].as_slice()),
    ] {
        let mut groups: Vec<(&str, Vec<&str>)> = Vec::new();
        for finding in all.iter().filter(|finding| kinds.contains(&finding.kind)) {
            match groups.iter_mut().find(|(words, _)| *words == finding.text) {
                Some((_, spots)) => spots.push(&finding.spot),
                None => groups.push((&finding.text, vec![&finding.spot])),
            }
        }
        if !groups.is_empty() {
            text += &format!("{title}\n");
        }
        for (words, spots) in groups {
            text += &format!("  * {}: {words}\n", spots.join(", "));
        }
    }
    (!text.is_empty()).then_some(text)
}

fn listed(title: &str, mark: &str, lines: &[String]) -> Option<String> {
    let lines: String = lines.iter().map(|line| format!("{mark}{line}\n")).collect();
    (!lines.is_empty()).then(|| format!("{title}\n{lines}"))
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
) -> String {
    let mut all = headings;
    all.extend(columns.iter().map(|column| column.heading(rows)));
    let mut table = Table::new(&all.iter().map(String::as_str).collect::<Vec<_>>());
    for row in rows {
        let mut cells = beginning(row);
        cells.extend(columns.iter().map(|column| column.cell(row)));
        table.row(cells);
    }
    table.text()
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
        shown((self.get)(row))
    }
}

fn shown(figure: Option<blueprint::Figure>) -> String {
    figure.map_or_else(|| "missing".to_owned(), |figure| cell(&of_wire(figure)))
}

/// The unit below a heading; a ratio is "to 1".
fn unit_heading(unit: blueprint::Unit) -> String {
    match unit.to_string().as_str() {
        "1" => "to 1".to_owned(),
        unit => unit.to_owned(),
    }
}

fn of_wire(figure: blueprint::Figure) -> benchhand_wire::Figure {
    benchhand_wire::Figure {
        value: figure.value,
        u: figure.u.or(figure.u_known),
        unit: figure.unit.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use blueprint::report::{ReportInputs, report};

    use super::*;

    const ENGINE: &str = include_str!("../../tests/files/twin.toml");
    const READINGS: &str = include_str!("../../tests/files/twin.csv");

    fn text_of(readings: &str) -> String {
        let engine = blueprint::Engine::from_toml(ENGINE).expect("a good engine file");
        let readings = blueprint::readings::from_csv(readings, &engine).expect("good readings");
        let inputs = ReportInputs {
            engine: &engine,
            readings: &readings,
            stages: &[],
            stage: None,
        };
        sections(&report(&inputs).expect("a report"), &[])
    }

    #[test]
    fn a_cylinder_without_a_chamber_is_said_to_miss_it_before_the_table() {
        let without = READINGS.replace("chamber/2,", "# chamber/2,");
        let text = text_of(&without);
        let finding = text.find("* chamber/2: ").expect("a finding");
        let table = text.find("compression").expect("a table");
        assert!(text.contains("What is missing"), "{text}");
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
        };
        let text = findings(&[finding("crown/1"), finding("crown/2")]).expect("findings");
        assert_eq!(
            text,
            "What was not repeated\n  * crown/1, crown/2: measured once only\n"
        );
        assert_eq!(findings(&[]), None);
    }
}
