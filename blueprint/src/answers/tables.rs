//! Lists of gaskets and parts from CSV, every cell a text with its unit.
//!
//! All or nothing: if one row is bad, no row is taken and every bad row is named.

use std::collections::BTreeMap;

use super::asked::{GasketOffered, PistonOffered, RodOffered};
use crate::engine::StatedValue;
use crate::readings::{CsvFault, CsvFaults};
use crate::units::QuantityKind;

/// A row of a table with the names of its columns.
pub(super) struct Row {
    pub(super) line: u64,
    columns: Vec<(String, String)>,
}

impl Row {
    /// The cell of a column; empty where it is not there.
    pub(super) fn cell(&self, name: &str) -> &str {
        self.columns
            .iter()
            .find(|(column, _)| column == name)
            .map_or("", |(_, cell)| cell.as_str())
    }

    pub(super) fn fault(&self, field: &str, message: impl Into<String>) -> CsvFault {
        CsvFault {
            line: self.line,
            column: 1,
            field: field.to_owned(),
            message: message.into(),
        }
    }

    /// The cell of a column that must be there.
    fn needed(&self, name: &str, faults: &mut Vec<CsvFault>) -> String {
        let cell = self.cell(name);
        if cell.is_empty() {
            faults.push(self.fault(name, "found nothing; fill it in"));
        }
        cell.to_owned()
    }

    /// A cell that holds a value of this kind with its unit.
    fn value(&self, name: &str, kind: QuantityKind, faults: &mut Vec<CsvFault>) -> String {
        let cell = self.needed(name, faults);
        if let Err(error) = StatedValue::parse(&cell, kind)
            && !cell.is_empty()
        {
            faults.push(self.fault(name, format!("{error}; expected {kind} with its unit")));
        }
        cell
    }

    /// A cell that holds a length above 0.
    fn length(&self, name: &str, faults: &mut Vec<CsvFault>) -> String {
        let cell = self.value(name, QuantityKind::Length, faults);
        if let Ok(length) = StatedValue::parse(&cell, QuantityKind::Length)
            && length.value <= 0.0
        {
            let message = format!("found {cell}; expected a length above 0");
            faults.push(self.fault(name, message));
        }
        cell
    }
}

/// For parts of one sort: the line that first names each part, and the first to fit each cylinder.
#[derive(Default)]
struct Places {
    ids: BTreeMap<String, u64>,
    fitted: BTreeMap<u32, u64>,
}

impl Places {
    fn take(&mut self, row: &Row, id: &str, fitted: Option<u32>, faults: &mut Vec<CsvFault>) {
        let part = row.cell("part");
        if let Some(line) = self.ids.get(id).filter(|_| !id.is_empty()) {
            let message = format!(
                "found the {part} {id} again, as in line {line}; give each part a name of its own"
            );
            faults.push(row.fault("id", message));
        }
        self.ids.entry(id.to_owned()).or_insert(row.line);
        let Some(number) = fitted else { return };
        if let Some(line) = self.fitted.get(&number) {
            let message = format!(
                "found a second {part} fitted in cylinder {number}, as in line {line}; only one can be: correct it or leave it empty"
            );
            faults.push(row.fault("fitted", message));
        }
        self.fitted.entry(number).or_insert(row.line);
    }
}

/// Reads a table whose columns are among `allowed` and have all of `needed`.
pub(super) fn rows(text: &str, allowed: &[&str], needed: &[&str]) -> Result<Vec<Row>, CsvFaults> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .flexible(true)
        .delimiter(crate::units::delimiter(text))
        .from_reader(text.as_bytes());
    let whole = |line: u64, message: String| CsvFault {
        line,
        column: 1,
        field: String::new(),
        message,
    };
    let refused = |fault: CsvFault| CsvFaults::new(vec![fault]);
    let header: Vec<String> = reader
        .headers()
        .map_err(|error| {
            refused(whole(
                1,
                format!("found a header that cannot be read: {error}"),
            ))
        })?
        .iter()
        .map(str::to_ascii_lowercase)
        .collect();
    let unknown = header.iter().find(|name| !allowed.contains(&name.as_str()));
    let absent = needed
        .iter()
        .find(|name| !header.iter().any(|h| h == *name));
    if let Some(name) = unknown {
        let message = format!("found the column {name:?}; expected {}", allowed.join(", "));
        return Err(refused(whole(1, message)));
    }
    if let Some(name) = absent {
        let message = format!("found no column {name:?}; it is needed");
        return Err(refused(whole(1, message)));
    }
    let (mut all, mut faults) = (Vec::new(), Vec::new());
    for record in reader.records() {
        match record {
            Ok(record) if record.iter().all(str::is_empty) => {}
            Ok(record) => {
                let line = record.position().map_or(0, csv::Position::line);
                if record.len() > header.len() {
                    let message = format!(
                        "found {} fields; expected {}; put a text with a comma in quotation marks",
                        record.len(),
                        header.len()
                    );
                    faults.push(whole(line, message));
                }
                let cells = record.iter().map(str::to_owned);
                let columns = header.iter().cloned().zip(cells).collect();
                all.push(Row { line, columns });
            }
            Err(error) => {
                let line = error.position().map_or(1, csv::Position::line);
                faults.push(whole(
                    line,
                    format!("found a row that cannot be read: {error}"),
                ));
            }
        }
    }
    if all.is_empty() && faults.is_empty() {
        faults.push(whole(
            1,
            "found no row; expected rows below the header".to_owned(),
        ));
    }
    match faults.is_empty() {
        true => Ok(all),
        false => Err(CsvFaults::new(faults)),
    }
}

/// Gaskets at hand: columns `name,bore,thickness`.
///
/// # Errors
/// Every row that cannot be used.
pub fn gaskets_from_csv(text: &str) -> Result<Vec<GasketOffered>, CsvFaults> {
    let names = ["name", "bore", "thickness"];
    let mut faults = Vec::new();
    let offers = rows(text, &names, &names)?
        .iter()
        .map(|row| GasketOffered {
            name: row.needed("name", &mut faults),
            bore: row.length("bore", &mut faults),
            thickness: row.length("thickness", &mut faults),
        })
        .collect();
    match faults.is_empty() {
        true => Ok(offers),
        false => Err(CsvFaults::new(faults)),
    }
}

/// Pistons and rods: columns `part,id` and `crown,height,pin_offset` for a piston, `length` for a
/// rod, `side,fitted` for both where they are known.
///
/// # Errors
/// Every row that cannot be used.
pub fn parts_from_csv(text: &str) -> Result<(Vec<PistonOffered>, Vec<RodOffered>), CsvFaults> {
    let names = [
        "part",
        "id",
        "crown",
        "height",
        "pin_offset",
        "length",
        "side",
        "fitted",
    ];
    let mut faults = Vec::new();
    let (mut pistons, mut rods) = (Vec::new(), Vec::new());
    let (mut of_pistons, mut of_rods) = (Places::default(), Places::default());
    for row in rows(text, &names, &["part", "id"])? {
        let id = row.needed("id", &mut faults);
        let filled = |name: &str| Some(row.cell(name).to_owned()).filter(|cell| !cell.is_empty());
        let fitted = match row.cell("fitted") {
            "" => None,
            cell => cell.parse().map(Some).unwrap_or_else(|_| {
                let message =
                    format!("found {cell:?}; expected the cylinder in which it is fitted");
                faults.push(row.fault("fitted", message));
                None
            }),
        };
        match row.cell("part") {
            "piston" => {
                of_pistons.take(&row, &id, fitted, &mut faults);
                if filled("pin_offset").is_some() {
                    row.value("pin_offset", QuantityKind::Length, &mut faults);
                }
                pistons.push(PistonOffered {
                    id,
                    crown: row.value("crown", QuantityKind::Volume, &mut faults),
                    height: row.length("height", &mut faults),
                    pin_offset: filled("pin_offset"),
                    side: filled("side"),
                    fitted,
                });
            }
            "rod" => {
                of_rods.take(&row, &id, fitted, &mut faults);
                rods.push(RodOffered {
                    id,
                    length: row.length("length", &mut faults),
                    side: filled("side"),
                    fitted,
                });
            }
            other => {
                faults.push(row.fault("part", format!("found {other:?}; expected piston or rod")))
            }
        }
    }
    match faults.is_empty() {
        true => Ok((pistons, rods)),
        false => Err(CsvFaults::new(faults)),
    }
}
